"""Practice: invented legs, the limb at hand, what was done on it and how it came out."""

from django.contrib import messages
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _

from gaiter.core.applied.document import Applied
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.draw.trend import trend_drawing
from gaiter.core.errors import InputError
from gaiter.core.landmark import LEG_SITES
from gaiter.core.plan import Plan
from gaiter.core.words import Said
from gaiter.files.wording import FileError
from gaiter.records.actions.practice import record_attempt
from gaiter.records.actions.readings import readings_of
from gaiter.records.ledger import local_day
from gaiter.records.models import Account, Attempt, Role
from gaiter.records.read.documents import leg_of
from gaiter.records.words import in_language
from gaiter.sheets import Practised, practice_record_pdf
from gaiter.sheets.content import said_content
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.frame.workload import computes, turn
from gaiter.web.plan.pages import DesignPart, RefusedPart
from gaiter.web.plan.views import designed
from gaiter.web.practice.pages import AttemptPage, PracticeLegPage, PracticePage
from gaiter.web.practice.task import (
    logged_readings,
    measures_of,
    practice_case,
    practice_mappings,
    task_case,
)
from gaiter.web.practice.yardsticks import YARDSTICKS
from gaiter.web.visit.readings import applied_view, layer_boxes, sensor_boxes, typed_readings

_LEARNS = CLINICAL | {Role.LEARNER}


@allow(_LEARNS, "GET")
def practice(request: ClinicRequest) -> HttpResponse:
    """The invented legs, and how one's own attempts went."""
    legs = [
        (name, _title(name), next(iter(practice_case(name).legs.values())))
        for name in practice_mappings()
    ]
    attempts = _attempts_of(request.user)
    page = PracticePage(legs, attempts, _trend(attempts), YARDSTICKS, _learners(request))
    return show(request, page)


def _title(name: str) -> str:
    return name.replace("-", " ").capitalize()


def _attempts_of(account: Account) -> list[Attempt]:
    return list(Attempt.objects.filter(by=account).order_by("at").defer("plan", "document"))


def _learners(request: ClinicRequest) -> list[Account]:
    """Whose attempts a prescriber may look at, to teach."""
    if request.user.role != Role.PRESCRIBER:
        return []
    return list(Account.objects.filter(attempts__isnull=False).distinct().order_by("name"))


def _trend(attempts: list[Attempt]) -> str:
    if not attempts:
        return ""
    values = [attempt.mean_off_mmhg for attempt in attempts]
    return trend_drawing(values, Said("mean off the plan, mmHg"), Said("attempt"), _).to_text()


@allow(_LEARNS, "GET")
@computes
def practice_leg(request: ClinicRequest, name: str) -> HttpResponse:
    """One invented leg: plan, controls, steps, and the boxes for what was read."""
    return _leg_page(request, name)


def _leg_page(request: ClinicRequest, name: str, problem: str = "") -> HttpResponse:
    if name not in practice_mappings():
        raise Http404
    part = request.headers.get("X-Part") == "design"
    asked = _asked(request)
    try:
        case = task_case(name, asked, request.user)
        design = designed(case, asked)
    except InputError as error:
        if part:
            return show(request, RefusedPart(in_language(error.said)), 400)
        problem, asked = _sentence(error), {}
        case = task_case(name, {}, request.user)
        design = designed(case, {})
    kept = [(key, value) for key, value in asked.items() if key.startswith("limb.")]
    if part:
        return show(request, DesignPart(design, kept=kept))
    unit, typed = request.user.unit, request.POST.dict()
    address = QueryDict(mutable=True)
    address.update(asked)
    system = design.chosen.system if design.chosen else None
    page = PracticeLegPage(
        design,
        kept=kept,
        name=name,
        title=_title(name),
        content=said_content(design.plan, design.leg),
        measures=measures_of(name, asked, unit),
        asked=address,
        problem=problem,
        typed=typed,
        log_time=typed.get("log-time", ""),
        limbs=Attempt.Limb.choices,
        layer_rows=layer_boxes(system, typed, unit) if system else (),
        sensor_row=sensor_boxes(system, typed) if system else (),
    )
    return show(request, page, 400 if problem else 200)


def _asked(request: ClinicRequest) -> dict[str, str]:
    """What the address asks; on a form that was sent, what the page's address had asked."""
    if request.method == "POST":
        query = QueryDict(request.POST.get("asked", "")[:4000])
        return {key: str(value) for key, value in query.items()}
    return {key: str(value) for key, value in request.GET.items()}


def _sentence(error: InputError) -> str:
    if isinstance(error, FileError):
        return "; ".join(in_language(problem.said) for problem in error.problems)
    return in_language(error.said)


@allow(_LEARNS, "POST")
@computes
def practice_try(request: ClinicRequest, name: str) -> HttpResponse:
    """Keeps an attempt: what was read, and what it tells."""
    if name not in practice_mappings():
        raise Http404
    asked = _asked(request)
    try:
        case = task_case(name, asked, request.user)
        design = designed(case, asked)
        if design.chosen is None:
            raise InputError(_("This leg is not to be bandaged: there is nothing to read."))
        read = typed_readings(request.POST.dict(), {}, request.user.unit)
        if log := request.FILES.get("log"):
            read += logged_readings(request.POST.dict(), log)
        leg = design.chosen.leg
        plan = design.plan.model_copy(update={"legs": {leg.side: leg}})
        readings = readings_of(leg.side, design.chosen.system.name, read)
        if not (readings.spacings or readings.sensor):
            raise InputError(_("Read at least one mark spacing, or a sensor's value or log."))
        made = record_attempt(
            request.actor,
            task=name,
            limb=request.POST.get("limb", ""),
            plan=plan,
            applied=applied_pressure(plan, readings),
            once=request.POST.get("once"),
        )
    except InputError as error:
        return _leg_page(request, name, _sentence(error))
    messages.success(request, _("Kept. Practice teaches your technique record as well."))
    return redirect("attempt", made.pk)


@allow(_LEARNS, "GET")
def attempt(request: ClinicRequest, pk: int) -> HttpResponse:
    """One attempt: target against applied along the leg, in mmHg."""
    one = get_object_or_404(Attempt.objects.select_related("by"), pk=pk)
    _own_or_teacher(request, one.by)
    leg = leg_of(Plan.model_validate_json(one.plan))
    view = applied_view(leg, one.document)
    judged = [site for site in view.applied.sites if site.landmark in LEG_SITES]
    return show(request, AttemptPage(one, one.title, view, judged, YARDSTICKS))


def _own_or_teacher(request: ClinicRequest, owner: Account) -> None:
    if owner != request.user and request.user.role != Role.PRESCRIBER:
        raise Http404


@allow(_LEARNS, "GET")
@computes
def practice_record(request: ClinicRequest, pk: int) -> HttpResponse:
    """Somebody's attempts to print for the competency file."""
    owner = get_object_or_404(Account, pk=pk)
    _own_or_teacher(request, owner)
    attempts = list(Attempt.objects.filter(by=owner).order_by("at").defer("plan"))
    if not attempts:
        raise InputError(_("There is no attempt to print yet: practise first."))
    practised = [
        Practised(
            local_day(one.at), one.title, one.get_limb_display(), one.mean_off_mmhg,
            Applied.model_validate_json(one.document),
        )
        for one in attempts
    ]  # fmt: skip
    yardsticks = [str(text) for text in YARDSTICKS]
    with turn():
        pdf = practice_record_pdf(owner.name, practised, yardsticks, local_day(timezone.now()))
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="practice-record.pdf"'
    return response
