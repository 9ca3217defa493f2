"""What the patient is told follows diagnosis, arteries, mobility and today's decision."""

import pytest

from gaiter.core.case.findings import WoundPlace
from gaiter.core.case.person import Mobility
from gaiter.core.check.advice import PatientFacts, patient_advice, poor_arteries
from gaiter.core.landmark import Side
from gaiter.core.safety import Outcome, decide
from tests.strategies import case

VENOUS = {
    "outcome": Outcome.FULL, "bandaged": True, "purpose": "venous ulcer",
    "mobility": Mobility.WALKS, "reports_pain": True, "wound_place": WoundPlace.GAITER,
}  # fmt: skip


def said(**changes) -> str:
    made = patient_advice(PatientFacts(**(VENOUS | changes)))
    return " ".join(map(str, (*made.opening, *made.every_day, *made.also_call, *made.tell)))


def test_a_venous_leg_walks_rests_high_and_keeps_it_on() -> None:
    text = said()
    assert "Keep it on day and night" in text
    assert "Walk as much as you can." in text
    assert "Put your leg up" in text
    assert "helps the wound to heal" in text


def test_poor_arteries_are_never_told_to_put_the_leg_up() -> None:
    for mobility in (None, *Mobility):
        text = said(poor_arteries=True, mobility=mobility).lower()
        assert "put your leg up" not in text
        assert "do not put it up high" in text
        assert "walk as much" not in text


@pytest.mark.parametrize("mobility", [Mobility.CHAIR, Mobility.BED])
def test_who_does_not_walk_is_never_told_to_walk(mobility) -> None:
    text = said(mobility=mobility).lower()
    assert "walk" not in text
    assert "move your foot up and down" in text
    assert ("heel must not lie on the bed" in text) == (mobility is Mobility.BED)


def test_mobility_that_was_not_asked_is_never_taken_for_walking() -> None:
    assert "walk" not in said(mobility=None).lower()


@pytest.mark.parametrize(
    ("outcome", "bandaged"),
    [(Outcome.STOP, True), (Outcome.STOP, False), (Outcome.NOT_YET, False), (Outcome.FULL, False)],
)
def test_a_leg_that_must_not_be_bandaged_is_never_told_to_keep_it_on(outcome, bandaged) -> None:
    text = said(outcome=outcome, bandaged=bandaged)
    assert "Keep it on" not in text
    assert "until the clinic tells you so" in text


def test_who_cannot_report_pain_has_a_named_observer_or_a_line_to_name_one() -> None:
    assert "Mrs Finch" in said(reports_pain=False, observer="Mrs Finch")
    assert "____" in said(reports_pain=False)
    assert "Look at your toes" not in said(reports_pain=False)


def test_latex_is_named() -> None:
    assert "LATEX" in said(latex=True)
    assert "LATEX" not in said()


@pytest.mark.parametrize(
    ("code", "words"),
    [("pregnancy", "bad headache"), ("sickle_cell", "pain crisis"),
     ("raynaud", "in the cold"), ("heart_failure_class_3", "gain 2 kg")],
)  # fmt: skip
def test_reasons_of_the_decision_reach_the_patient(code, words) -> None:
    assert words in said(codes={code})
    assert words not in said()


def test_a_wound_of_the_foot_does_not_walk_as_much_as_it_can() -> None:
    assert "Walk only as much as the clinic" in said(wound_place=WoundPlace.SOLE)


@pytest.mark.parametrize(
    ("changes", "poor"),
    [
        ({}, False),
        ({"legs.right.purpose": "mixed disease"}, True),
        ({"legs.right.findings.rest_pain": True}, True),
        ({"legs.right.findings.toes.colour": "bluer"}, True),
        ({"legs.right.arterial.toe_mmhg": 45, "person.diabetes": True}, True),
        ({"legs.right.findings.claudication": True}, True),
        ({"person.breathless_lying": True}, False),
    ],
)
def test_arteries_that_hold_the_pressure_back_are_poor(policy, changes, poor) -> None:
    one = case(**changes)
    leg = one.legs[Side.RIGHT]
    decision = decide(one, policy).legs[Side.RIGHT]
    assert poor_arteries(decision, leg.purpose) is poor
