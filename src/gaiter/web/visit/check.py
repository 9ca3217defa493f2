"""The check: what was put on, readings, the boxes of the sheet, and what is done when bad."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.core.plan.document import Layer
from gaiter.records.actions.plans import (
    CHECK_BOXES,
    record_bandaging,
    record_check,
)
from gaiter.records.actions.readings import record_readings
from gaiter.records.assemble import assembled
from gaiter.records.documents import leg_of, plan_of
from gaiter.records.holding import why_not_today
from gaiter.records.in_force import latest_off_by, plan_in_force
from gaiter.records.models import Bandaging, Check, PlanRecord
from gaiter.web.site.access import CLINICAL, allow
from gaiter.web.site.request import ClinicRequest
from gaiter.web.visit.pictures import measured, outline
from gaiter.web.visit.readings import (
    applied_view,
    layer_boxes,
    sensor_boxes,
    shown_before,
    typed_readings,
)
from gaiter.web.visit.views import visit_of


@allow(CLINICAL)
def check(request: ClinicRequest, pk: int) -> HttpResponse:
    """The page after bandaging."""
    return _page(request, pk)


def _page(
    request: ClinicRequest, pk: int, problem: str = "", bandaging: Bandaging | None = None
) -> HttpResponse:
    visit = visit_of(pk)
    approved = plan_in_force(visit.episode)
    done = list(
        visit.bandagings.select_related("by", "plan").prefetch_related(
            "checks__by"
        ).order_by("-at")
    )  # fmt: skip
    known = {path: value.value for path, value in assembled(visit).known.items()}
    layers: tuple[Layer, ...] = ()
    if approved is not None:
        leg = leg_of(plan_of(approved))
        layers = leg.systems[0].layers
    return render(
        request,
        "visit/check.html",
        {
            "visit": visit,
            "episode": visit.episode,
            "person": visit.episode.person,
            "plan": approved,
            "why_not": why_not_today(visit, approved) if approved and not visit.signed_at else "",
            "layers": layers,
            "drawing": outline(visit.episode.side, measured(known)),
            "off_by": latest_off_by(approved, visit) if approved else None,
            "done": [_shown(request, one, bandaging) for one in done],
            "problem": problem,
            "at_fault": bandaging,
            "typed": request.POST,
            "answers": [
                (key, text, request.POST.get(key, "")) for key, text in CHECK_BOXES.items()
            ],
            "moments": Check.Moment.choices,
            "deeds": Check.Deed.choices,
        },
        status=400 if problem else 200,
    )


@allow(CLINICAL, "POST")
def bandaged(request: ClinicRequest, pk: int) -> HttpResponse:
    """The bandage is on; stock is drawn down."""
    visit = visit_of(pk)
    plan = get_object_or_404(
        PlanRecord, pk=request.POST.get("plan") or 0, visit__episode_id=visit.episode_id
    )
    try:
        off_by = date.fromisoformat(request.POST.get("off_by", ""))
    except ValueError:
        return _page(request, pk, _("Give 'off by' as a date such as 2026-11-25."))
    try:
        record_bandaging(request.actor, visit, plan, off_by, request.POST.get("once"))
    except InputError as error:
        return _page(request, pk, str(error))
    messages.success(request, _("Recorded. Write date, initials and 'off by' on the tape."))
    return redirect("check", pk)


@allow(CLINICAL, "POST")
def answer(request: ClinicRequest, pk: int) -> HttpResponse:
    """The boxes; anything bad asks what was done."""
    one = get_object_or_404(Bandaging.objects.select_related("visit"), pk=pk)
    try:
        made = record_check(
            request.actor,
            one,
            request.POST.get("moment", ""),
            {key: request.POST.get(key, "") for key in [*CHECK_BOXES, "pain"]},
            deed=request.POST.get("deed", ""),
            words=request.POST.get("words", ""),
            once=request.POST.get("once"),
        )
    except InputError as error:
        return _page(request, one.visit_id, str(error), one)
    if made.bad:
        messages.warning(
            request, _("Recorded: not good, %s. The leg shows a warning sign.")
            % made.get_deed_display(),
        )  # fmt: skip
    else:
        messages.success(request, _("Recorded: every box is good."))
    return redirect("check", one.visit_id)


@allow(CLINICAL, "POST")
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
        return _page(request, one.visit_id, str(error), one)
    if made is None:
        messages.success(request, _("Kept. Add a mark spacing or a sensor's value to see more."))
    else:
        messages.success(request, _("Kept. The advice stands beside the readings."))
    return redirect("check", one.visit_id)


def _shown(request: ClinicRequest, one: Bandaging, at_fault: Bandaging | None) -> dict[str, Any]:
    """A bandaging with its boxes and what its readings told."""
    leg = leg_of(plan_of(one.plan))
    unit = request.user.unit
    given = shown_before(one, unit)
    if one == at_fault:
        given |= request.POST.dict()
    last = one.applied.order_by("-pk").first()
    return {
        "bandaging": one,
        "layer_rows": layer_boxes(leg.systems[0], given, unit),
        "sensor_row": sensor_boxes(leg.systems[0], given),
        "view": applied_view(leg, last.document) if last else None,
    }
