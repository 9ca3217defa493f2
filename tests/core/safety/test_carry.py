"""What carries over to the next visit, and what one press may never answer."""

import pytest

from gaiter.core.safety.carry import carry_of, none_present, one_press_paths, screen_paths
from gaiter.core.safety.rule import Carry
from gaiter.core.safety.rules import RULES


@pytest.mark.parametrize(
    ("path", "carry"),
    [
        ("leg.findings.pitting_grade", Carry.DAY),
        ("leg.findings.new_pain", Carry.AFRESH),
        ("leg.findings.rest_pain", Carry.AFRESH),
        # What no rule asks or reads stays until somebody changes it.
        ("person.footwear", Carry.STAYS),
    ],
)
def test_how_an_answer_carries_over(path: str, carry: Carry) -> None:
    assert carry_of(path) is carry


def test_what_stays_in_any_rule_stays() -> None:
    """Of several rules that need one answer the most lasting wins: the order of Carry."""
    for path in screen_paths():
        needing = [rule.carry for rule in RULES.values() if path in rule.needs]
        expected = Carry.DAY if path == "leg.findings.pitting_grade" else None
        order = (Carry.STAYS, Carry.AFRESH, Carry.DAY)
        assert carry_of(path) is (expected or min(needing, key=order.index))


def test_every_question_that_a_rule_needs_is_on_the_screen_but_arteries() -> None:
    asked = screen_paths()
    assert len(asked) == len(set(asked))
    assert "leg.findings.gangrene" in asked
    assert not [path for path in asked if path.startswith(("arms.", "leg.arterial."))]
    needed = {path for rule in RULES.values() for path in rule.needs}
    assert {p for p in needed if not p.startswith(("arms.", "leg.arterial."))} == set(asked)


@pytest.mark.parametrize(
    "path",
    ["leg.findings.absent_monofilament_sites", "person.can_report_pain", "leg.findings.pain_now"],
)
def test_one_press_never_answers_feeling_or_pain(path: str) -> None:
    """A hazard of its own: numb feet and silent people are asked one by one."""
    assert path not in one_press_paths()


def test_one_press_answers_what_every_rule_about_it_lets_it() -> None:
    pressed = one_press_paths()
    assert "leg.findings.gangrene" in pressed
    assert pressed <= set(screen_paths())
    for rule in RULES.values():
        if not rule.one_press:
            assert not pressed & set(rule.needs), rule.code


@pytest.mark.parametrize(
    ("path", "answer"),
    [
        ("leg.findings.gangrene", False),
        ("leg.findings.infection", "none"),
        ("leg.findings.clot.state", "none"),
        ("person.heart_failure_class", 0),
        ("person.weight_gain_kg", 0),
    ],
)
def test_none_present_is_no_none_or_zero(path: str, answer) -> None:
    assert none_present(path) == answer
    assert type(none_present(path)) is type(answer)
