"""What is said of a bandage that lies is templates and values, whatever was read on it."""

import pytest

from gaiter.core.applied.document import Advice, Applied
from gaiter.core.applied.judge import applied_pressure
from tests.core.applied.applied_plan import marks_cm, plan, readings
from tests.made_up_language import made_up, ordinary_letters
from tests.said import said_in

M = marks_cm()
READ = [
    (Advice.GOOD, readings()),
    (Advice.READ_MORE, readings([M])),
    (Advice.READ_AGAIN, readings([10.2, M, M])),
    (Advice.READ_AGAIN, readings([M + 1.5, M - 1.5, M])),
    (Advice.READ_AGAIN, readings(sensor=[("calf", 3)])),
    (Advice.READ_AGAIN, readings([], sensor=[("gaiter", 2)])),
    (Advice.READ_AGAIN, readings([], sensor=[("gaiter", 28), ("calf", 60)])),
    (Advice.REDO, readings([M - 0.3, M - 1.5, M - 1.7], overlaps=[{"layer": 3, "cm": 3.5}])),
    (Advice.TAKE_OFF, readings([M + 2.6] * 3)),
    (Advice.TAKE_OFF, readings(sensor=[("gaiter", 61)])),
]


@pytest.mark.parametrize(("advice", "read"), READ)
def test_no_english_is_left_in_what_is_said_of_it(advice: Advice, read) -> None:
    made = applied_pressure(plan(), read)
    assert made.advice is advice
    assert len(made.reasons) >= 1
    for said in said_in(made):
        assert ordinary_letters(said.told(made_up)) == [], said.text
    assert Applied.model_validate_json(made.model_dump_json(by_alias=True)) == made
