"""The check: what was put on, readings, the boxes of the sheet, and what is done when bad."""

from datetime import date

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.plan.document import Layer
from gaiter.records.actions.plans import (
    CHECK_BOXES,
    record_bandaging,
    record_check,
    record_reading,
)
from gaiter.records.assemble import assembled
from gaiter.records.documents import leg_of, plan_of
from gaiter.records.holding import why_not_today
from gaiter.records.models import Bandaging, Check, PlanRecord, Reading
from gaiter.web.site.access import CLINICAL, allow
from gaiter.web.site.request import ClinicRequest
from gaiter.web.today.leg import usual_next_day
from gaiter.web.visit.pictures import measured, outline
from gaiter.web.visit.views import latest_plan, visit_of


@allow(CLINICAL)
def check(request: ClinicRequest, pk: int) -> HttpResponse:
    """The page after bandaging."""
    return _page(request, pk)


def _page(
    request: ClinicRequest, pk: int, problem: str = "", bandaging: Bandaging | None = None
) -> HttpResponse:
    visit = visit_of(pk)
    plan = latest_plan(visit)
    approved = plan if plan and plan.state == PlanRecord.State.APPROVED else None
    done = list(
        visit.bandagings.select_related("by", "plan").prefetch_related(
            "checks__by", "readings__by"
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
            "off_by": usual_next_day(approved, visit),
            "done": done,
            "problem": problem,
            "at_fault": bandaging,
            "typed": request.POST,
            "answers": [
                (key, text, request.POST.get(key, "")) for key, text in CHECK_BOXES.items()
            ],
            "moments": Check.Moment.choices,
            "deeds": Check.Deed.choices,
            "places": [landmark.label for landmark in Landmark],
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
def reading(request: ClinicRequest, pk: int) -> HttpResponse:
    """A mark spacing or a sensor's value."""
    one = get_object_or_404(Bandaging, pk=pk)
    layer = request.POST.get("layer", "")
    try:
        value = float(request.POST.get("value", "").replace(",", "."))
        if not layer.isdecimal() or not 1 <= int(layer) <= 9:
            raise InputError(_("Say which layer was read."))
        record_reading(
            request.actor,
            one,
            kind=request.POST.get("kind", Reading.Kind.SPACING),
            layer=int(layer),
            place=request.POST.get("place", ""),
            value=value,
            once=request.POST.get("once"),
        )
    except InputError as error:
        return _page(request, one.visit_id, str(error), one)
    except ValueError:
        return _page(request, one.visit_id, _("A reading must be a number: read again."), one)
    messages.success(request, _("The reading is recorded."))
    return redirect("check", one.visit_id)
