"""What a sensor read on an earlier bandage of a leg: what can be, and what it says."""

import math
from typing import get_args

import pytest

from gaiter.core.case import LegReading
from gaiter.core.case.leg_reading import LegSite
from gaiter.core.landmark import LEG_SITES
from gaiter.core.problems import judged

GIVEN = {
    "on": "2026-11-20", "site": "gaiter", "system": "four_layer", "mmhg": 36.0,
    "theory_mmhg": 40.0, "theory_sd_percent": 10.0,
}  # fmt: skip


def test_measured_over_theory_and_how_surely_theory_is_known() -> None:
    made = LegReading.model_validate(GIVEN)
    assert made.ratio == 0.9
    assert made.theory_log_sd == pytest.approx(math.log(1.1))
    assert LegReading.model_validate_json(made.model_dump_json()) == made


def test_a_leg_is_known_by_every_place_up_it() -> None:
    assert get_args(LegSite) == LEG_SITES


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"site": "instep"}, "must be one of 'ankle', 'gaiter', 'calf' or 'below_knee'; received"),
        ({"mmhg": 151}, "must be 1 to 150 mmHg; received 151"),
        ({"mmhg": 0.5}, "must be 1 to 150 mmHg; received 0.5"),
        ({"mmhg": 7.9}, "mmhg must be 0.2 to 3 times theory_mmhg, 40; received 7.9: was it read"),
        ({"mmhg": 120.5}, "mmhg must be 0.2 to 3 times theory_mmhg, 40; received 120.5"),
        ({"theory_mmhg": 301}, "must be 1 to 300 mmHg; received 301"),
        ({"theory_sd_percent": 201.0}, "must be 0 to 200 %; received 201"),
        ({"on": 20261101}, "must be a date such as"),
        ({"system": ""}, "system"),
    ],
)
def test_what_no_leg_can_have_is_refused(changes: dict, said: str) -> None:
    problems = judged(LegReading, {**GIVEN, **changes})
    assert not isinstance(problems, LegReading)
    assert said in " ".join(f"{one.about}: {one.said}" for one in problems)


@pytest.mark.parametrize("mmhg", [8.0, 120.0])
def test_both_ends_can_be(mmhg: float) -> None:
    assert LegReading.model_validate({**GIVEN, "mmhg": mmhg}).mmhg == mmhg
