"""Stops: set aside one by one, referred before signing, standing until cleared."""

from datetime import timedelta

import pytest

from gaiter.core.errors import InputError
from gaiter.records.actions.plans import leave_order
from gaiter.records.actions.stops import (
    choose_provisional,
    clear_stop,
    override_stops,
    record_stop_action,
    withdraw_override,
    withdraw_provisional,
)
from gaiter.records.actions.visits import open_visit, sign_visit
from gaiter.records.ledger import Actor, NotAllowedError
from gaiter.records.models import Role
from gaiter.records.visit.decided import decision_at, uncleared_stops

WORDS = "Heart team saw her today."


def setting_aside(clinic, role=Role.PRESCRIBER, **changes):
    given = {
        "code": "breathless_lying", "aim_low_mmhg": 10, "aim_high_mmhg": 20, "maximum_mmhg": 25,
        "reason": "specialist agreed", "words": WORDS, **changes,
    }  # fmt: skip
    return override_stops(clinic.actor(role), clinic.visit, **given)


def test_aim_and_maximum_are_two_numbers(clinic) -> None:
    clinic.fill({"person.breathless_lying": True})
    made = setting_aside(clinic)
    decision = decision_at(clinic.visit)
    assert (decision.aim.low_mmhg, decision.aim.high_mmhg) == (10, 20)
    assert decision.maximum_mmhg == 25
    withdraw_override(clinic.actor(Role.PRESCRIBER), made)
    assert decision_at(clinic.visit).maximum_mmhg is None


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"aim_low_mmhg": 20, "aim_high_mmhg": 20}, "must rise in this order"),
        ({"aim_high_mmhg": 26}, "must rise in this order"),
        ({"maximum_mmhg": 41}, "be 5 to 40 mmHg"),
        ({"aim_low_mmhg": 4}, "be 5 to 40 mmHg"),
        ({"reason": "because"}, "Choose a reason"),
        ({"words": "short"}, "10 to 2000 characters"),
        ({"code": "gangrene"}, "does not stand at this visit"),
    ],
)
def test_an_override_that_is_not_whole_is_refused(clinic, changes, words) -> None:
    clinic.fill({"person.breathless_lying": True})
    with pytest.raises(InputError, match=words):
        setting_aside(clinic, **changes)
    assert not clinic.visit.overrides.exists()


def test_a_hard_stop_is_never_set_aside(clinic) -> None:
    clinic.fill({"leg.findings.gangrene": True})
    with pytest.raises(InputError, match="hard stop is never set aside"):
        setting_aside(clinic, code="gangrene")


def test_stops_are_set_aside_one_by_one(clinic) -> None:
    clinic.fill({"person.breathless_lying": True, "leg.findings.necrosis_risk": True})
    setting_aside(clinic)
    decision = decision_at(clinic.visit)
    assert [stop.code for stop in decision.to_set_aside] == ["necrosis_risk"]
    assert decision.maximum_mmhg is None
    setting_aside(clinic, code="necrosis_risk", maximum_mmhg=22)
    assert decision_at(clinic.visit).maximum_mmhg == 22


# Arms 138: 77 and 70 make an ABI of 0.56, ankle above 60; a toe of 45 lies above 30.
LOW = {"leg.arterial.dorsalis_pedis_mmhg": 77, "leg.arterial.posterior_tibial_mmhg": 70}


def test_what_a_rule_asks_first_is_asked_in_words(clinic) -> None:
    clinic.fill({**LOW, "leg.arterial.toe_mmhg": 62})
    code = {"code": "ankle_brachial_stop"}
    with pytest.raises(InputError, match="Before this stop may be set aside: the vascular"):
        setting_aside(clinic, **code)
    setting_aside(clinic, **code, vascular_by="Dr Invented", vascular_on=clinic.visit.day)
    assert "ankle_brachial_stop" not in [s.code for s in decision_at(clinic.visit).to_set_aside]


def test_a_stop_needs_a_named_action_before_signing(clinic) -> None:
    clinic.fill({"leg.findings.gangrene": True})
    day = clinic.visit.day + timedelta(days=2)
    with pytest.raises(InputError, match="to whom the person was referred"):
        sign_visit(clinic.actor(), clinic.visit, day)
    with pytest.raises(InputError, match="Choose one of the stops"):
        record_stop_action(
            clinic.actor(), clinic.visit, code="sepsis", referred_to="Dr No",
            on=clinic.visit.day,
        )  # fmt: skip
    with pytest.raises(InputError, match="3 to 120 characters"):
        record_stop_action(
            clinic.actor(), clinic.visit, code="gangrene", referred_to="", on=clinic.visit.day
        )
    with pytest.raises(InputError, match="The day must be"):
        record_stop_action(
            clinic.actor(), clinic.visit, code="gangrene", referred_to="Vascular team", on=day
        )
    record_stop_action(
        clinic.actor(), clinic.visit, code="gangrene", referred_to="Vascular team",
        on=clinic.visit.day,
    )  # fmt: skip
    sign_visit(clinic.actor(), clinic.visit, day)


@pytest.fixture
def stopped(clinic):
    """A leg stopped and referred at its last visit."""
    clinic.fill({"leg.findings.gangrene": True})
    record_stop_action(
        clinic.actor(), clinic.visit, code="gangrene", referred_to="Vascular team",
        on=clinic.visit.day,
    )  # fmt: skip
    sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=2))
    return clinic


def test_a_stop_stands_until_a_prescriber_clears_it(stopped) -> None:
    assert [one.code for one in uncleared_stops(stopped.episode)] == ["gangrene"]
    with pytest.raises(NotAllowedError, match="Only a prescriber"):
        clear_stop(stopped.actor(), stopped.episode, "gangrene", WORDS)
    with pytest.raises(InputError, match="10 to 2000"):
        clear_stop(stopped.actor(Role.PRESCRIBER), stopped.episode, "gangrene", "")
    with pytest.raises(InputError, match="No stop of this name"):
        clear_stop(stopped.actor(Role.PRESCRIBER), stopped.episode, "sepsis", WORDS)
    clear_stop(stopped.actor(Role.PRESCRIBER), stopped.episode, "gangrene", WORDS)
    assert uncleared_stops(stopped.episode) == []


def test_a_stop_of_an_earlier_visit_keeps_a_bandage_off_until_it_is_cleared(stopped) -> None:
    at = stopped.actor().now + timedelta(days=2)
    visit = open_visit(Actor(stopped.accounts[Role.BANDAGER], "", at), stopped.episode)
    from gaiter.records.read.holding import uncleared_in_words

    assert "Vascular team" in uncleared_in_words(visit)
    clear_stop(stopped.actor(Role.PRESCRIBER), stopped.episode, "gangrene", WORDS)
    assert uncleared_in_words(visit) == ""


NO_TEST = dict.fromkeys(
    ("leg.arterial.dorsalis_pedis_mmhg", "leg.arterial.posterior_tibial_mmhg",
     "leg.arterial.measured_on", "leg.arterial.waveform", "arms.left_mmhg", "arms.right_mmhg",
     "leg.arterial.rested_min", "leg.arterial.lying_flat")
)  # fmt: skip


def test_the_provisional_level_is_chosen_by_a_prescriber(clinic) -> None:
    clinic.fill(NO_TEST)
    assert decision_at(clinic.visit).maximum_mmhg is None
    with pytest.raises(NotAllowedError, match="no standing order of the clinic covers 20 mmHg"):
        choose_provisional(clinic.actor(), clinic.visit, WORDS)
    choose_provisional(clinic.actor(Role.PRESCRIBER), clinic.visit, WORDS)
    assert decision_at(clinic.visit).maximum_mmhg == 20
    withdraw_provisional(clinic.actor(), clinic.visit)
    assert decision_at(clinic.visit).maximum_mmhg is None


@pytest.mark.parametrize(("maximum", "person", "covered"), [(20, 0, 1), (19, 0, 0), (20, 1, 0)])
def test_a_bandager_chooses_it_under_the_clinics_order_only(
    clinic, maximum, person, covered
) -> None:
    clinic.fill(NO_TEST)
    today = clinic.actor().today
    leave_order(
        clinic.actor(Role.PRESCRIBER), person=clinic.person if person else None,
        maximum_mmhg=maximum, words="While I am away this week.", starts=today, ends=today,
    )  # fmt: skip
    if covered:
        made = choose_provisional(clinic.actor(), clinic.visit, WORDS)
        assert made.order is not None
        assert decision_at(clinic.visit).maximum_mmhg == 20
    else:
        with pytest.raises(NotAllowedError, match="no standing order of the clinic"):
            choose_provisional(clinic.actor(), clinic.visit, WORDS)


def test_there_is_no_provisional_level_beside_a_stop(clinic) -> None:
    clinic.fill({**NO_TEST, "leg.findings.gangrene": True})
    with pytest.raises(InputError, match="leaves no provisional level"):
        choose_provisional(clinic.actor(Role.PRESCRIBER), clinic.visit, WORDS)


def test_a_reduced_bandage_that_is_new_is_looked_at_within_two_days(clinic) -> None:
    from gaiter.records.actions.checks import GOOD_ANSWERS, record_check
    from gaiter.records.actions.plans import record_bandaging

    clinic.fill({"person.can_report_pain": False, "person.daily_observer": "A daughter"})
    two = clinic.visit.day + timedelta(days=2)
    one = record_bandaging(clinic.actor(), clinic.visit, clinic.approved(), two)
    record_check(clinic.actor(), one, "after", GOOD_ANSWERS)
    with pytest.raises(InputError, match="looked at within 48 hours"):
        sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=3))
    sign_visit(clinic.actor(), clinic.visit, two)
