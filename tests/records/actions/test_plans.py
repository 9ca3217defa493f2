"""Plans: who may approve, what a standing order covers, and that nothing approved changes."""

from datetime import timedelta

import pytest
from django.db import DatabaseError, connection, transaction

from gaiter.core.errors import InputError
from gaiter.core.plan import Plan, Status
from gaiter.records.actions.checks import GOOD_ANSWERS, record_check
from gaiter.records.actions.plans import (
    approve_plan,
    leave_order,
    record_bandaging,
    revoke_order,
    set_stock_item,
    stock_change,
)
from gaiter.records.actions.stops import override_stops
from gaiter.records.actions.visits import Typed, open_visit, save_entries, sign_visit
from gaiter.records.append_only import lifted
from gaiter.records.ledger import Actor, NotAllowedError
from gaiter.records.models import PlanRecord, Role, StockItem, StockMove
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.read.holding import why_not_today
from gaiter.records.read.in_force import latest_off_by
from gaiter.records.visit.case import assembled, case_of
from gaiter.web.plan.desk import computed_plan
from tests.clinic import whole_visit


def order(clinic, **changes):
    today = clinic.actor().today
    given = {
        "person": None, "maximum_mmhg": 60, "words": "While I am away this week.",
        "starts": today, "ends": today + timedelta(days=7), **changes,
    }  # fmt: skip
    return leave_order(clinic.actor(Role.PRESCRIBER), **given)


def put_on(clinic, plan, days=2):
    off_by = clinic.visit.day + timedelta(days=days)
    return record_bandaging(clinic.actor(), clinic.visit, plan, off_by)


def test_a_prescriber_approves_and_the_older_plan_is_superseded(clinic) -> None:
    first, second = clinic.approved(), clinic.approved()
    first.refresh_from_db()
    assert (first.state, second.state) == ("superseded", "approved")
    assert second.approved_by.role == Role.PRESCRIBER


@pytest.mark.parametrize("role", [Role.BANDAGER, Role.LEARNER, Role.MANAGER])
def test_nobody_else_approves(clinic, role) -> None:
    with pytest.raises(NotAllowedError, match="Only a prescriber"):
        approve_plan(clinic.actor(role), clinic.proposed())


def test_a_standing_order_lets_a_bandager_approve_the_computed_plan(clinic) -> None:
    given = order(clinic)
    made = approve_plan(clinic.actor(), clinic.proposed())
    assert (made.state, made.order) == ("approved", given)


@pytest.mark.parametrize(
    ("changes", "words"),
    [({"maximum_mmhg": 40}, "goes up to 40 mmHg; this plan's maximum is 60")],
)
def test_an_order_covers_no_more_than_it_says(clinic, changes, words) -> None:
    order(clinic, **changes)
    with pytest.raises(NotAllowedError, match=words):
        approve_plan(clinic.actor(), clinic.proposed())


def test_an_order_that_was_ended_covers_nothing(clinic) -> None:
    revoke_order(clinic.actor(Role.PRESCRIBER), order(clinic))
    with pytest.raises(NotAllowedError, match="no standing order covers"):
        approve_plan(clinic.actor(), clinic.proposed())


def test_a_bandager_never_raises_what_was_approved(clinic) -> None:
    order(clinic)
    plan = clinic.approved()
    # As if the last prescriber had approved less.
    with lifted():
        PlanRecord.objects.filter(pk=plan.pk).update(maximum_mmhg=30)
    with pytest.raises(NotAllowedError, match="only a prescriber may raise it"):
        approve_plan(clinic.actor(), clinic.proposed())


def test_an_order_ends_within_three_months(clinic) -> None:
    with pytest.raises(InputError, match="within 92 days"):
        order(clinic, ends=clinic.actor().today + timedelta(days=200))


def test_an_approved_plan_is_never_edited(clinic) -> None:
    plan = clinic.approved()
    plan.document = "{}"
    with pytest.raises(RuntimeError, match="never edited"):
        plan.save()
    with pytest.raises(DatabaseError), transaction.atomic():
        connection.cursor().execute("UPDATE records_planrecord SET document = '{}'")


def test_a_stopped_leg_has_nothing_to_propose(clinic) -> None:
    clinic.fill({"leg.findings.gangrene": True})
    with pytest.raises(InputError, match="nothing to approve: Stop and refer"):
        clinic.proposed()


def test_an_override_is_the_prescribers_and_shows_in_the_plan(clinic) -> None:
    clinic.fill({"person.breathless_lying": True})
    given = {
        "code": "breathless_lying", "aim_low_mmhg": 10.0, "aim_high_mmhg": 20.0,
        "maximum_mmhg": 25.0, "reason": "specialist agreed",
        "words": "Heart team saw her today.",
    }  # fmt: skip
    with pytest.raises(NotAllowedError, match="Only a prescriber"):
        override_stops(clinic.actor(), clinic.visit, **given)
    override_stops(clinic.actor(Role.PRESCRIBER), clinic.visit, **given)
    plan = computed_plan(case_of(assembled(clinic.visit)))
    leg = next(iter(plan.legs.values()))
    assert leg.status in (Status.PLANNED, Status.CANNOT_BE_REACHED)
    assert leg.decision.maximum_mmhg == 25
    assert any("Heart team saw her today" in reason.text for reason in leg.decision.reasons)


def test_an_override_without_words_is_refused(clinic) -> None:
    with pytest.raises(InputError, match="10 to 2000 characters; received 2"):
        override_stops(
            clinic.actor(Role.PRESCRIBER), clinic.visit, code="x", aim_low_mmhg=10,
            aim_high_mmhg=15, maximum_mmhg=20, reason="specialist agreed", words="ok",
        )  # fmt: skip


def test_bandaging_needs_approval_and_draws_stock_down(clinic) -> None:
    day = clinic.visit.day + timedelta(days=2)
    with pytest.raises(InputError, match="Only an approved plan"):
        record_bandaging(clinic.actor(), clinic.visit, clinic.proposed(), day)
    plan = clinic.approved()
    layers = next(iter(Plan.model_validate_json(plan.document).legs.values())).systems[0].layers
    item = set_stock_item(
        clinic.actor(), None, material=layers[0].material, width_cm=layers[0].width_cm, rolls=10,
        low_at=2,
    )  # fmt: skip
    record_bandaging(clinic.actor(), clinic.visit, plan, day)
    item.refresh_from_db()
    on_the_sheet = leg_of(plan_of(plan)).systems[0].supplies[0].now
    assert f"{10 - item.rolls} roll" in on_the_sheet


@pytest.mark.parametrize(
    ("found", "words"),
    [
        ({"leg.findings.gangrene": True}, "Stop and refer"),
        ({"leg.findings.rest_pain": None}, "Not yet: ask or measure this first"),
        ({"person.can_report_pain": False}, "Today's maximum is 40 mmHg, this plan's 60 mmHg"),
        ({"leg.girth_cm.calf": None}, "not complete"),
    ],
)
def test_what_a_visit_finds_voids_the_plan(clinic, found, words) -> None:
    plan = clinic.approved()
    clinic.fill(found)
    assert words in why_not_today(clinic.visit, plan)
    with pytest.raises(InputError, match=words):
        record_bandaging(clinic.actor(), clinic.visit, plan, clinic.visit.day + timedelta(days=2))


def test_stock_that_was_counted_wrong_does_not_stop_a_bandage(clinic) -> None:
    plan = clinic.approved()
    layer = next(iter(Plan.model_validate_json(plan.document).legs.values())).systems[0].layers[0]
    item = set_stock_item(
        clinic.actor(), None, material=layer.material, width_cm=layer.width_cm, rolls=0, low_at=2
    )
    day = clinic.visit.day + timedelta(days=2)
    with pytest.raises(InputError, match="has run out: do not take another in its place"):
        record_bandaging(clinic.actor(), clinic.visit, plan, day)
    record_bandaging(clinic.actor(), clinic.visit, plan, day, as_planned=True)
    assert StockItem.objects.get(pk=item.pk).rolls == 0
    assert "more than were counted" in StockMove.objects.get().why


def test_a_shelf_never_holds_less_than_nothing(clinic) -> None:
    item = set_stock_item(
        clinic.actor(), None, material="zinc_paste", width_cm=8, rolls=2, low_at=1
    )
    with pytest.raises(InputError, match="would leave -1 rolls"):
        stock_change(clinic.actor(), item, -3, "")


def test_the_first_bandage_comes_off_by_the_days_of_the_plan(clinic) -> None:
    plan = clinic.approved()
    first = leg_of(plan_of(plan)).systems[0].change_days
    assert latest_off_by(plan, clinic.visit) == clinic.visit.day + timedelta(days=first)
    for days in (0, first + 1, 395):
        with pytest.raises(InputError, match="'Off by' must be after"):
            put_on(clinic, plan, days)
    assert put_on(clinic, plan, first).off_by == latest_off_by(plan, clinic.visit)


def test_a_later_bandage_stays_on_for_the_regular_days(clinic) -> None:
    plan = clinic.approved()
    record_check(clinic.actor(), put_on(clinic, plan), "after", GOOD_ANSWERS)
    sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=2))
    actor = Actor(clinic.accounts[Role.BANDAGER], "", clinic.actor().now + timedelta(days=2))
    visit = open_visit(actor, clinic.episode)
    values = {p: v for p, v in whole_visit().items() if not p.startswith(("arms.", "leg.arter"))}
    save_entries(actor, visit, [Typed(path, value, 0) for path, value in values.items()])
    regular = leg_of(plan_of(plan)).systems[0].regular_days
    assert latest_off_by(plan, visit) == visit.day + timedelta(days=regular)
    too_late = visit.day + timedelta(days=regular + 1)
    with pytest.raises(InputError, match="'Off by' must be after"):
        record_bandaging(actor, visit, plan, too_late)
    record_bandaging(actor, visit, plan, visit.day + timedelta(days=regular))


def test_the_bandage_is_on_only_once(clinic) -> None:
    plan = clinic.approved()
    put_on(clinic, plan)
    with pytest.raises(InputError, match="is on already"):
        put_on(clinic, plan)
