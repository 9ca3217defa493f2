"""Today's marks, each from what was recorded."""

from datetime import timedelta

import pytest

from gaiter.core.safety import RULES, Reason
from gaiter.records.actions.checks import GOOD_ANSWERS, record_check
from gaiter.records.actions.people import (
    add_person,
    ask_for_call,
    open_episode,
    record_bandage_event,
    return_call,
)
from gaiter.records.actions.plans import record_bandaging, void_plan
from gaiter.records.actions.readings import Read, record_readings
from gaiter.records.actions.stops import clear_stop, override_stops, record_stop_action
from gaiter.records.actions.visits import Typed, open_visit, save_entries, sign_visit
from gaiter.records.ledger import Actor
from gaiter.records.models import Reading, Role
from gaiter.records.read.caseload import (
    Concern,
    _read_too_high,
    caseload,
    danger_signs,
    leg_today,
)
from gaiter.records.read.facts import Facts
from gaiter.records.visit.case import local_policy
from gaiter.records.visit.decided import decision_at, stops_of
from tests.clinic import whole_visit


def marks(clinic, days=0):
    today = clinic.actor().today + timedelta(days=days)
    return leg_today(clinic.episode, local_policy(), today).marks


def sign(clinic, days=7):
    sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=days))


def next_visit(clinic, days, sign_it=True, **values):
    at = clinic.actor().now + timedelta(days=days)
    actor = Actor(clinic.accounts[Role.BANDAGER], "", at)
    visit = open_visit(actor, clinic.episode)
    typed = [Typed(path.replace("__", "."), value, 0) for path, value in values.items()]
    save_entries(actor, visit, typed)
    if sign_it:
        sign_visit(actor, visit, visit.day + timedelta(days=7))


@pytest.mark.parametrize(
    ("days", "mark"),
    [(6, None), (7, Concern.DUE), (8, Concern.OVERDUE), (9, Concern.OVERDUE), (10, Concern.MISSED)],
)
def test_due_overdue_and_missed(clinic, days, mark) -> None:
    sign(clinic)
    found = {Concern.DUE, Concern.OVERDUE, Concern.MISSED} & set(marks(clinic, days))
    assert found == ({mark} if mark else set())


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"leg.findings.rest_pain": True}, "pain at rest"),
        ({"toes.colour": "bluer"}, "toes not right"),
        ({"leg.findings.clot.state": "suspected"}, "clot suspected"),
    ],
)
def test_a_warning_sign_of_the_last_visit_stands(clinic, values, words) -> None:
    clinic.fill(values)
    assert words in marks(clinic)[Concern.WARNING]


def test_a_failing_heart_is_a_warning_for_both_legs(clinic) -> None:
    actor = clinic.actor()
    other = open_visit(actor, open_episode(actor, clinic.person, "left"))
    save_entries(actor, other, [Typed("person.breathless_lying", True, 0)])
    assert "breathless lying flat (visit of the other leg)" in marks(clinic)[Concern.WARNING]


def test_a_bandage_taken_off_is_a_warning(clinic) -> None:
    record_bandage_event(clinic.actor(), clinic.episode, "taken_off", "too tight")
    assert "taken off" in marks(clinic)[Concern.WARNING]


def test_a_call_stands_until_it_is_returned(clinic) -> None:
    call = ask_for_call(clinic.actor(), clinic.episode, "daughter: may he shower?")
    assert marks(clinic)[Concern.CALL].startswith("daughter")
    return_call(clinic.actor(), call, "told her to keep it dry")
    assert Concern.CALL not in marks(clinic)


def test_a_plan_that_waits_stands(clinic) -> None:
    clinic.proposed()
    assert Concern.APPROVAL in marks(clinic)


def test_an_old_arterial_test_is_due(clinic) -> None:
    assert Concern.ARTERIAL not in marks(clinic)
    assert "The arterial test is 200 days old" in marks(clinic, 180)[Concern.ARTERIAL]


def test_a_shrunk_ankle_is_drift_by_laplace(clinic) -> None:
    clinic.approved()
    sign(clinic)
    next_visit(clinic, 7, leg__girth_cm__ankle=21.5)
    # 23.5 / 21.5 - 1: the same tension on a smaller girth.
    assert "about 9% more" in marks(clinic, 7)[Concern.DRIFT]


def test_a_wound_that_did_not_shrink_in_four_weeks_is_stalled(clinic) -> None:
    sign(clinic)
    next_visit(clinic, 28, leg__wound__length_cm=3.9, leg__wound__width_cm=2.9)
    # 12.0 to 11.31 cm2, 6 % smaller: under the 20 % at which the source reassesses.
    assert "6% smaller" in marks(clinic, 28)[Concern.STALLED]


def test_a_wound_that_shrank_is_not(clinic) -> None:
    sign(clinic)
    next_visit(clinic, 28, leg__wound__length_cm=3.0, leg__wound__width_cm=2.4)
    assert Concern.STALLED not in marks(clinic, 28)


def test_readings_that_say_take_it_off_warn_until_it_was_done(clinic) -> None:
    plan, actor = clinic.approved(), clinic.actor()
    bandaging = record_bandaging(actor, clinic.visit, plan, actor.today + timedelta(days=2))

    def said() -> str:
        return marks(clinic).get(Concern.WARNING, "")

    record_readings(clinic.actor(), bandaging, [Read("sensor", 0, "ankle", 75.0)])
    assert "TAKE IT OFF NOW" in said()
    answers = GOOD_ANSWERS | {"pain": "5"}
    record_check(clinic.actor(), bandaging, "after", answers, deed="called")
    assert "TAKE IT OFF NOW" in said()
    record_check(clinic.actor(), bandaging, "later", answers, deed="redone")
    assert "TAKE IT OFF NOW" not in said()


def test_too_much_at_any_place_of_the_last_bandage_is_said_until_it_reads_less(clinic) -> None:
    bandaging = record_bandaging(
        clinic.actor(), clinic.visit, clinic.approved(), clinic.visit.day + timedelta(days=1)
    )
    read = Facts(visits=[clinic.visit])

    def reads(place: str, value: float) -> list[str]:
        read.readings.append(Reading(bandaging=bandaging, place=place, value=value))
        return list(_read_too_high(read))

    assert reads("gaiter", 75.0) == ["sensor read 75 mmHg, above the maximum 60"]
    assert reads("ankle", 20.0) == ["sensor read 75 mmHg, above the maximum 60"]
    assert reads("gaiter", 40.0) == []


@pytest.mark.parametrize("code", [code for code, rule in RULES.items() if rule.stops])
def test_every_stop_is_a_danger_sign(clinic, code) -> None:
    rule, decision = RULES[code], decision_at(clinic.visit)
    fired = Reason(code=code, kind=rule.kind, text="", source="", strength="")
    assert danger_signs(decision) == []
    assert danger_signs(decision.model_copy(update={"reasons": (fired,)})) == [rule.danger]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"leg.findings.septic_phlebitis": True}, "septic phlebitis"),
        ({"leg.findings.massive_blue_swelling": True}, "massive blue swelling"),
        ({"leg.findings.superficial_phlebitis": True}, "superficial phlebitis"),
        ({"leg.findings.vasculitis_suspected": True}, "vasculitis suspected"),
        ({"leg.findings.malignancy_suspected": True}, "malignancy suspected"),
        ({"leg.findings.necrosis_risk": True}, "risk of necrosis"),
        ({"look.pain": 10}, "severe pain"),
        ({"toes.movement": "no toe"}, "toes not right"),
    ],
)
def test_what_today_missed_before_stands_in_it(clinic, values, words) -> None:
    clinic.fill(values)
    assert words in marks(clinic)[Concern.WARNING]


def test_a_stop_that_was_referred_stands_until_it_is_cleared(clinic) -> None:
    clinic.fill({"leg.findings.gangrene": True})
    record_stop_action(
        clinic.actor(), clinic.visit, code="gangrene", referred_to="Vascular team",
        on=clinic.visit.day,
    )  # fmt: skip
    sign(clinic, 2)
    next_visit(clinic, 2, leg__findings__gangrene=False)
    assert (
        "Stop: dead tissue. Referred to Vascular team, not cleared"
        in (marks(clinic, 2)[Concern.WARNING])
    )
    doctor = clinic.actor(Role.PRESCRIBER)
    clear_stop(doctor, clinic.episode, "gangrene", "It was dried blood, washed off.")
    assert Concern.WARNING not in marks(clinic, 2)


def test_a_voided_plan_is_a_warning_until_another_is_approved(clinic) -> None:
    void_plan(clinic.actor(), clinic.approved(), "The ankle is 6 cm smaller.")
    assert "the plan ended: The ankle is 6 cm smaller" in marks(clinic)[Concern.WARNING]
    clinic.approved()
    assert Concern.WARNING not in marks(clinic)


def test_a_sign_set_aside_says_so(clinic) -> None:
    clinic.fill({"person.breathless_lying": True})
    override_stops(
        clinic.actor(Role.PRESCRIBER), clinic.visit, code="breathless_lying", aim_low_mmhg=10,
        aim_high_mmhg=20, maximum_mmhg=25, reason="specialist agreed",
        words="Heart team saw her today.",
    )  # fmt: skip
    assert "breathless lying flat, set aside" in marks(clinic)[Concern.WARNING]


@pytest.mark.parametrize(
    ("name", "value", "mark", "days"),
    [("missed_after_days", 3, Concern.MISSED, 10), ("missed_after_days", 4, Concern.OVERDUE, 11)],
)
def test_the_policy_says_when_a_visit_is_missed(clinic, name, value, mark, days) -> None:
    sign(clinic)
    policy = local_policy()
    changed = policy.values[name].model_copy(update={"value": value - (mark is Concern.MISSED)})
    policy = policy.model_copy(update={"values": {**policy.values, name: changed}})
    today = clinic.actor().today + timedelta(days=days)
    assert mark in leg_today(clinic.episode, policy, today).marks


def test_the_list_takes_as_many_queries_for_many_legs_as_for_one(
    clinic, django_assert_num_queries
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as one:
        caseload(local_policy(), clinic.actor().today, clinic.actor())
    actor = clinic.actor()
    for number in range(2, 6):
        person = add_person(
            actor, name="Invented", birth_date=clinic.person.born, number=f"T-{number}",
            invented=True,
        )  # fmt: skip
        visit = open_visit(actor, open_episode(actor, person, "left"))
        save_entries(actor, visit, [Typed(p, v, 0) for p, v in whole_visit().items()])
    with django_assert_num_queries(len(one)):
        assert len(caseload(local_policy(), actor.today, actor)) == 5


def test_the_list_decides_as_the_visit_does(clinic) -> None:
    clinic.fill({"leg.findings.new_pain": True})
    sign_with_action(clinic)
    next_visit(clinic, 2, leg__girth_cm__ankle=23.4, sign_it=False)
    visit = clinic.episode.visits.get(signed_at=None)
    assert leg_today(clinic.episode, local_policy(), visit.day).decision == decision_at(visit)


def sign_with_action(clinic):
    for reason in stops_of(decision_at(clinic.visit)):
        record_stop_action(
            clinic.actor(), clinic.visit, code=reason.code, referred_to="Vascular team",
            on=clinic.visit.day,
        )  # fmt: skip
    sign(clinic, 2)
