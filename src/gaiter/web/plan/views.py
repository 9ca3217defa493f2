"""The plan page: ranked systems, pictures that answer every change, proposal and approval."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from gaiter.core.case import Case
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Adjustment, Bench, Fit, LegPlan, Status, SystemPlan
from gaiter.core.plan.changes import PlanChange
from gaiter.records.actions.plans import (
    UnacceptedError,
    approve_plan,
    orders_in_force,
    propose_plan,
    to_accept,
    withdraw_plan,
)
from gaiter.records.ledger import NotAllowedError, note_going_on, note_opening
from gaiter.records.models import Account, PlanRecord, Role, Visit
from gaiter.records.read.alarm import take_off_now
from gaiter.records.read.documents import case_then, leg_of, plan_of
from gaiter.records.read.habits import bandager_of
from gaiter.records.read.holding import holding
from gaiter.records.read.in_force import open_visit_of, plan_in_force, waiting_plan
from gaiter.records.typed import key_in
from gaiter.records.visit.boxes import boxes
from gaiter.records.visit.case import (
    BoxProblem,
    assembled,
    case_of,
    case_or_problems,
    local_catalogue,
    local_policy,
)
from gaiter.records.visit.decided import decision_at
from gaiter.records.words import in_language
from gaiter.web.accounts.step_up import right_password
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.frame.workload import computes, turn
from gaiter.web.plan.controls import adjustment_of, controls_of
from gaiter.web.plan.desk import (
    bench_for,
    change_of,
    computed_plan,
    pictures_of,
    recorded_pictures,
)
from gaiter.web.plan.pages import (
    Design,
    DesignPage,
    DesignPart,
    MissingPage,
    PlanPage,
    RefusedPart,
    Shown,
)
from gaiter.web.visit.safety import SIGN_OF, numbers_in_words
from gaiter.web.visit.views import visit_of

FIT_SIGN = {
    Fit.FITS: "good",
    Fit.TO_ACCEPT: "watch",
    Fit.NOT_IN_THESE_HANDS: "watch",
    Fit.CANNOT_BE_REACHED: "stop",
}


def designed(case: Case, asked: Mapping[str, str], force: PlanRecord | None = None) -> Design:
    """The plan of a case with what is asked for; else the system of the plan in force.

    Raises
    ------
    InputError
        If what is asked for cannot be bandaged.
    """
    bench, plan = bench_for(case), computed_plan(case)
    leg = leg_of(plan)
    sign, numbers = SIGN_OF[leg.decision.outcome], numbers_in_words(leg.decision.numbers)
    ranked = tuple((system, FIT_SIGN[system.outcome]) for system in leg.systems)
    if not leg.systems:
        return Design(plan, leg, sign, numbers, ranked, None, None, None)
    computed = _system(leg, asked.get("system") or _usual(leg, force))
    chosen = _shown(bench, leg, adjustment_of(asked, computed))
    beside = None
    if asked.get("beside"):
        other = adjustment_of({}, _system(leg, asked["beside"]))
        beside = _shown(bench, leg, other)
    start = leg.surface.start if leg.surface else Landmark.METATARSAL_HEADS
    return Design(
        plan=plan,
        leg=chosen.leg,
        sign=sign,
        numbers=numbers,
        ranked=ranked,
        chosen=chosen,
        beside=beside,
        controls=controls_of(chosen.system, computed, local_catalogue(), start),
    )


def _shown(bench: Bench, leg: LegPlan, asked: Adjustment) -> Shown:
    """A system with what was changed by hand, its warnings and its pictures."""
    with turn():
        adjusted = bench.adjusted(leg.side, asked)
        shown = adjusted.with_warnings()
        pictures = pictures_of(adjusted, bench.plan)
    system = shown.systems[0]
    return Shown(shown, system, FIT_SIGN[system.outcome], pictures)


def _usual(leg: LegPlan, force: PlanRecord | None) -> str:
    """Name of the system shown first: that of the plan in force, else the best."""
    names = [system.name for system in leg.systems]
    return force.system if force is not None and force.system in names else names[0]


def change_since(case: Case, force: PlanRecord | None) -> PlanChange | None:
    """The plan in force beside the same bandage on the leg of a case.

    None without a plan, and on a leg that may not be bandaged today: there is nothing to compare.
    """
    if force is None:
        return None
    bench, recorded = bench_for(case), leg_of(plan_of(force))
    if bench.plan.legs[recorded.side].status in (Status.STOPPED, Status.NOT_YET):
        return None
    return change_of(bench, recorded, local_policy()["drift_share"])


def _system(leg: LegPlan, name: str) -> SystemPlan:
    found = next((system for system in leg.systems if system.name == name), None)
    if found is None:
        raise InputError(_("This leg has no such system: choose one of the list."))
    return found


def _may_ask(request: ClinicRequest, asked: Mapping[str, Any]) -> dict[str, str]:
    """What an address may ask of the plan: prescribers anything, others only whose hands."""
    asked = {name: str(value) for name, value in asked.items()}
    if request.user.role == Role.PRESCRIBER:
        return asked
    return {"hands": asked["hands"]} if asked.get("hands") else {}


def _bandagers() -> QuerySet[Account]:
    """Whoever may be planned for."""
    return Account.objects.filter(is_active=True, role__in=sorted(CLINICAL)).order_by("name")


def _in_hands(case: Case, asked: Mapping[str, str]) -> Case:
    """The case with the bandager who was asked for, as known from their readings."""
    if not asked.get("hands"):
        return case
    account = _bandagers().filter(pk=key_in(asked["hands"])).first()
    if account is None:
        raise InputError(_("This bandager is not known here: choose one of the list."))
    return case.model_copy(update={"bandager": bandager_of(account, local_policy(), case.today)})


@allow(CLINICAL, "GET", of=Visit)
@computes
def design(request: ClinicRequest, pk: int) -> HttpResponse:
    """Computed and changed by hand; the address holds every choice, so *back* undoes."""
    visit = visit_of(pk)
    force = plan_in_force(visit.episode)
    part = request.headers.get("X-Part") == "design"
    note = note_going_on if part else note_opening
    note(request.actor, "open record", visit.episode.person)
    case = case_or_problems(assembled(visit))
    if not isinstance(case, Case):
        return show(request, _missing_page(visit, force, case))
    asked = _may_ask(request, request.GET.dict())
    case = _in_hands(case, asked)
    bandagers = [(str(account.pk), account.name) for account in _bandagers()]
    try:
        made = designed(case, asked, force)
    except InputError as error:
        if part:
            return show(request, RefusedPart(in_language(error.said)), 400)
        raise
    if part:
        return show(request, DesignPart(made, asked.get("hands", ""), bandagers))
    orders = orders_in_force(request.actor.today)
    page = DesignPage(
        made,
        asked.get("hands", ""),
        bandagers,
        visit=visit,
        episode=visit.episode,
        person=visit.episode.person,
        in_force=force,
        holding=holding(visit, force) if force else None,
        change=change_since(case, force),
        waiting=waiting_plan(visit.episode),
        covered=any(order.person_id in (None, visit.episode.person_id) for order in orders),
    )
    return show(request, page)


def _missing_page(
    visit: Visit, force: PlanRecord | None, problems: Sequence[BoxProblem]
) -> MissingPage:
    """What is missing before there can be a plan, and what is decided already."""
    decision = decision_at(visit)
    return MissingPage(
        visit=visit,
        episode=visit.episode,
        person=visit.episode.person,
        in_force=force,
        holding=holding(visit, force) if force else None,
        waiting=waiting_plan(visit.episode),
        missing=[(boxes().get(one.path), one.path, one.said) for one in problems],
        decision=decision,
        sign=SIGN_OF[decision.outcome] if decision else "",
        deciding=[r for r in decision.reasons if r.code in decision.limiting] if decision else (),
    )


@allow(CLINICAL, "POST", of=Visit)
@computes
def propose(request: ClinicRequest, pk: int) -> HttpResponse:
    """Puts the plan as shown up for approval."""
    visit: Visit = visit_of(pk)
    asked = _may_ask(request, QueryDict(request.POST.get("asked", "")[:2000]).dict())
    case = _in_hands(case_of(assembled(visit)), asked)
    design_ = designed(case, asked, plan_in_force(visit.episode))
    side = Side(visit.episode.side)
    plan = design_.plan.model_copy(update={"legs": {side: design_.leg}})
    made = propose_plan(request.actor, visit, plan, case, request.POST.get("once"))
    return redirect("plan", made.pk)


def record_of(pk: int) -> PlanRecord:
    """A recorded plan with everything its pages name, or 404."""
    return get_object_or_404(
        PlanRecord.objects.select_related(
            "visit__episode__person",
            "approved_by",
            "proposed_by",
            "ended_by",
            "order__prescriber",
        ),
        pk=pk,
    )


@allow(CLINICAL, "GET", of=PlanRecord)
def plan(request: ClinicRequest, pk: int) -> HttpResponse:
    """One recorded plan, as it stands; a bandager sees the short form."""
    return _plan_page(request, record_of(pk))


def _plan_page(request: ClinicRequest, record: PlanRecord, problem: str = "") -> HttpResponse:
    document = plan_of(record)
    leg = leg_of(document)
    note_opening(request.actor, "open record", record.visit.episode.person)
    system = leg.systems[0]
    page = PlanPage(
        record=record,
        visit=record.visit,
        episode=record.visit.episode,
        person=record.visit.episode.person,
        plan=document,
        leg=leg,
        sign=SIGN_OF[leg.decision.outcome],
        numbers=numbers_in_words(leg.decision.numbers),
        shown=Shown(leg, system, FIT_SIGN[system.outcome], recorded_pictures(record)),
        problem=problem,
        case_changed=_case_changed(record),
        ended=ended_in_words(record),
        why_not=why_not(record),
        to_accept=to_accept(system),
        may_withdraw=_may_withdraw(request, record),
    )
    return show(request, page, 400 if problem else 200)


def ended_in_words(record: PlanRecord) -> str:
    """Why a plan that was approved is in force no more; empty for any other."""
    words = {
        PlanRecord.State.SUPERSEDED: _(
            "Do not bandage from this plan: a newer one took its place."
        ),
        PlanRecord.State.WITHDRAWN: _("Do not bandage from this plan: it was withdrawn."),
        PlanRecord.State.VOIDED: _("Do not bandage from this plan: what was found ended it."),
    }.get(PlanRecord.State(record.state), "")
    return f"{words} {record.ended_why or ''}".strip()


def why_not(record: PlanRecord) -> str:
    """Why a plan in force may not be bandaged at the visit that is open; empty where it may."""
    visit = open_visit_of(record.visit.episode)
    if visit is None or record.state != PlanRecord.State.APPROVED:
        return ""
    return holding(visit, record).words


def no_sheet_today(record: PlanRecord) -> str:
    """Why the leg of a plan in force must not be bandaged now: an alarm, or what a visit found."""
    episode = record.visit.episode
    if alarm := take_off_now(episode):
        return _("{headline}: no sheet before that is resolved.").format(headline=alarm.headline)
    visit = open_visit_of(episode)
    return holding(visit, record).against_leg if visit is not None else ""


def _may_withdraw(request: ClinicRequest, record: PlanRecord) -> bool:
    if record.state == PlanRecord.State.PROPOSED:
        own = record.proposed_by_id == request.user.pk
        return own or request.user.role == Role.PRESCRIBER
    return record.state == PlanRecord.State.APPROVED and request.user.role == Role.PRESCRIBER


def _case_changed(record: PlanRecord) -> bool:
    """Whether the visit says something else now than when this plan was proposed."""
    if record.state != PlanRecord.State.PROPOSED or record.visit.signed_at is not None:
        return False
    now = case_or_problems(assembled(record.visit))
    if not isinstance(now, Case):
        return True
    then = case_then(record)
    if then is None:
        return True
    # The shelf and the sensor's readings change by the hour; what decides is the patient, and the
    # training said at the visit unless the plan is for somebody named.
    same: dict[str, Any] = {"stock": None, "calibration": None}
    if then.bandager.initials:
        same["bandager"] = then.bandager
    return now.model_copy(update=same) != then.model_copy(update=same)


@allow(CLINICAL, "POST", of=PlanRecord)
def approve(request: ClinicRequest, pk: int) -> HttpResponse:
    """Freezes the plan, after the password."""
    record = record_of(pk)
    if not right_password(request, request.POST.get("password", "")):
        return _plan_page(request, record, _("That is not your password: nothing is approved."))
    if _case_changed(record):
        return _plan_page(
            request,
            record,
            _("The visit says something else now than this plan was made from: plan anew."),
        )
    if leg_of(plan_of(record)).status is not Status.PLANNED:
        raise InputError(_("This leg has no plan that may be approved."))
    try:
        approve_plan(request.actor, record, accepted=request.POST.getlist("accept"))
    except UnacceptedError as error:
        return _plan_page(request, record, in_language(error.said))
    messages.success(request, _("Approved. The sheet is ready."))
    return redirect(reverse("plan", args=[pk]))


@allow(CLINICAL, "POST", of=PlanRecord)
def withdraw(request: ClinicRequest, pk: int) -> HttpResponse:
    """Takes a proposal back, or ends an approved plan with words."""
    record = record_of(pk)
    try:
        withdraw_plan(request.actor, record, request.POST.get("words", ""))
    except NotAllowedError:
        raise
    except InputError as error:
        return _plan_page(request, record, in_language(error.said))
    messages.success(request, _("Withdrawn. It stays on record."))
    return redirect("leg", record.visit.episode_id)


@allow(CLINICAL, "GET", of=PlanRecord)
def plan_file(request: ClinicRequest, pk: int) -> HttpResponse:
    """The ``gaiter.plan/1`` document, byte for byte."""
    record = record_of(pk)
    note_opening(request.actor, "export plan", record)
    response = HttpResponse(record.document, content_type="application/json")
    name = f"{record.visit.episode.reference}-plan.json"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
