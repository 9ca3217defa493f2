"""Reading a leg's record asks the database as often after months of bandages as after the first.

Months are made by copying the rows of one whole visit; what they say does not matter here.
"""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gaiter.core.policy import Policy
from gaiter.records.actions.checks import GOOD_ANSWERS, record_check, record_deed
from gaiter.records.actions.people import record_bandage_event, write_note
from gaiter.records.actions.plans import record_bandaging
from gaiter.records.actions.readings import Read, record_readings
from gaiter.records.ledger import Actor, action
from gaiter.records.models import (
    AppliedRecord,
    BandageEvent,
    Bandaging,
    Check,
    Deed,
    Entry,
    Note,
    PlanRecord,
    Reading,
    Role,
    Visit,
)
from gaiter.records.read import alarm, caseload, habits, holding, in_force
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.visit import case, decided
from gaiter.web.today import leg as leg_page

READS = {
    "caseload": lambda e, _v, p: caseload.caseload(p, _v.day, Actor(_v.opened_by)),
    "leg_today": lambda e, _v, p: caseload.leg_today(e, p, _v.day),
    "open_alarm": lambda e, _v, p: alarm.open_alarm(e, p),
    "plan_in_force": lambda e, _v, _p: in_force.plan_in_force(e).approved_by.name,
    "waiting_plan": lambda e, _v, _p: in_force.waiting_plan(e),
    "days_worn": lambda e, v, _p: in_force.days_worn(in_force.plan_in_force(e), v),
    "holding": lambda e, v, _p: holding.holding(v, in_force.plan_in_force(e)),
    "assembled": lambda _e, v, _p: case.assembled(v),
    "case_mapping": lambda _e, v, _p: case.case_mapping(case.assembled(v)),
    "tolerated_level": lambda _e, v, _p: case.tolerated_level(v),
    "decision": lambda _e, v, _p: decided.decision_at(v),
    "uncleared_stops": lambda e, _v, _p: decided.uncleared_stops(e),
    "habits": lambda e, v, p: habits.habits_of(v.opened_by, p, v.day),
    "calibration": lambda _e, _v, p: habits.calibration(p),
    "moments of the leg page": lambda e, _v, _p: leg_page._moments(
        e, list(e.visits.select_related("opened_by", "signed_by"))
    ),
    "ended plan of the leg page": lambda e, _v, _p: leg_page.ended_plan(e),
}


@pytest.fixture
def bandaged(clinic):
    """One visit with everything that may happen at one."""
    actor, visit = clinic.actor(), clinic.visit
    plan = clinic.approved()
    bandaging = record_bandaging(actor, visit, plan, visit.day + timedelta(days=2))
    layer = next(one for one in leg_of(plan_of(plan)).systems[0].layers if one.fabric)
    marks = [Read("spacing", layer.number, "ankle", layer.mark_spacing_cm)]
    record_readings(actor, bandaging, [*marks, Read("sensor", 0, "gaiter", 30.0)])
    record_check(actor, bandaging, "after", {**GOOD_ANSWERS, "fingers": "no"})
    for kind in ("called", "loosened", "recovered"):
        record_deed(actor, bandaging, kind, "asked how long")
    record_bandage_event(actor, clinic.episode, "loosened", "felt tight")
    write_note(actor, clinic.episode, "walks well")
    return clinic


def copied(act, row, **changes):
    names = [f.name for f in row._meta.concrete_fields if not f.primary_key]
    return act.create(type(row), **{**{name: getattr(row, name) for name in names}, **changes})


def grow(clinic, times: int) -> None:
    """Earlier visits, each with rows like those of the one that there is."""
    one = Bandaging.objects.order_by("pk").first()
    plan = PlanRecord.objects.order_by("pk").first()
    with action(clinic.actor(Role.BANDAGER), "grow") as act:
        for number in range(1, times + 1):
            back = timedelta(days=7 * number)
            visit = copied(
                act, clinic.visit, day=clinic.visit.day - back, signed_at=one.at - back,
                signed_by=clinic.accounts[Role.BANDAGER],
            )  # fmt: skip
            for entry in clinic.visit.entries.filter(path__startswith="leg.girth"):
                copied(act, entry, visit=visit)
            for state in ("superseded", "withdrawn"):
                old = copied(act, plan, visit=visit, state=state)
            for where in ({"visit": visit, "plan": old}, {}):
                put_on = copied(act, one, **where, at=one.at - back)
                for model in (Check, Deed, Reading, AppliedRecord):
                    for row in model.objects.filter(bandaging=one):
                        copied(act, row, bandaging=put_on, at=row.at - back)
            for model in (BandageEvent, Note):
                row = model.objects.order_by("pk").first()
                copied(act, row, at=row.at - back)


@pytest.fixture
def asked(bandaged):
    """How often each read asks, of the record as it stands now."""

    def ask(policy: Policy) -> dict[str, int]:
        counts = {}
        for name, read in READS.items():
            visit = Visit.objects.select_related("episode__person", "opened_by").get(
                pk=bandaged.visit.pk
            )
            read(visit.episode, visit, policy)  # what a process keeps is kept now
            with CaptureQueriesContext(connection) as queries:
                read(visit.episode, visit, policy)
            counts[name] = len(queries)
        return counts

    return ask


def test_no_read_asks_more_often_for_more_bandages_visits_or_plans(bandaged, asked, policy) -> None:
    grow(bandaged, 1)
    few = asked(policy)
    grow(bandaged, 5)
    assert Bandaging.objects.count() == 13  # one more at each earlier visit and at the last
    assert Entry.objects.filter(visit__episode=bandaged.episode).count() > 100
    assert asked(policy) == few
