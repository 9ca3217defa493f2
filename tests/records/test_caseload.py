"""Today's marks, each from what was recorded."""

from datetime import timedelta

import pytest

from gaiter.records.action import Actor
from gaiter.records.actions.checks import GOOD_ANSWERS, record_check
from gaiter.records.actions.people import (
    ask_for_call,
    open_episode,
    record_bandage_event,
    return_call,
)
from gaiter.records.actions.plans import record_bandaging
from gaiter.records.actions.readings import Read, record_readings
from gaiter.records.actions.visits import Typed, open_visit, save_entries, sign_visit
from gaiter.records.assemble import local_policy
from gaiter.records.caseload import Mark, standing
from gaiter.records.models import Role


def marks(clinic, days=0):
    today = clinic.actor().today + timedelta(days=days)
    return standing(clinic.episode, local_policy(), today).marks


def sign(clinic, days=7):
    sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=days))


def next_visit(clinic, days, **values):
    at = clinic.actor().now + timedelta(days=days)
    actor = Actor(clinic.accounts[Role.BANDAGER], "", at)
    visit = open_visit(actor, clinic.episode)
    typed = [Typed(path.replace("__", "."), value, 0) for path, value in values.items()]
    save_entries(actor, visit, typed)
    sign_visit(actor, visit, visit.day + timedelta(days=7))


@pytest.mark.parametrize(
    ("days", "mark"),
    [(6, None), (7, Mark.DUE), (8, Mark.OVERDUE), (9, Mark.OVERDUE), (10, Mark.MISSED)],
)
def test_due_overdue_and_missed(clinic, days, mark) -> None:
    sign(clinic)
    found = {Mark.DUE, Mark.OVERDUE, Mark.MISSED} & set(marks(clinic, days))
    assert found == ({mark} if mark else set())


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"leg.findings.rest_pain": True}, "pain at rest"),
        ({"toes.colour": "bluer"}, "toes bluer"),
        ({"leg.findings.clot.state": "suspected"}, "clot suspected"),
    ],
)
def test_a_warning_sign_of_the_last_visit_stands(clinic, values, words) -> None:
    clinic.fill(values)
    assert words in marks(clinic)[Mark.WARNING]


def test_a_failing_heart_is_a_warning_for_both_legs(clinic) -> None:
    actor = clinic.actor()
    other = open_visit(actor, open_episode(actor, clinic.person, "left"))
    save_entries(actor, other, [Typed("person.breathless_lying", True, 0)])
    assert "breathless lying flat (visit of the other leg)" in marks(clinic)[Mark.WARNING]


def test_a_bandage_taken_off_is_a_warning(clinic) -> None:
    record_bandage_event(clinic.actor(), clinic.episode, "taken_off", "too tight")
    assert "taken off" in marks(clinic)[Mark.WARNING]


def test_a_call_stands_until_it_is_returned(clinic) -> None:
    call = ask_for_call(clinic.actor(), clinic.episode, "daughter: may he shower?")
    assert marks(clinic)[Mark.CALL].startswith("daughter")
    return_call(clinic.actor(), call, "told her to keep it dry")
    assert Mark.CALL not in marks(clinic)


def test_a_plan_that_waits_stands(clinic) -> None:
    clinic.proposed()
    assert Mark.APPROVAL in marks(clinic)


def test_an_old_arterial_test_is_due(clinic) -> None:
    assert Mark.ARTERIAL not in marks(clinic)
    assert "200 days ago" in marks(clinic, 180)[Mark.ARTERIAL]


def test_a_shrunk_ankle_is_drift_by_laplace(clinic) -> None:
    clinic.approved()
    sign(clinic)
    next_visit(clinic, 7, leg__girth_cm__ankle=21.5)
    # 23.5 / 21.5 - 1: the same tension on a smaller girth.
    assert "about 9% more" in marks(clinic, 7)[Mark.DRIFT]


def test_a_wound_that_did_not_shrink_in_four_weeks_is_stalled(clinic) -> None:
    sign(clinic)
    next_visit(clinic, 28, leg__wound__length_cm=3.9, leg__wound__width_cm=2.9)
    # 12.0 to 11.31 cm2, 6 % smaller: under the 20 % at which the source reassesses.
    assert "6% smaller" in marks(clinic, 28)[Mark.STALLED]


def test_a_wound_that_shrank_is_not(clinic) -> None:
    sign(clinic)
    next_visit(clinic, 28, leg__wound__length_cm=3.0, leg__wound__width_cm=2.4)
    assert Mark.STALLED not in marks(clinic, 28)


def test_readings_that_say_take_it_off_warn_until_it_was_done(clinic) -> None:
    plan, actor = clinic.approved(), clinic.actor()
    bandaging = record_bandaging(actor, clinic.visit, plan, actor.today + timedelta(days=2))

    def said() -> str:
        return marks(clinic).get(Mark.WARNING, "")

    record_readings(clinic.actor(), bandaging, [Read("sensor", 0, "ankle", 75.0)])
    assert "take the bandage off now" in said()
    answers = GOOD_ANSWERS | {"pain": "5"}
    record_check(clinic.actor(), bandaging, "after", answers, deed="called")
    assert "take the bandage off now" in said()
    record_check(clinic.actor(), bandaging, "later", answers, deed="redone")
    assert "take the bandage off now" not in said()
