"""Every word of the safety decision is a template with values: another language is a catalogue."""

import json
from typing import Any

import pytest
from pydantic import ValidationError

from gaiter.core.policy import Policy, overlaid
from gaiter.core.safety import Aim, LegDecision, Outcome, Reason, aim_under, decide
from gaiter.core.safety.decision import headline
from gaiter.core.words import Said, Several, Value
from gaiter.files.policy_file import shipped_policy
from tests.core.safety.test_decision import BOUNDARIES, TABLE, A, F, right
from tests.made_up_language import made_up, ordinary_letters
from tests.strategies import case, with_pressures

SHIPPED = shipped_policy()
LEG = "legs.right."
OVERRIDE = {
    "code": "stent", "aim_low_mmhg": 20, "aim_high_mmhg": 30, "maximum_mmhg": 35,
    "reason": "specialist agreed", "words": "typed words", "by": "A. Name",
}  # fmt: skip
LOOSER = overlaid(
    SHIPPED,
    {"name": "A. Clinic", "version": "3", "values": {"ankle_brachial_stop_below": {
        "value": 0.55, "source": "typed", "strength": "typed"}}},
    sha256="",
)  # fmt: skip
# What stands in ordinary letters in every language: names, typed words, a class in Roman numerals.
SAME_EVERYWHERE = {
    "A", "Name", "typed", "words", "Clinic", "femoro", "popliteal", "I", "II",
}  # fmt: skip


def decisions() -> list[LegDecision]:
    """Decisions in which every rule fires, one stop set aside, and a looser policy."""
    found = [right(case(**changes)) for changes, *_ in TABLE]
    found += [right(with_pressures(*pressures)) for pressures, *_ in BOUNDARIES]
    found += [right(case(**{f"{A}tcpo2_mmhg": oxygen})) for oxygen in (19, 25)]
    found.append(right(case(**{f"{F}stent": True, f"{LEG}overrides": [OVERRIDE]})))
    found.append(
        right(case(**{f"{F}bypass": "superficial", f"{F}bypass_route": "femoro-popliteal"}))
    )
    found.append(right(case(), LOOSER))
    return found


DECISIONS = decisions()


@pytest.fixture(scope="module")
def reasons() -> list[Reason]:
    return [reason for decision in DECISIONS for reason in decision.reasons]


def test_every_reason_is_its_template_with_its_values(reasons) -> None:
    assert {r.code for r in reasons} >= {"policy_loosened", "override", "bypass_superficial"}
    for reason in reasons:
        assert reason.template
        assert reason.said == Said(reason.template, reason.values, reason.code)
        assert reason.said.text == reason.text


def test_no_english_is_left_in_a_made_up_language(reasons) -> None:
    for reason in reasons:
        told = reason.said.told(made_up)
        assert set(ordinary_letters(told)) <= SAME_EVERYWHERE, (reason.code, told)
        for beside in (reason.source, reason.strength, reason.disagreement or ""):
            assert ordinary_letters(Said(beside).told(made_up)) == []


def test_headlines_aims_numbers_and_what_is_missing_have_no_english_left() -> None:
    for decision in DECISIONS:
        assert decision.said.text == decision.headline
        said = [decision.said, *(Said(t) for stop in decision.to_set_aside for t in stop.missing)]
        said += [part for row in decision.numbers.said() for part in row]
        if decision.aim is not None:
            assert decision.aim.said.text == decision.aim.source
            said.append(decision.aim.said)
        for one in said:
            assert set(ordinary_letters(one.told(made_up))) <= SAME_EVERYWHERE, one


def test_a_milder_range_and_a_lower_start_say_why_in_every_language(policy: Policy) -> None:
    milder = aim_under(case().legs["right"].purpose, 40, policy)
    lower = aim_under(case().legs["right"].purpose, 60, policy, lower_start=True)
    for aim in (milder, lower):
        assert aim.values
        assert ordinary_letters(aim.said.told(made_up)) == []


@pytest.mark.parametrize(
    ("outcome", "maximum", "aimed", "words"),
    [
        ("stop and refer", None, False, "Stop and refer: no compression"),
        ("not yet", None, False, "Not yet: ask or measure this first; no compression until then"),
        ("not yet", 20, False, "Not yet: ask or measure this first; provisional level, never above "
         "20 mmHg at the gaiter"),
        ("not yet", 20, True, "Not yet: ask or measure this first; provisional level, aim 10–20, "
         "never above 20 mmHg at the gaiter"),
        ("reduced", 37.5, False, "Reduced: never above 37.5 mmHg at the gaiter"),
        ("reduced", 40, True, "Reduced: aim 10–20, never above 40 mmHg at the gaiter"),
        ("full", 60, False, "Full: never above 60 mmHg at the gaiter"),
        ("full", 60, True, "Full: aim 10–20, never above 60 mmHg at the gaiter"),
    ],
)  # fmt: skip
def test_every_headline(outcome, maximum, aimed, words, policy: Policy) -> None:
    aim = Aim(low_mmhg=10, high_mmhg=20, source="an example") if aimed else None
    assert headline(Outcome(outcome), maximum, aim).text == words


def test_a_decision_comes_back_from_its_document_with_every_template() -> None:
    for decision in DECISIONS:
        assert LegDecision.model_validate_json(decision.model_dump_json()) == decision


def without_templates(document: Any) -> Any:
    """As plans were written before there were templates."""
    if isinstance(document, dict):
        kept = {k: v for k, v in document.items() if k not in ("template", "values")}
        return {key: without_templates(value) for key, value in kept.items()}
    return [without_templates(one) for one in document] if isinstance(document, list) else document


def test_a_decision_written_before_there_were_templates_still_reads_and_is_written_as_it_was() -> (
    None
):
    for decision in DECISIONS:
        old = without_templates(json.loads(decision.model_dump_json()))
        read = LegDecision.model_validate(old)
        assert [r.said.text for r in read.reasons] == [r.text for r in decision.reasons]
        assert read.said.text == decision.headline
        assert json.loads(read.model_dump_json()) == old


def test_a_reason_whose_text_is_not_its_template_is_refused() -> None:
    reason = right(case(**{f"{F}stent": None})).reasons[0]
    said = json.loads(reason.model_dump_json())
    assert said["cap_mmhg"] == 40
    with pytest.raises(ValidationError, match="must say what its template and values say"):
        Reason.model_validate({**said, "text": said["text"].replace("40", "60")})
    with pytest.raises(ValidationError, match="must say what its template and values say"):
        Reason.model_validate({**said, "values": {**said["values"], "cap": 60}})


def test_an_aim_whose_source_is_not_its_template_is_refused(policy: Policy) -> None:
    aim = aim_under(case().legs["right"].purpose, 40, policy)
    with pytest.raises(ValidationError, match="must say what its template and values say"):
        type(aim).model_validate({**aim.model_dump(), "source": "typed"})


def test_a_headline_worded_otherwise_is_shown_as_it_was_written() -> None:
    decision = right(case()).model_copy(update={"headline": "Full, as it was once worded"})
    assert decision.said.text == "Full, as it was once worded"


def leaves(value: Value) -> list[Value]:
    if isinstance(value, Several):
        return [leaf for item in value.items for leaf in leaves(item)]
    if isinstance(value, Said):
        return [leaf for part in value.values.values() for leaf in leaves(part)]
    return [value]


def test_typed_words_are_never_looked_up(reasons) -> None:
    said = next(r for r in reasons if r.code == "override").said
    assert "typed words" in said.told(made_up)
    assert {"A. Name", "typed words", 20.0, 30.0, 35.0} == set(leaves(said))


def test_the_person_decides_before_either_leg_in_the_same_words() -> None:
    made = decide(case(**{"person.heart_failure_class": 4}), SHIPPED)
    assert made.person_reasons[0].said.told(made_up) == made_up(made.person_reasons[0].template)
