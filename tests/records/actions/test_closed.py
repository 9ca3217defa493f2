"""What is signed or closed is closed: every action is tried on it, and says so or stands beside."""

from datetime import timedelta

import pytest

from gaiter.core.errors import InputError
from gaiter.records.actions import checks, people, plans, readings, shelf, stops, visits
from gaiter.records.actions.checks import GOOD_ANSWERS
from gaiter.records.actions.readings import Read
from gaiter.records.actions.visits import Typed
from gaiter.records.models import Bandaging, Episode, Note, PlanRecord, Role, Visit
from gaiter.records.visit.case import assembled, case_of
from gaiter.web.plan.desk import computed_plan
from tests.records.actions.test_stops import NO_TEST
from tests.records.test_six_writers import every_action

WORDS = "Spoken to on the telephone today."
ANKLE = "leg.girth_cm.ankle"


def propose(c):
    case = case_of(assembled(c.visit))
    return plans.propose_plan(c.actor(), c.visit, computed_plan(case), case)


def override(c):
    return stops.override_stops(
        c.doctor, c.visit, code="breathless_lying", aim_low_mmhg=10, aim_high_mmhg=20,
        maximum_mmhg=25, reason="specialist agreed", words=WORDS,
    )  # fmt: skip


def bandage(c):
    return plans.record_bandaging(c.actor(), c.visit, c.plan, c.visit.day + timedelta(days=1))


# Each action on a leg, as somebody calls it who has an old page before them.
ACTS = {
    "record_check": lambda c: checks.record_check(c.actor(), c.bandaging, "after", GOOD_ANSWERS),
    "record_readings": lambda c: readings.record_readings(
        c.actor(), c.bandaging, [Read("sensor", 0, "gaiter", 30.0)]
    ),
    "undo_bandaging": lambda c: shelf.undo_bandaging(c.actor(), c.bandaging, "a mistake"),
    "record_bandaging": bandage,
    "override_stops": override,
    "withdraw_override": lambda c: stops.withdraw_override(c.doctor, c.override),
    "choose_provisional": lambda c: stops.choose_provisional(c.doctor, c.visit, WORDS),
    "withdraw_provisional": lambda c: stops.withdraw_provisional(c.doctor, c.visit),
    "record_stop_action": lambda c: stops.record_stop_action(
        c.actor(), c.visit, code="gangrene", referred_to="Team", on=c.visit.day
    ),
    "settle_clash": lambda c: visits.settle_clash(
        c.doctor, c.visit, ANKLE, c.visit.entries.get(path=ANKLE).pk
    ),
    "sign_visit": lambda c: visits.sign_visit(c.actor(), c.visit, None),
    "answer_none_present": lambda c: visits.answer_none_present(c.actor(), c.visit),
    "propose_plan": propose,
    "approve_plan": lambda c: plans.approve_plan(c.doctor, c.proposal),
    "clear_stop": lambda c: stops.clear_stop(c.doctor, c.episode, "gangrene", WORDS),
    "ask_for_call": lambda c: people.ask_for_call(c.actor(), c.episode, "why"),
    "open_visit": lambda c: visits.open_visit(c.actor(), c.episode),
    "close_episode": lambda c: people.close_episode(c.actor(), c.episode, "healed"),
}
# These stay possible under a signature, for the reason said.
AFTER_SIGNING = {
    "propose_plan": "between visits, from the last one",
    "approve_plan": "a prescriber approves when there is time",
    "clear_stop": "of the leg, not of the visit",
    "ask_for_call": "of the leg",
    "open_visit": "the next one",
    "close_episode": "after the last visit",
}
# Not of a leg, or never in the way of what is safe, or an entry of its own beside.
ELSEWHERE = {
    "issue_link", "end_grant", "use_link", "approve_grant", "ask_removal", "note_read",
    "note_sign_in", "note_failed_sign_in", "start_factor", "confirm_factor", "make_codes",
    "give_code",
    "add_account", "set_password", "change_account", "add_person", "change_person",
    "open_episode", "leave_order", "revoke_order", "stock_change", "set_stock_item",
    "record_attempt",
    "record_came_off", "record_bandage_event", "record_deed", "void_plan", "withdraw_plan",
    "write_note", "store_file", "return_call", "save_entries", "change_outcome",
    "make_team", "change_team", "place_unseen", "change_teams", "open_outside",
}  # fmt: skip


def test_every_action_is_named_here() -> None:
    """An action that is new has to say what it does to what is closed."""
    assert every_action() - set(ACTS) - ELSEWHERE == set()


@pytest.fixture
def full(clinic):
    """An open visit with an override, a bandage that is on, and another plan that waits."""
    clinic.doctor = clinic.actor(Role.PRESCRIBER)
    clinic.plan = clinic.approved()
    clinic.bandaging = bandage(clinic)
    checks.record_check(clinic.actor(), clinic.bandaging, "after", GOOD_ANSWERS)
    clinic.proposal = clinic.proposed()
    clinic.fill({"person.breathless_lying": True})
    clinic.override = override(clinic)
    clinic.fill({"person.breathless_lying": False})
    return clinic


def contents() -> list[object]:
    """What a signed visit and a closed episode say."""
    return [
        list(model.objects.order_by("pk").values())
        for model in (Visit, Episode, Bandaging, PlanRecord)
    ]


@pytest.mark.parametrize("name", sorted(set(ACTS) - set(AFTER_SIGNING)))
def test_nothing_is_written_under_a_signature(full, name) -> None:
    visits.sign_visit(full.actor(), Visit.objects.get(), full.visit.day + timedelta(days=2))
    before = contents()
    with pytest.raises(InputError, match="signed"):
        ACTS[name](full)
    assert contents() == before


@pytest.mark.parametrize("name", sorted(ACTS))
def test_nothing_is_written_into_a_closed_episode(full, name) -> None:
    """Its last visit was left open, as somebody who moves away leaves it."""
    people.close_episode(full.actor(), Episode.objects.get(), "moved")
    if name == "open_visit":
        visit = Visit.objects.get()
        Visit.objects.update(signed_at=full.doctor.now, signed_by=full.doctor.account)
        assert visit
    before = contents()
    with pytest.raises(InputError, match="closed"):
        ACTS[name](full)
    assert contents() == before


def test_a_later_look_is_recorded_after_the_signature(full) -> None:
    visits.sign_visit(full.actor(), Visit.objects.get(), full.visit.day + timedelta(days=2))
    for moment in ("after", "walked"):
        with pytest.raises(InputError, match="later look"):
            checks.record_check(full.actor(), full.bandaging, moment, GOOD_ANSWERS)
    made = checks.record_check(full.actor(), full.bandaging, "later", GOOD_ANSWERS)
    assert made.moment == "later"


@pytest.mark.parametrize(
    "act",
    [
        lambda c: checks.record_check(c.actor(), c.bandaging, "after", GOOD_ANSWERS),
        ACTS["record_readings"],
    ],
)
def test_nothing_is_seen_on_a_bandage_that_was_undone(full, act) -> None:
    shelf.undo_bandaging(full.actor(), full.bandaging, "pressed by mistake")
    with pytest.raises(InputError, match="was undone"):
        act(full)


def test_a_bandage_comes_off_whatever_is_closed(full) -> None:
    people.close_episode(full.actor(), Episode.objects.get(), "moved")
    people.record_bandage_event(full.actor(), full.episode, "taken_off", "at home")
    checks.record_came_off(full.actor(), full.episode, "loosened", "at home", "")
    checks.record_deed(full.actor(), full.bandaging, "taken_off")
    assert full.episode.events.count() == 2


def test_what_is_typed_into_a_closed_episode_is_a_correction(full) -> None:
    people.close_episode(full.actor(), Episode.objects.get(), "moved")
    base = full.visit.entries.get(path=ANKLE).pk
    (saved,) = visits.save_entries(full.actor(), full.visit, [Typed(ANKLE, 29.0, base)])
    assert (saved.after, saved.entry) == (True, base)
    assert full.visit.entries.get(pk=base).state == "current"


def test_an_outcome_changes_with_its_reason_only(full) -> None:
    closed = people.close_episode(full.actor(), Episode.objects.get(), "moved")
    for words in ("", "too short"):
        with pytest.raises(InputError, match="10 to 2000"):
            people.change_outcome(full.actor(), closed, "healed", words)
    with pytest.raises(InputError, match="That is its outcome already"):
        people.change_outcome(full.actor(), closed, "moved", WORDS)
    with pytest.raises(InputError, match="Only clinical staff"):
        people.change_outcome(full.actor(Role.MANAGER), closed, "healed", WORDS)
    day = closed.closed_on
    people.change_outcome(full.doctor, closed, "healed", WORDS)
    again, note = Episode.objects.get(), Note.objects.get()
    assert (again.outcome, again.closed_on) == ("healed", day)
    assert note.author == full.doctor.account
    assert note.words == f"Outcome changed from “moved or stopped coming” to “healed”: {WORDS}"


def test_an_open_episode_has_no_outcome_to_change(full) -> None:
    with pytest.raises(InputError, match="is open"):
        people.change_outcome(full.actor(), full.episode, "healed", WORDS)


def test_a_provisional_level_of_a_signed_visit_stays(clinic) -> None:
    clinic.fill(NO_TEST)
    doctor = clinic.actor(Role.PRESCRIBER)
    stops.choose_provisional(doctor, clinic.visit, WORDS)
    visits.sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=2))
    with pytest.raises(InputError, match="signed already"):
        stops.withdraw_provisional(doctor, clinic.visit)
    assert clinic.visit.provisionals.filter(withdrawn_at=None).count() == 1
