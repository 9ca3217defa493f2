"""Plans: proposed by anyone clinical, approved by a prescriber or under a standing order."""

import hashlib
from collections.abc import Sequence
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from gaiter.core.case import Case
from gaiter.core.errors import InputError
from gaiter.core.plan import LegPlan, Plan, Status
from gaiter.core.safety import Outcome
from gaiter.exchange.plan_file import plan_json
from gaiter.records.action import Actor, NotAllowedError, action
from gaiter.records.alarm import take_off_now
from gaiter.records.documents import plan_of
from gaiter.records.holding import why_not_today
from gaiter.records.models import (
    Bandaging,
    Person,
    PlanRecord,
    Role,
    StandingOrder,
    StockItem,
    StockMove,
    Visit,
)
from gaiter.records.words import kept_words


def propose_plan(
    actor: Actor, visit: Visit, plan: Plan, case: Case, once: str | None = None
) -> PlanRecord:
    """A plan that waits for approval; an older proposal of the visit is superseded."""
    leg = _leg(plan, visit)
    if leg.status is not Status.PLANNED:
        raise InputError(
            _("There is nothing to approve: {status_reason}.").format(
                status_reason=leg.status_reason
            )
        )
    text = plan_json(plan)
    with action(actor, "propose plan", visit, once=once) as act:
        for old in visit.plans.filter(state=PlanRecord.State.PROPOSED):
            act.change(old, state=PlanRecord.State.SUPERSEDED)
        return act.create(
            PlanRecord,
            visit=visit, document=text, sha256=hashlib.sha256(text.encode()).hexdigest(),
            case=case.model_dump_json(by_alias=True, exclude_none=True),
            system=leg.systems[0].name, maximum_mmhg=leg.decision.maximum_mmhg,
            state=PlanRecord.State.PROPOSED, proposed_by=actor.account, proposed_at=act.at,
        )  # fmt: skip


def _leg(plan: Plan, visit: Visit) -> LegPlan:
    return next(leg for side, leg in plan.legs.items() if side.value == visit.episode.side)


def approve_plan(actor: Actor, record: PlanRecord) -> PlanRecord:
    """Freezes a plan; the one before it is superseded.

    A prescriber approves; a bandager may under a standing order in force, and never to a higher
    maximum than the order's or than was approved before.

    Raises
    ------
    NotAllowedError
        Saying who may.
    InputError
        If it is not waiting for approval.
    """
    order = None
    if actor.account.role != Role.PRESCRIBER:
        order = _order_for(actor, record)
    with action(actor, "approve plan", record.visit) as act:
        state = PlanRecord.objects.values_list("state", flat=True).get(pk=record.pk)
        if state != PlanRecord.State.PROPOSED:
            raise InputError(
                _("This plan is {state}: only one that waits can be approved.").format(state=state)
            )
        older = PlanRecord.objects.filter(
            visit__episode_id=record.visit.episode_id, state=PlanRecord.State.APPROVED
        )
        for old in older:
            act.change(old, state=PlanRecord.State.SUPERSEDED)
        return act.change(
            record, state=PlanRecord.State.APPROVED, approved_by=actor.account,
            approved_at=act.at, order=order,
        )  # fmt: skip


def _order_for(actor: Actor, record: PlanRecord) -> StandingOrder:
    """The standing order that covers a plan.

    Raises
    ------
    NotAllowedError
        If there is none, or the plan goes beyond it.
    """
    if actor.account.role != Role.BANDAGER:
        raise NotAllowedError(_("Only a prescriber may approve a plan."))
    orders = [
        order
        for order in orders_in_force(actor.today)
        if order.person_id in (None, record.visit.episode.person_id)
    ]
    if not orders:
        raise NotAllowedError(
            _("Only a prescriber may approve a plan; no standing order covers this person today.")
        )
    plan = plan_of(record)
    leg = _leg(plan, record.visit)
    if leg.decision.outcome not in (Outcome.FULL, Outcome.REDUCED):
        raise NotAllowedError(
            _(
                "A standing order covers no leg that needs something measured first: "
                "ask a prescriber."
            )
        )
    if leg.systems[0].by_hand:
        raise NotAllowedError(
            _(
                "A standing order covers the computed plan only, not one changed by "
                "hand: ask a prescriber."
            )
        )
    before = (
        PlanRecord.objects.filter(
            visit__episode_id=record.visit.episode_id, approved_at__isnull=False
        )
        .order_by("-approved_at")
        .values_list("maximum_mmhg", flat=True)
        .first()
    )
    if before is not None and record.maximum_mmhg > before:
        raise NotAllowedError(
            _(
                "This plan's maximum, {maximum_mmhg:g} mmHg, is higher than the "
                "{before:g} mmHg approved before: only a prescriber may raise it."
            ).format(maximum_mmhg=record.maximum_mmhg, before=before)
        )
    covering = [order for order in orders if record.maximum_mmhg <= order.maximum_mmhg]
    if not covering:
        most = max(order.maximum_mmhg for order in orders)
        raise NotAllowedError(
            _(
                "The standing order goes up to {most:g} mmHg; this plan's maximum is "
                "{maximum_mmhg:g} mmHg: ask a prescriber."
            ).format(most=most, maximum_mmhg=record.maximum_mmhg)
        )
    return covering[0]


def orders_in_force(day: date) -> Sequence[StandingOrder]:
    """Standing orders that hold on a day."""
    return list(
        StandingOrder.objects.filter(
            starts__lte=day, ends__gte=day, revoked_at=None, prescriber__is_active=True
        ).select_related("prescriber", "person")
    )


def leave_order(  # every part of an order is named and none has a default
    actor: Actor, *, person: Person | None, maximum_mmhg: float, words: str, starts: date,
    ends: date, once: str | None = None,
) -> StandingOrder:  # fmt: skip
    """A standing order with an end date."""
    if actor.account.role != Role.PRESCRIBER:
        raise NotAllowedError(_("Only a prescriber may leave a standing order."))
    if not 5 <= maximum_mmhg <= 60:
        raise InputError(
            _("The maximum must be 5 to 60 mmHg; received {maximum_mmhg:g}: correct it.").format(
                maximum_mmhg=maximum_mmhg
            )
        )
    if not actor.today <= starts <= ends or (ends - starts).days > 92:
        raise InputError(
            _(
                "An order starts today or later and ends within three months; "
                "received {starts} to {ends}: correct the dates."
            ).format(starts=starts, ends=ends)
        )
    if not 10 <= len(words.strip()) <= 2000:
        raise InputError(_("Say in 10 to 2000 characters what the order covers."))
    with action(actor, "leave standing order", person or "clinic", once=once) as act:
        return act.create(
            StandingOrder,
            prescriber=actor.account, person=person, maximum_mmhg=maximum_mmhg,
            words=words.strip(), starts=starts, ends=ends,
        )  # fmt: skip


def revoke_order(actor: Actor, order: StandingOrder) -> StandingOrder:
    """Ends an order before its day."""
    if actor.account.role != Role.PRESCRIBER:
        raise NotAllowedError(_("Only a prescriber may end a standing order."))
    with action(actor, "end standing order", order.person or "clinic") as act:
        return act.change(order, revoked_at=act.at)


def record_bandaging(
    actor: Actor, visit: Visit, record: PlanRecord, off_by: date, once: str | None = None
) -> Bandaging:
    """A bandage applied by the approved plan; stock is drawn down."""
    if record.state != PlanRecord.State.APPROVED:
        raise InputError(_("Only an approved plan is bandaged: have it approved first."))
    if not visit.day < off_by <= date(visit.day.year + 1, 12, 31):
        raise InputError(
            _("'Off by' must be a day after {day}; received {off_by}: correct the date.").format(
                day=visit.day, off_by=off_by
            )
        )
    if alarm := take_off_now(visit.episode):
        raise InputError(
            _("{headline}: no bandage before that is resolved.").format(headline=alarm.headline)
        )
    if reason := why_not_today(visit, record):
        raise InputError(reason)
    leg = _leg(plan_of(record), visit)
    with action(actor, "record bandaging", visit, once=once) as act:
        bandaging = act.create(
            Bandaging, visit=visit, plan=record, by=actor.account, at=act.at, off_by=off_by
        )
        items = {
            (item.material, item.width_cm): item for item in StockItem.objects.select_for_update()
        }
        for layer in leg.systems[0].layers:
            item = items.get((layer.material, layer.width_cm))
            if item is None:
                continue
            taken = min(layer.rolls, item.rolls)
            short = layer.rolls - taken
            why = f"bandaging of {visit.episode.reference}" + (
                f", {short} more than were counted: count the shelf" if short else ""
            )
            act.create(
                StockMove, item=item, change=-taken, why=why, bandaging=bandaging,
                by=actor.account, at=act.at,
            )  # fmt: skip
            act.change(item, rolls=item.rolls - taken)
        return bandaging


def stock_change(
    actor: Actor, item: StockItem, change: int, why: str, once: str | None = None
) -> StockItem:
    """Rolls that came, went or were counted."""
    if item.rolls + change < 0 or abs(change) > 10_000:
        raise InputError(
            _("That would leave {change} rolls; the shelf has {rolls}: correct it.").format(
                change=item.rolls + change, rolls=item.rolls
            )
        )
    with action(actor, "change stock", f"stockitem:{item.pk}", once=once) as act:
        act.create(
            StockMove, item=item, change=change, why=kept_words(_("Why"), why, 120) or "counted",
            by=actor.account, at=act.at,
        )  # fmt: skip
        return act.change(item, rolls=item.rolls + change)


def set_stock_item(actor: Actor, item: StockItem | None, **fields: Any) -> StockItem:
    """A new material in stock, or other sizes and low line of one that is there."""
    with action(actor, "set stock item", f"stockitem:{item.pk}" if item else "stock") as act:
        return act.change(item, **fields) if item else act.create(StockItem, **fields)
