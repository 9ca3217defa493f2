"""The safety section: indices, decision with rules and sources, and a prescriber's override."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from gaiter.core.case import OverrideReason
from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.safety import Kind, LegDecision, Outcome, Reason, decide
from gaiter.core.safety.arterial import ArterialNumbers
from gaiter.records.actions.visits import override_stops, withdraw_override
from gaiter.records.assemble import Assembled, assembled, case_of, local_policy, override_of
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
    soft_stops: tuple[Reason, ...]
    override: OverrideRecord | None
    override_reasons: tuple[str, ...] = tuple(reason.value for reason in OverrideReason)


def numbers_in_words(numbers: ArterialNumbers) -> tuple[tuple[str, str], ...]:
    """Indices and pressures in the reader's language; what was not measured says so."""
    return tuple((_(name), _(value)) for name, value in numbers.in_words())


def safety_of(seen: Assembled) -> SafetyView:
    """The decision at a visit.

    Raises
    ------
    FileError
        While the visit is not yet a whole case.
    """
    side = Side(seen.visit.episode.side)
    decision = decide(case_of(seen, with_stock=False), local_policy()).legs[side]
    return SafetyView(
        decision=decision,
        sign=SIGN_OF[decision.outcome],
        numbers=numbers_in_words(decision.numbers),
        reasons=tuple(
            (r, KIND_SIGN[r.kind], r.code in decision.limiting) for r in decision.reasons
        ),
        soft_stops=tuple(r for r in decision.reasons if r.kind is Kind.SOFT_STOP),
        override=override_of(seen.visit),
    )


@allow(Role.PRESCRIBER, "POST")
def override(request: ClinicRequest, pk: int) -> HttpResponse:
    """Sets the soft stops that stand now aside."""
    visit = get_object_or_404(Visit.objects.select_related("episode__person"), pk=pk)
    if not right_password(request, request.POST.get("password", "")):
        raise InputError(_("That is not your password: the stop stands."))
    view = safety_of(assembled(visit))
    if not view.decision.overridable:
        raise InputError(_("A hard stop is never set aside, and nothing else stands here."))
    try:
        maximum = float(request.POST.get("maximum_mmhg", "").replace(",", "."))
    except ValueError:
        raise InputError(_("Give the maximum as a number, 5 to 50 mmHg.")) from None
    override_stops(
        request.actor,
        visit,
        codes=[reason.code for reason in view.soft_stops],
        maximum_mmhg=maximum,
        reason=request.POST.get("reason", ""),
        words=request.POST.get("words", ""),
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
