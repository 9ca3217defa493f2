"""The safety section: indices, decision with rules and sources, and a prescriber's override."""

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from gaiter.core.case import OverrideReason
from gaiter.core.errors import InputError
from gaiter.core.safety import Kind, LegDecision, Outcome, Reason, SoftStop
from gaiter.core.safety.arterial import ArterialNumbers
from gaiter.records.actions.stops import override_stops, withdraw_override
from gaiter.records.assemble import Assembled, overrides_of
from gaiter.records.decided import decision_of
from gaiter.records.models import OverrideRecord, Role, Visit
from gaiter.web.accounts.views import right_password
from gaiter.web.site.access import allow
from gaiter.web.site.request import ClinicRequest

SIGN_OF = {
    Outcome.FULL: "good",
    Outcome.REDUCED: "watch",
    Outcome.NOT_YET: "watch",
    Outcome.STOP: "stop",
}
KIND_SIGN = {
    Kind.HARD_STOP: "stop",
    Kind.SOFT_STOP: "stop",
    Kind.FIRST: "watch",
    Kind.CAP: "watch",
    Kind.CAUTION: "watch",
    Kind.FLAG: "watch",
}


@dataclass(frozen=True)
class SafetyView:
    """A decision as pages show it."""

    decision: LegDecision
    sign: str
    numbers: tuple[tuple[str, str], ...]
    reasons: tuple[tuple[Reason, str, bool], ...]
    soft_stops: tuple[SoftStop, ...]
    overrides: tuple[OverrideRecord, ...]
    override_reasons: tuple[str, ...] = tuple(reason.value for reason in OverrideReason)


def numbers_in_words(numbers: ArterialNumbers) -> tuple[tuple[str, str], ...]:
    """Indices and pressures in the reader's language; what was not measured says so."""
    return tuple((_(name), _(value)) for name, value in numbers.in_words())


def safety_of(seen: Assembled) -> SafetyView:
    """The decision at a visit, from whatever it knows.

    Raises
    ------
    FileError
        While values of the visit contradict each other.
    """
    decision = decision_of(seen)
    return SafetyView(
        decision=decision,
        sign=SIGN_OF[decision.outcome],
        numbers=numbers_in_words(decision.numbers),
        reasons=tuple(
            (r, KIND_SIGN[r.kind], r.code in decision.limiting) for r in decision.reasons
        ),
        soft_stops=decision.to_set_aside,
        overrides=tuple(overrides_of(seen.visit)),
    )


@allow(Role.PRESCRIBER, "POST")
def override(request: ClinicRequest, pk: int) -> HttpResponse:
    """Sets one soft stop aside."""
    visit = get_object_or_404(Visit.objects.select_related("episode__person"), pk=pk)
    if not right_password(request, request.POST.get("password", "")):
        raise InputError(_("That is not your password: the stop stands."))
    override_stops(
        request.actor,
        visit,
        code=request.POST.get("code", ""),
        aim_low_mmhg=_mmhg(request, "aim_low_mmhg"),
        aim_high_mmhg=_mmhg(request, "aim_high_mmhg"),
        maximum_mmhg=_mmhg(request, "maximum_mmhg"),
        reason=request.POST.get("reason", ""),
        words=request.POST.get("words", ""),
        vascular_by=request.POST.get("vascular_by", ""),
        vascular_on=_day(request.POST.get("vascular_on", "")),
    )
    messages.success(request, _("Set aside. It shows on every page and sheet of this visit."))
    return redirect("visit", pk)


@allow(Role.PRESCRIBER, "POST")
def withdraw(request: ClinicRequest, pk: int) -> HttpResponse:
    """The stop stands again."""
    one = get_object_or_404(OverrideRecord.objects.select_related("visit"), pk=pk)
    withdraw_override(request.actor, one)
    messages.success(request, _("The stop stands again."))
    return redirect("visit", one.visit_id)


def _mmhg(request: ClinicRequest, name: str) -> float:
    try:
        return float(request.POST.get(name, "").replace(",", "."))
    except ValueError:
        raise InputError(_("Give aim and maximum as numbers, in mmHg.")) from None


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise InputError(_("The day must be a date such as 2026-11-25.")) from None
