"""Plans: proposed by anyone clinical, approved by a prescriber or under a standing order."""

import hashlib
from collections.abc import Sequence
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from gaiter.core.case import Case
from gaiter.core.errors import InputError
from gaiter.core.plan import LegPlan, Plan, Status, SystemPlan
from gaiter.core.plan.supplies import rolls_to_take
from gaiter.core.safety import Outcome
from gaiter.files.plan_file import plan_json
from gaiter.records.actions.clinical import require_clinical
from gaiter.records.actions.closed import require_open, require_unsigned
from gaiter.records.actions.shelf import bandage_on, take_rolls
from gaiter.records.content import name_of
from gaiter.records.ledger import Action, Actor, NotAllowedError, action
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
from gaiter.records.read.alarm import take_off_now
from gaiter.records.read.documents import plan_of
from gaiter.records.read.holding import PlanVerdict, holding
from gaiter.records.read.in_force import latest_off_by
from gaiter.records.visit.case import local_policy
from gaiter.records.words import in_language, kept_words

_MOST_ROLLS = 10_000


def propose_plan(
    actor: Actor, visit: Visit, plan: Plan, case: Case, once: str | None = None
) -> PlanRecord:
    """A plan that waits for approval; an older proposal of this leg is superseded."""
    require_clinical(actor)
    leg = _leg(plan, visit)
    if leg.status is not Status.PLANNED:
        raise InputError(
            _("There is nothing to approve: {status_reason}.").format(
                status_reason=in_language(leg.status_reason)
            )
        )
    text = plan_json(plan)
    with action(actor, "propose plan", visit, once=once) as act:
        require_open(visit.episode)
        older = PlanRecord.objects.filter(
            visit__episode_id=visit.episode_id, state=PlanRecord.State.PROPOSED
        )
        for old in older:
            act.change(old, state=PlanRecord.State.SUPERSEDED, ended_at=act.at)
        return act.create(
            PlanRecord,
            visit=visit, document=text, sha256=hashlib.sha256(text.encode()).hexdigest(),
            case=case.model_dump_json(by_alias=True, exclude_none=True),
            system=leg.systems[0].name, maximum_mmhg=leg.decision.maximum_mmhg,
            state=PlanRecord.State.PROPOSED, proposed_by=actor.account, proposed_at=act.at,
        )  # fmt: skip


def _leg(plan: Plan, visit: Visit) -> LegPlan:
    return next(leg for side, leg in plan.legs.items() if side.value == visit.episode.side)


class UnacceptedError(InputError):
    """Places above their maximum that nobody accepted by name."""

    def __init__(self, places: Sequence[str]) -> None:
        self.places = tuple(places)
        super().__init__(
            _("Tick each place that stays above its maximum, by name: {places}.").format(
                places=", ".join(_(place) for place in places)
            )
        )


def to_accept(system: SystemPlan) -> tuple[str, ...]:
    """Names of the places that stay above their maximum and that a prescriber has to accept."""
    return system.to_accept


def approve_plan(actor: Actor, record: PlanRecord, accepted: Sequence[str] = ()) -> PlanRecord:
    """Freezes a plan; the one before it is superseded.

    A prescriber approves; a bandager may under a standing order in force, and never to a higher
    maximum than the order's or than was approved before. ``accepted`` names the places above
    their maximum that the prescriber accepts.

    Raises
    ------
    NotAllowedError
        Saying who may.
    UnacceptedError
        If a place above its maximum was not accepted by name.
    InputError
        If it is not waiting for approval.
    """
    places = to_accept(_leg(plan_of(record), record.visit).systems[0])
    with action(actor, "approve plan", record.visit) as act:
        # Read inside: an order may have been ended, and the leg looked at, a moment ago.
        act.read(record)
        require_open(record.visit.episode)
        order = _order_for(actor, record) if actor.account.role != Role.PRESCRIBER else None
        if open_places := [place for place in places if place not in accepted]:
            raise UnacceptedError(open_places)
        if record.state != PlanRecord.State.PROPOSED:
            raise InputError(
                _("This plan is {state}: only one that waits can be approved.").format(
                    state=record.state
                )
            )
        if record.visit.episode.visits.filter(pk__gt=record.visit_id).exists():
            raise InputError(
                _("This plan was made at an earlier visit: plan anew from what is known today.")
            )
        if against := holding(_visit_now(record.visit), record).against_leg:
            raise InputError(against)
        older = PlanRecord.objects.filter(
            visit__episode_id=record.visit.episode_id, state=PlanRecord.State.APPROVED
        )
        for old in older:
            act.change(old, state=PlanRecord.State.SUPERSEDED, ended_at=act.at)
        return act.change(
            record, state=PlanRecord.State.APPROVED, approved_by=actor.account,
            approved_at=act.at, order=order, accepted=list(places),
        )  # fmt: skip


def withdraw_plan(actor: Actor, record: PlanRecord, words: str = "") -> PlanRecord:
    """Takes a proposal back, or ends an approved plan with a reason in words.

    Raises
    ------
    NotAllowedError
        Saying who may: a proposal's author or a prescriber; a prescriber for an approved plan.
    InputError
        If it ended already, or an approved plan is withdrawn without words.
    """
    prescriber = actor.account.role == Role.PRESCRIBER
    with action(actor, "withdraw plan", record.visit) as act:
        state = act.read(record).state
        if state == PlanRecord.State.PROPOSED:
            if not prescriber and record.proposed_by_id != actor.account.pk:
                raise NotAllowedError(
                    _("A proposal is withdrawn by its author or a prescriber only.")
                )
            least = 0
        elif state == PlanRecord.State.APPROVED:
            if not prescriber:
                raise NotAllowedError(_("Only a prescriber may withdraw an approved plan."))
            least = 10
        else:
            raise InputError(_("This plan ended already: there is nothing to withdraw."))
        return act.change(
            record, state=PlanRecord.State.WITHDRAWN, ended_at=act.at, ended_by=actor.account,
            ended_why=kept_words(_("Your words"), words, 2000, least),
        )  # fmt: skip


def void_plan(actor: Actor, record: PlanRecord, why: str) -> PlanRecord:
    """Ends an approved plan because of what a visit found; the program ends it, nobody else."""
    with action(actor, "void plan", record.visit) as act:
        if act.read(record).state != PlanRecord.State.APPROVED:
            raise InputError(_("This plan ended already: there is nothing to void."))
        return _void(act, record, why)


def _void(act: Action, record: PlanRecord, why: str) -> PlanRecord:
    return act.change(
        record, state=PlanRecord.State.VOIDED, ended_at=act.at, ended_by=None, ended_why=why
    )


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
    if to_accept(leg.systems[0]):
        raise NotAllowedError(
            _("A standing order never accepts a place above its maximum: ask a prescriber.")
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
            starts__lte=day,
            ends__gte=day,
            revoked_at=None,
            prescriber__is_active=True,
            prescriber__role=Role.PRESCRIBER,
        ).select_related("prescriber", "person")
    )


def leave_order(  # every part of an order is named and none has a default
    actor: Actor, *, person: Person | None, maximum_mmhg: float, words: str, starts: date,
    ends: date, once: str | None = None,
) -> StandingOrder:  # fmt: skip
    """A standing order with an end date."""
    if actor.account.role != Role.PRESCRIBER:
        raise NotAllowedError(_("Only a prescriber may leave a standing order."))
    policy = local_policy()
    least, most = policy["override_least_mmhg"], policy["order_largest_mmhg"]
    if not least <= maximum_mmhg <= most:
        raise InputError(
            _(
                "The maximum must be {least:g} to {most:g} mmHg; received {maximum_mmhg:g}: "
                "correct it."
            ).format(least=least, most=most, maximum_mmhg=maximum_mmhg)
        )
    longest = policy["order_longest_days"]
    if not actor.today <= starts <= ends or (ends - starts).days > longest:
        raise InputError(
            _(
                "An order starts today or later and ends within {longest:g} days; "
                "received {starts} to {ends}: correct the dates."
            ).format(longest=longest, starts=starts, ends=ends)
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
        if act.read(order).revoked_at is not None:
            raise InputError(_("This order has ended already."))
        return act.change(order, revoked_at=act.at)


def record_bandaging(  # what was put on, when it has to come off, and what was said about stock
    actor: Actor, visit: Visit, record: PlanRecord, off_by: date, once: str | None = None, *,
    as_planned: bool = False,
) -> Bandaging:  # fmt: skip
    """A bandage applied by the plan in force; stock is drawn down.

    A plan that what was found voids is voided here, and no bandage is recorded. ``as_planned``
    says that a material whose shelf was counted empty was there all the same.

    Raises
    ------
    InputError
        If the plan is not in force or does not hold, 'off by' is later than the plan's days, or
        the bandage of this visit is on already.
    """
    require_clinical(actor)
    with action(actor, "record bandaging", visit, once=once) as act:
        # Everything is read inside the transaction: somebody may have written a moment ago.
        now = _visit_now(visit)
        record = PlanRecord.objects.select_related("visit__episode").get(pk=record.pk)
        require_unsigned(now)
        _require_bandageable(actor, now, record)
        latest = latest_off_by(record, now)
        if not now.day < off_by <= latest:
            raise InputError(
                _(
                    "'Off by' must be after {day} and by {latest}, the plan's days; received "
                    "{off_by}: correct the date."
                ).format(day=now.day, latest=latest, off_by=off_by)
            )
        found = holding(now, record)
        if found.verdict is PlanVerdict.VOID:
            # The plan's end is kept, though no bandage is.
            act.verb, act.once = "void plan", None
            _void(act, record, found.words)
        else:
            if as_planned:
                found = found.without_stock()
            if not found.holds:
                raise InputError(found.words)
            bandaging = act.create(
                Bandaging, visit=visit, plan=record, by=actor.account, at=act.at, off_by=off_by
            )
            take_rolls(act, bandaging, rolls_to_take(_leg(plan_of(record), now).systems[0]))
            return bandaging
    raise InputError(found.words)


def _visit_now(visit: Visit) -> Visit:
    """The visit as it stands, whatever the caller read before."""
    return Visit.objects.select_related("episode__person").get(pk=visit.pk)


def _require_bandageable(actor: Actor, visit: Visit, record: PlanRecord) -> None:
    """Refuses a bandage that this visit cannot answer for, whatever the leg."""
    if record.visit.episode_id != visit.episode_id:
        raise InputError(_("This plan is of another leg: open the plan of this one."))
    if record.state != PlanRecord.State.APPROVED:
        raise InputError(_("Only an approved plan is bandaged: have it approved first."))
    if visit.day != actor.today:
        raise InputError(
            _(
                "This visit is of another day, {day}, and so is what was seen at it: sign it, open "
                "today's visit and look at the leg."
            ).format(day=visit.day)
        )
    if alarm := take_off_now(visit.episode):
        raise InputError(
            _("{headline}: no bandage before that is resolved.").format(headline=alarm.headline)
        )
    if bandage_on(visit) is not None:
        raise InputError(
            _(
                "The bandage of this visit is on already: undo it with a reason, or record that "
                "it was taken off."
            )
        )


def stock_change(
    actor: Actor, item: StockItem, change: int, why: str, once: str | None = None
) -> StockItem:
    """Rolls that came, went or were counted."""
    with action(actor, "change stock", item, once=once) as act:
        # Counted inside: somebody may have taken a roll a moment ago.
        if item.rolls + change < 0 or abs(change) > _MOST_ROLLS:
            raise InputError(
                _("That would leave {change} rolls; the shelf has {rolls}: correct it.").format(
                    change=item.rolls + change, rolls=item.rolls
                )
            )
        act.create(
            StockMove, item=item, change=change, why=kept_words(_("Why"), why, 120) or "counted",
            by=actor.account, at=act.at,
        )  # fmt: skip
        return act.change(item, rolls=item.rolls + change)


def set_stock_item(actor: Actor, item: StockItem | None, **fields: Any) -> StockItem:
    """A new material in stock, or other sizes and low line of one that is there.

    Raises
    ------
    StaleError
        If somebody else changed one of these since the item was read.
    """
    # By its name, so that it is not read anew and what its caller saw is compared.
    with action(actor, "set stock item", name_of(item) if item else "stock") as act:
        return act.change(item, **fields) if item else act.create(StockItem, **fields)
