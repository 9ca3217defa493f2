"""The check: what was put on, readings, the boxes of the sheet, and what is done when bad."""

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from gaiter.core.check import CHECK_BOXES, HEADLINES, CheckBox, Verdict
from gaiter.core.check.words import MAY_STAY
from gaiter.core.errors import InputError
from gaiter.core.plan.document import Layer
from gaiter.records.actions.checks import baseline_of, record_check, record_deed
from gaiter.records.actions.plans import record_bandaging
from gaiter.records.actions.readings import record_readings
from gaiter.records.actions.shelf import bandage_on, undo_bandaging
from gaiter.records.ledger import NotAllowedError, note_opening
from gaiter.records.models import Bandaging, Check, PlanRecord, Visit
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.read.holding import Holding, holding
from gaiter.records.read.in_force import latest_off_by, plan_in_force
from gaiter.records.typed import key_in
from gaiter.records.visit.case import assembled
from gaiter.records.visit.decided import decision_at
from gaiter.records.words import in_language
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.visit.pages import BandagingShown, CheckPage
from gaiter.web.visit.pictures import measured, outline
from gaiter.web.visit.readings import (
    applied_view,
    layer_boxes,
    sensor_boxes,
    shown_before,
    typed_readings,
)
from gaiter.web.visit.safety import SIGN_OF
from gaiter.web.visit.views import visit_of


@allow(CLINICAL, "GET", of=Visit)
def check(request: ClinicRequest, pk: int) -> HttpResponse:
    """The page after bandaging."""
    return _page(request, pk)


def _page(
    request: ClinicRequest, pk: int, problem: str = "", bandaging: Bandaging | None = None
) -> HttpResponse:
    visit = visit_of(pk)
    note_opening(request.actor, "open record", visit.episode.person)
    approved = plan_in_force(visit.episode)
    done = list(
        visit.bandagings.filter(undone_at=None).select_related("by", "plan").prefetch_related(
            "checks__by"
        ).order_by("-at")
    )  # fmt: skip
    known = {path: value.value for path, value in assembled(visit).known.items()}
    layers: tuple[Layer, ...] = ()
    open_still = approved is not None and visit.signed_at is None
    found = holding(visit, approved) if approved is not None and open_still else Holding()
    if approved is not None:
        leg = leg_of(plan_of(approved))
        layers = leg.systems[0].layers
    decision = decision_at(visit) if approved is None else None
    page = CheckPage(
        visit=visit,
        episode=visit.episode,
        person=visit.episode.person,
        plan=approved,
        decision=decision,
        sign=SIGN_OF[decision.outcome] if decision else "",
        why_not=found.words,
        only_stock=found.only_stock,
        on=bandage_on(visit) is not None,
        layers=layers,
        wound=known.get("leg.wound.place", ""),
        drawing=outline(visit.episode.side, measured(known)),
        off_by=latest_off_by(approved, visit) if approved else None,
        done=[_shown(request, one, bandaging) for one in done],
        problem=problem,
        typed=request.POST,
        moments=Check.Moment.choices,
    )
    return show(request, page, 400 if problem else 200)


@allow(CLINICAL, "POST", of=Visit)
def bandaged(request: ClinicRequest, pk: int) -> HttpResponse:
    """The bandage is on; stock is drawn down."""
    visit = visit_of(pk)
    plan = get_object_or_404(
        PlanRecord,
        pk=key_in(request.POST.get("plan", "")),
        visit__episode_id=visit.episode_id,
    )
    try:
        off_by = date.fromisoformat(request.POST.get("off_by", ""))
    except ValueError:
        return _page(request, pk, _("Give 'off by' as a date such as 2026-11-25."))
    try:
        record_bandaging(
            request.actor, visit, plan, off_by, request.POST.get("once"),
            as_planned=request.POST.get("as_planned") == "yes",
        )  # fmt: skip
    except InputError as error:
        return _page(request, pk, in_language(error.said))
    messages.success(request, _("Recorded. Write date, initials and 'off by' on the tape."))
    return redirect("check", pk)


@allow(CLINICAL, "POST", of=Bandaging)
def undo(request: ClinicRequest, pk: int) -> HttpResponse:
    """'The bandage is on' was pressed by mistake; its rolls go back to the shelf."""
    one = get_object_or_404(Bandaging.objects.select_related("visit__episode"), pk=pk)
    try:
        undo_bandaging(request.actor, one, request.POST.get("why", ""), request.POST.get("once"))
    except InputError as error:
        return _page(request, one.visit_id, in_language(error.said), one)
    messages.success(request, _("Undone. Its rolls are back on the shelf."))
    return redirect("check", one.visit_id)


@allow(CLINICAL, "POST", of=Bandaging)
def answer(request: ClinicRequest, pk: int) -> HttpResponse:
    """The boxes; what is bad raises the leg's alarm at once."""
    one = get_object_or_404(Bandaging.objects.select_related("visit__episode"), pk=pk)
    try:
        made = record_check(
            request.actor,
            one,
            request.POST.get("moment", ""),
            {key: request.POST.get(key, "") for key in [*CHECK_BOXES, "pain"]},
            words=request.POST.get("words", ""),
            once=request.POST.get("once"),
        )
    except InputError as error:
        return _page(request, one.visit_id, in_language(error.said), one)
    if made.verdict == Verdict.GOOD:
        messages.success(request, _("Recorded: every box is good."))
    return redirect("check", one.visit_id)


@allow(CLINICAL, "POST", of=Bandaging)
def deed(request: ClinicRequest, pk: int) -> HttpResponse:
    """What was done about a bandage that was not good, and the look afterwards."""
    one = get_object_or_404(Bandaging.objects.select_related("visit__episode"), pk=pk)
    try:
        record_deed(
            request.actor,
            one,
            request.POST.get("kind", ""),
            request.POST.get("words", ""),
            request.POST.get("once"),
        )
    except NotAllowedError:
        raise
    except InputError as error:
        return _page(request, one.visit_id, in_language(error.said))
    messages.success(request, _("Recorded."))
    return redirect("check", one.visit_id)


@allow(CLINICAL, "POST", of=Bandaging)
def readings(request: ClinicRequest, pk: int) -> HttpResponse:
    """Mark spacings, overlaps and a sensor's values, and what they tell."""
    one = get_object_or_404(Bandaging.objects.select_related("plan", "visit__episode"), pk=pk)
    unit = request.user.unit
    try:
        typed = typed_readings(request.POST.dict(), shown_before(one, unit), unit)
        made = record_readings(
            request.actor,
            one,
            typed,
            request.POST.get("once"),
            confirmed=request.POST.get("confirmed") == "yes",
        )
    except InputError as error:
        return _page(request, one.visit_id, in_language(error.said), one)
    if made is None:
        messages.success(request, _("Kept. Add a mark spacing or a sensor's value to see more."))
    else:
        messages.success(request, _("Kept. The advice stands beside the readings."))
    return redirect("check", one.visit_id)


def _shown(request: ClinicRequest, one: Bandaging, at_fault: Bandaging | None) -> BandagingShown:
    """A bandaging with its boxes and what its readings told."""
    leg = leg_of(plan_of(one.plan))
    unit = request.user.unit
    given = shown_before(one, unit)
    if one == at_fault:
        given |= request.POST.dict()
    last = one.applied.order_by("-pk").first()
    before = baseline_of(one)
    return BandagingShown(
        bandaging=one,
        rows=[
            CheckRow(box, before.get(key), request.POST.get(key, "") if one == at_fault else "")
            for key, box in CHECK_BOXES.items()
        ],
        pain_before=before.get("pain"),
        typed=request.POST if one == at_fault else {},
        checks=[CheckShown.of(row) for row in one.checks.all()],
        deeds=list(one.deeds.select_related("by").order_by("at", "pk")),
        layer_rows=layer_boxes(leg.systems[0], given, unit),
        sensor_row=sensor_boxes(leg.systems[0], given),
        view=applied_view(leg, last.document) if last else None,
    )


@dataclass(frozen=True)
class CheckRow:
    """A box of the check: what may be seen, what was seen before the bandage, what was typed."""

    box: CheckBox
    before: str | int | None
    given: str

    @property
    def answers(self) -> list[tuple[str, bool]]:
        """Each answer, and whether it was chosen."""
        return [(answer, answer == self.given) for answer in self.box.answers]


@dataclass(frozen=True)
class CheckShown:
    """A check as the page lists it: the verdict that was kept, never judged again."""

    check: Check
    sign: str
    headline: str

    @classmethod
    def of(cls, row: Check) -> "CheckShown":
        """With its verdict in words; a check of earlier days has only its boxes."""
        if row.verdict:
            verdict = Verdict(row.verdict)
            return cls(row, _SIGNS[verdict], HEADLINES[verdict])
        return cls(row, "stop" if row.bad else "good", _("not good") if row.bad else MAY_STAY)


_SIGNS = {Verdict.GOOD: "good", Verdict.LOOSEN: "watch", Verdict.TAKE_OFF: "stop"}
