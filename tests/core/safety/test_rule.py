"""A rule looks at one scene; what it says is its template with what it found."""

import pytest
from pydantic import ValidationError

from gaiter.core.case import SafetyCase
from gaiter.core.landmark import Side
from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import Rule, Scene, Subject, finding


def rule(kind: RuleKind = RuleKind.CAP, text: str = "At most {cap:g} mmHg.", **named) -> Rule:
    when = named.pop("when", lambda _scene: {"cap": 40})
    return Rule("made_up", Subject.SKIN, kind, text, "a source", "a strength", when=when, **named)


def test_the_scene_of_a_side_is_of_that_leg(policy) -> None:
    legs = {side: {"arterial": {"toe_mmhg": toe}} for side, toe in (("left", 60), ("right", 90))}
    case = SafetyCase.model_validate(
        {"schema": "gaiter.case/1", "today": "2026-11-25", "arms": {"left_mmhg": 120}, "legs": legs}
    )
    indices = {side: Scene.of(case, side, policy).numbers.toe_brachial for side in Side}
    assert indices == {Side.LEFT: 0.5, Side.RIGHT: 0.75}  # 60/120 and 90/120


def test_answers_by_path_reach_person_arms_and_leg(policy) -> None:
    scene = Scene.where(
        {"person.diabetes": True, "arms.right_mmhg": 130, "leg.findings.toes.warmth": "cold"},
        policy,
    )
    assert scene.case.person.diabetes is True
    assert scene.numbers.arm_mmhg == 130
    assert scene.leg.findings.toes.warmth == "cold"


@pytest.mark.parametrize("answers", [{"leg.toes": 1}, {"person.age_years": 300}])
def test_a_path_or_value_that_is_none_of_a_case_is_refused(policy, answers) -> None:
    with pytest.raises(ValidationError):
        Scene.where(answers, policy)


@pytest.mark.parametrize("kind", RuleKind)
def test_hard_and_soft_stops_stop_and_nothing_else_does(kind) -> None:
    assert rule(kind).stops is (kind.value in ("hard stop", "soft stop"))


def test_a_reason_fills_the_braces_and_keeps_its_cap(policy) -> None:
    reason = rule(disagreement="others differ").fired(Scene.where({}, policy))
    assert (reason.text, reason.cap_mmhg, reason.code) == ("At most 40 mmHg.", 40.0, "made_up")
    assert (reason.source, reason.disagreement) == ("a source", "others differ")


def test_a_rule_that_finds_nothing_does_not_fire(policy) -> None:
    assert rule(when=lambda _scene: None).fired(Scene.where({}, policy)) is None


def test_without_a_cap_among_its_fields_it_leaves_no_pressure() -> None:
    assert rule(text="Refer.").reason({}).cap_mmhg is None


@pytest.mark.parametrize(("answer", "fires"), [(True, True), (False, False), (None, False)])
def test_a_finding_fires_when_it_was_answered_yes(policy, answer, fires) -> None:
    scene = Scene.where({"leg.findings.gangrene": answer}, policy)
    assert (finding("gangrene")(scene) is not None) is fires
