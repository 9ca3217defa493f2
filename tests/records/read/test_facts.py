"""Rows behind the list of today: each at its own leg, oldest first, without what is done with."""

from datetime import date, timedelta

import pytest

from gaiter.core.safety import Outcome
from gaiter.records.models import (
    Account,
    BandageEvent,
    Bandaging,
    CallBack,
    Check,
    Deed,
    Entry,
    Episode,
    OverrideRecord,
    Person,
    PlanRecord,
    ProvisionalRecord,
    Reading,
    StopAction,
    StopCleared,
    Visit,
)
from gaiter.records.read.facts import ANKLE, LENGTH, Facts, facts_of
from gaiter.records.visit.decided import decision_at
from tests.records.models.rows import AT, made

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)
DAY, HOUR = timedelta(days=1), timedelta(hours=1)


def episode(side="right", person=None, **changes) -> Episode:
    person = person or made(Person, birth_date="1951-03-14")
    given = {"side": side, "closed_on": None, "outcome": "", **changes}
    return made(Episode, person=person, **given)


def visit(of, days_ago=0, **changes) -> Visit:
    """Signed, so that a leg may have several."""
    given = {**by_somebody("signed"), **changes}
    return made(Visit, episode=of, day=TODAY - days_ago * DAY, **given)


def by_somebody(deed: str) -> dict:
    return {f"{deed}_at": AT, f"{deed}_by": made(Account)}


def entry(at, path, value, state=Entry.State.CURRENT) -> Entry:
    return made(Entry, visit=at, path=path, value=value, words=None, state=state)


@pytest.fixture
def facts(policy):
    def of(*episodes) -> list[Facts]:
        found = facts_of(episodes, policy, TODAY)
        return [found[one.pk] for one in episodes]

    return of


def test_visits_stand_at_their_leg_oldest_first(facts) -> None:
    one, other = episode(), episode()
    late, early, elsewhere = visit(one), visit(one, 7), visit(other)
    of_one, of_other = facts(one, other)
    assert of_one.visits == [early, late]
    assert of_other.visits == [elsewhere]


def test_a_leg_without_a_visit_has_no_decision(facts) -> None:
    (found,) = facts(episode())
    assert (found.visits, found.decision, found.today, found.in_force) == ([], None, None, None)


def test_what_is_measured_is_kept_by_visit_and_only_what_counts(facts) -> None:
    one = episode()
    first, second = visit(one, 7), visit(one)
    entry(first, ANKLE, 23.5)
    entry(second, ANKLE, 23.0)
    entry(second, ANKLE, 99.0, Entry.State.RIVAL)
    entry(second, LENGTH, 4.0)
    entry(second, "leg.girth_cm.calf", 37.0)
    (found,) = facts(one)
    assert dict(found.series) == {first.pk: {ANKLE: 23.5}, second.pk: {ANKLE: 23.0, LENGTH: 4.0}}


def test_the_plan_in_force_is_the_newest_approved_one(facts) -> None:
    one = episode()
    at, later = visit(one, 7), visit(one)
    rows = ((at, "superseded"), (at, "approved"), (later, "approved"), (later, "proposed"))
    plans = [made(PlanRecord, visit=of, state=state) for of, state in rows]
    (found,) = facts(one)
    assert found.plans == plans
    assert found.in_force == plans[2]
    assert found.plans[0].get_deferred_fields() == {"document", "case"}


def test_a_bandage_that_was_undone_keeps_its_alarm_and_loses_its_readings(facts) -> None:
    at = visit(episode())
    on, undone = made(Bandaging, visit=at), made(Bandaging, visit=at, **by_somebody("undone"))
    checks = [made(Check, bandaging=b, at=AT + n * HOUR) for n, b in enumerate((on, undone))]
    deed = made(Deed, bandaging=undone)
    sensor = made(Reading, bandaging=on, kind="sensor")
    made(Reading, bandaging=undone, kind="sensor")
    made(Reading, bandaging=on, kind="spacing")
    (found,) = facts(at.episode)
    assert found.checks == checks
    assert found.deeds == [deed]
    assert found.readings == [sensor]


def test_a_check_without_a_verdict_raises_no_alarm(facts) -> None:
    at = visit(episode())
    bandaging = made(Bandaging, visit=at)
    made(Check, bandaging=bandaging, verdict="")
    judged = made(Check, bandaging=bandaging, verdict="loosen")
    event = made(BandageEvent, episode=at.episode)
    (found,) = facts(at.episode)
    assert list(found.alarm_facts.checks) == [judged]
    assert list(found.alarm_facts.events) == [event]


def test_calls_that_were_returned_and_overrides_withdrawn_or_without_an_aim_are_left_out(
    facts,
) -> None:
    at = visit(episode())
    call = made(CallBack, episode=at.episode, done_at=None)
    made(CallBack, episode=at.episode, **by_somebody("done"))
    stands = made(OverrideRecord, visit=at, withdrawn_at=None, aim_low_mmhg=10)
    made(OverrideRecord, visit=at, withdrawn_at=AT, aim_low_mmhg=10)
    made(OverrideRecord, visit=at, withdrawn_at=None, aim_low_mmhg=None)
    chosen = made(ProvisionalRecord, visit=at, withdrawn_at=None)
    made(ProvisionalRecord, visit=at, withdrawn_at=AT)
    (found,) = facts(at.episode)
    assert (found.calls, found.overrides, found.provisionals) == ([call], [stands], [chosen])


def test_a_stop_is_of_the_leg_whatever_its_episode(facts) -> None:
    closed = episode(closed_on=TODAY - DAY, outcome="moved")
    again, other_leg = episode(person=closed.person), episode("left", closed.person)
    stopped = made(StopAction, visit=visit(closed, 9), code="gangrene", at=AT - 9 * DAY)
    of_again, of_other = facts(again, other_leg)
    assert of_again.uncleared == [stopped]
    assert of_other.uncleared == []
    made(StopCleared, episode=closed, code="sepsis", at=AT)
    assert facts(again)[0].uncleared == [stopped]
    made(StopCleared, episode=again, code="gangrene", at=AT)
    assert facts(again)[0].uncleared == []


def test_the_last_visit_is_decided_by_what_each_box_said_last(facts) -> None:
    one = episode()
    first, second = visit(one, 7), visit(one)
    entry(first, "leg.findings.gangrene", False)
    (found,) = facts(one)
    assert found.decision.outcome is Outcome.NOT_YET
    entry(second, "leg.findings.gangrene", True)
    (found,) = facts(one)
    assert found.decision.outcome is Outcome.STOP
    assert "gangrene" in found.decision.limiting


def test_a_correction_counts_at_a_later_visit_only(facts) -> None:
    """The list says of a leg what its visit says: see test_a_correction_counts_from_the_next."""
    one = episode()
    first = visit(one, 7)
    entry(first, "leg.findings.gangrene", True)
    entry(first, "leg.findings.gangrene", False, Entry.State.AFTER)
    (found,) = facts(one)
    assert found.decision.outcome is Outcome.STOP
    second = visit(one, signed_at=None, signed_by=None)
    (found,) = facts(one)
    assert found.decision.outcome is assembled_outcome(second) is Outcome.NOT_YET
    entry(second, "leg.findings.gangrene", True)
    (found,) = facts(one)
    assert found.decision.outcome is Outcome.STOP


def assembled_outcome(at: Visit) -> Outcome:
    return decision_at(at).outcome


def test_what_the_person_said_at_the_other_leg_counts_at_both(facts) -> None:
    one = episode()
    other = episode("left", one.person)
    entry(visit(one, 1), "person.breathless_lying", True)
    visit(other)
    of_other = facts(one, other)[1]
    assert "breathless_lying" in {reason.code for reason in of_other.decision.reasons}
