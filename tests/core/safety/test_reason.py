"""A reason says what its template and values say, and what is the matter without what to do."""

import pytest
from pydantic import ValidationError

from gaiter.core.safety.reason import Reason, RuleKind

TEMPLATE = "Toe pressure {pressure:g} mmHg is below {limit:g}: no compression."


def reason(**changes) -> Reason:
    fields = {
        "code": "toe_pressure", "kind": RuleKind.HARD_STOP, "source": "a source",
        "strength": "a strength", "template": TEMPLATE, "values": {"pressure": 25, "limit": 30},
        "text": "Toe pressure 25 mmHg is below 30: no compression.",
    }  # fmt: skip
    return Reason(**(fields | changes))


def test_the_matter_ends_at_the_first_colon() -> None:
    assert reason().matter.text == "Toe pressure 25 mmHg is below 30"
    assert reason(template="", values={}, text="Refer: today: now").matter.text == "Refer"


def test_it_is_told_in_another_language_with_its_numbers() -> None:
    words = {TEMPLATE: "Zehendruck {pressure:g} mmHg unter {limit:g}."}
    assert reason().said.told(lambda text: words.get(text, text)) == "Zehendruck 25 mmHg unter 30."


def test_a_text_with_another_number_than_its_values_is_refused() -> None:
    with pytest.raises(ValidationError, match="plan anew"):
        reason(text="Toe pressure 45 mmHg is below 30: no compression.")


def test_one_from_before_there_were_templates_is_written_as_it_was() -> None:
    old = reason(template="", values={})
    assert old.said.text == old.text
    assert not {"template", "values"} & set(old.model_dump())
    assert {"template", "values"} <= set(reason().model_dump())


def test_the_gravest_kind_stands_first() -> None:
    assert [kind.value for kind in RuleKind][:3] == [
        "hard stop", "soft stop", "ask or measure first",
    ]  # fmt: skip
