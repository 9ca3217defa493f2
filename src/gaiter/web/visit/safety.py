"""The decision of a visit as pages show it, and what people do about it."""

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from gaiter.core.case import OverrideReason, SafetyCase
from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.safety import (
    RULES,
    Effect,
    LegDecision,
    Outcome,
    Reason,
    RuleKind,
    SoftStop,
    Subject,
    decide,
)
from gaiter.core.safety.arterial import ArterialNumbers
from gaiter.core.words import Said
from gaiter.records.actions.plans import orders_in_force
from gaiter.records.actions.stops import (
    choose_provisional,
    override_stops,
    record_stop_action,
    withdraw_override,
    withdraw_provisional,
)
from gaiter.records.actions.visits import answer_none_present
from gaiter.records.models import (
    Account,
    OverrideRecord,
    ProvisionalRecord,
    Role,
    StopAction,
    Visit,
)
from gaiter.records.typed import number_in
from gaiter.records.visit.boxes import Box, box_path, boxes
from gaiter.records.visit.case import (
    Assembled,
    local_policy,
    overrides_of,
    provisional_of,
    safety_case_in,
)
from gaiter.records.visit.decided import Found, document_without, found_in, stops_of
from gaiter.records.words import in_language
from gaiter.web.accounts.step_up import right_password
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.request import ClinicRequest

SIGN_OF = {
    Outcome.FULL: "good",
    Outcome.REDUCED: "watch",
    Outcome.NOT_YET: "watch",
    Outcome.STOP: "stop",
}
KIND_SIGN = {
    RuleKind.HARD_STOP: "stop",
    RuleKind.SOFT_STOP: "stop",
    RuleKind.FIRST: "watch",
    RuleKind.CAP: "watch",
    RuleKind.CAUTION: "watch",
    RuleKind.FLAG: "watch",
}
# Rules whose text lists questions; the page links to their boxes instead.
_ASK = ("screen_incomplete", "not_asked", "not_asked_caps")


@dataclass(frozen=True)
class ReasonView:
    """One rule that fired; ``ask`` are the boxes of the questions that it waits for."""

    reason: Reason
    sign: str
    decides: bool
    ask: tuple[Box, ...]

    @property
    def asks(self) -> int:
        """How many questions it waits for."""
        return len(self.ask)


@dataclass(frozen=True)
class StopView:
    """A stop that stands: whom to refer to, and what was done about it."""

    reason: Reason
    refer: str
    actions: tuple[StopAction, ...]


@dataclass(frozen=True)
class SoftStopView:
    """A soft stop with what is missing beside its own form, and whether it names a specialist."""

    stop: SoftStop
    said: Said
    missing: tuple[str, ...]
    asks_vascular: bool


@dataclass(frozen=True)
class Provision:
    """Local policy's provisional level [mmHg]: chosen by whom, and whether it may be chosen."""

    level_mmhg: float
    chosen: ProvisionalRecord | None
    may_choose: bool


@dataclass(frozen=True)
class SafetyView:
    """A decision as pages show it.

    Attributes
    ----------
    decision : LegDecision or None
        None where too much contradicts.
    headline : Said or str
        The outcome in words.
    sign : str
        Its sign.
    contradictions : tuple
        Box (None where it is a whole table), its path, and what is wrong.
    to_ask : tuple[Box, ...]
        Questions that the decision waits for, each once.
    starts_low : Reason or None
        The rule that offers the lower start first.
    """

    decision: LegDecision | None
    headline: Said | str
    sign: str
    contradictions: tuple[tuple[Box | None, str, Said], ...]
    numbers: tuple[tuple[str, str], ...]
    reasons: tuple[ReasonView, ...]
    to_ask: tuple[Box, ...]
    stops: tuple[StopView, ...]
    soft_stops: tuple[SoftStopView, ...]
    overrides: tuple[OverrideRecord, ...]
    provision: Provision | None
    starts_low: Reason | None
    override_reasons: tuple[str, ...] = tuple(reason.value for reason in OverrideReason)

    @property
    def asks(self) -> int:
        """How many questions the decision waits for."""
        return len(self.to_ask)

    @property
    def limiting(self) -> tuple[ReasonView, ...]:
        """Reasons that set the outcome or the maximum."""
        return tuple(view for view in self.reasons if view.decides)


def numbers_in_words(numbers: ArterialNumbers) -> tuple[tuple[str, str], ...]:
    """Indices and pressures in the reader's language; what was not measured says so."""
    return tuple((in_language(name), in_language(value)) for name, value in numbers.said())


def safety_of(seen: Assembled, account: Account, document: Mapping[str, Any]) -> SafetyView:
    """The decision at a visit, from whatever it knows, for whoever looks.

    ``document`` is the case document of the visit.
    """
    found = found_in(document, seen.visit.episode.side, local_policy())
    decision = found.decision
    headline, sign = _headline(found)
    reasons = tuple(_reason(r, decision, seen) for r in decision.reasons) if decision else ()
    return SafetyView(
        decision=decision,
        headline=headline,
        sign=sign,
        contradictions=tuple(
            (boxes().get(box_path(path)), path, text) for path, text in found.contradictions
        ),
        numbers=numbers_in_words(decision.numbers) if decision else (),
        reasons=reasons,
        to_ask=tuple({box.path: box for view in reasons for box in view.ask}.values()),
        stops=_stops(seen.visit, decision) if decision else (),
        soft_stops=_soft_stops(seen.visit, decision, document) if decision else (),
        overrides=tuple(overrides_of(seen.visit)),
        provision=(
            _provision(seen.visit, decision, account)
            if decision and not found.contradictions
            else None
        ),
        starts_low=next(
            (
                view.reason
                for view in reasons
                if view.reason.code in RULES and Effect.START_LOW in RULES[view.reason.code].effects
            ),
            None,
        ),
    )


def _headline(found: Found) -> tuple[Said | str, str]:
    """Words and sign; what contradicts never leaves more than *not yet*."""
    decision = found.decision
    if decision is not None and (decision.outcome is Outcome.STOP or not found.contradictions):
        return decision.said, SIGN_OF[decision.outcome]
    return _("Not yet: answers contradict each other; no compression until they agree"), "watch"


def _reason(reason: Reason, decision: LegDecision, seen: Assembled) -> ReasonView:
    ask: tuple[Box, ...] = ()
    if reason.code in _ASK:
        ask = tuple(
            boxes()[path]
            for question in RULES[reason.code].reads
            if (path := box_path(question)) in boxes() and seen.value(path) is None
        )
    return ReasonView(reason, KIND_SIGN[reason.kind], reason.code in decision.limiting, ask)


def _stops(visit: Visit, decision: LegDecision) -> tuple[StopView, ...]:
    stops = stops_of(decision)
    if not stops:
        return ()
    done: dict[str, list[StopAction]] = {}
    for one in visit.stop_actions.select_related("by").order_by("at", "pk"):
        done.setdefault(one.code, []).append(one)
    found = []
    for reason in stops:
        refer = RULES[reason.code].refer if reason.code in RULES else None
        found.append(
            StopView(reason, refer.value if refer else "", tuple(done.get(reason.code, ())))
        )
    return tuple(found)


def _soft_stops(
    visit: Visit, decision: LegDecision, document: Mapping[str, Any]
) -> tuple[SoftStopView, ...]:
    """Each soft stop, judged as if its form were filled: what is still missing then."""
    found = []
    said = {reason.code: reason.said for reason in decision.reasons}
    for stop in decision.to_set_aside:
        missing = _missing_with(visit, stop.code, document) if stop.missing else ()
        vascular = set(missing) != set(stop.missing)
        found.append(SoftStopView(stop, said[stop.code], missing, asks_vascular=vascular))
    return tuple(found)


def _missing_with(visit: Visit, code: str, document: Mapping[str, Any]) -> tuple[str, ...]:
    mapping = deepcopy(dict(document))
    leg = mapping["legs"][visit.episode.side]
    least = local_policy()["override_least_mmhg"]
    trial = {
        "code": code, "aim_low_mmhg": least, "aim_high_mmhg": least + 1, "maximum_mmhg": least + 1,
        "reason": next(iter(OverrideReason)).value, "words": "as if it were filled", "by": "trial",
        "vascular_by": "trial", "vascular_on": visit.day.isoformat(),
    }  # fmt: skip
    leg["overrides"] = [o for o in leg.get("overrides", []) if o["code"] != code] + [trial]
    case = safety_case_in(mapping, visit.episode.side)
    if not isinstance(case, SafetyCase):
        return (_("answers that do not contradict each other"),)
    then = decide(case, local_policy()).legs[Side(visit.episode.side)]
    return next((soft.missing for soft in then.to_set_aside if soft.code == code), ())


def _provision(visit: Visit, decision: LegDecision, account: Account) -> Provision | None:
    level = decision.provisional_mmhg
    if level is None:
        return None
    chosen = provisional_of(visit)
    may = account.role == Role.PRESCRIBER or (
        account.role == Role.BANDAGER
        and any(
            order.person_id is None and order.maximum_mmhg >= level
            for order in orders_in_force(visit.day)
        )
    )
    return Provision(level, chosen, may)


def asked_beside(
    seen: Assembled, view: SafetyView, document: Mapping[str, Any]
) -> dict[str, list[Said]]:
    """Questions about arterial numbers, beside the boxes that they are about.

    A box is one that a question is about when the question goes, or says something else, once
    the box is empty; where no single box does, all that the rule reads and that have a value.
    """
    side = seen.visit.episode.side

    def texts_without(path: str) -> set[str]:
        decision = found_in(document_without(document, path, side), side, local_policy()).decision
        return {reason.text for reason in decision.reasons} if decision else set()

    found: dict[str, list[Said]] = {}
    for shown in view.reasons:
        reason = shown.reason
        rule = RULES.get(reason.code)
        if rule is None or rule.subject is not Subject.ARTERIES or rule.kind is not RuleKind.FIRST:
            continue
        filled = [p for question in rule.reads if (p := box_path(question)) in seen.known]
        about = [path for path in filled if reason.text not in texts_without(path)]
        for path in about or filled:
            found.setdefault(path, []).append(reason.said)
    return found


def _visit(pk: int) -> Visit:
    return get_object_or_404(Visit.objects.select_related("episode__person"), pk=pk)


def _back(pk: int) -> HttpResponse:
    response: HttpResponse = redirect("visit", pk)
    response["Location"] += "#safety"
    return response


@allow(CLINICAL, "POST", of=Visit)
def none_present(request: ClinicRequest, pk: int) -> HttpResponse:
    """Asked all of these, none present: one press."""
    saved = answer_none_present(request.actor, _visit(pk))
    messages.success(request, _("%d questions are answered: asked, none present.") % len(saved))
    response = redirect("visit", pk)
    response["Location"] += "#section-screen"
    return response


@allow(CLINICAL, "POST", of=Visit)
def refer(request: ClinicRequest, pk: int) -> HttpResponse:
    """What was done about one stop: to whom the person was referred, and when."""
    visit, on = _visit(pk), _day(request.POST.get("on", ""))
    if on is None:
        raise InputError(_("Give the day on which the person was referred."))
    record_stop_action(
        request.actor,
        visit,
        code=request.POST.get("code", ""),
        referred_to=request.POST.get("referred_to", ""),
        on=on,
        words=request.POST.get("words", ""),
        once=request.POST.get("once"),
    )
    messages.success(request, _("Recorded: whom the person was referred to."))
    return _back(pk)


@allow(CLINICAL, "POST", of=Visit)
def provisional(request: ClinicRequest, pk: int) -> HttpResponse:
    """Local policy's provisional level is chosen."""
    visit = _visit(pk)
    if not right_password(request, request.POST.get("password", "")):
        raise InputError(_("That is not your password: nothing was chosen."))
    choose_provisional(
        request.actor, visit, request.POST.get("words", ""), request.POST.get("once")
    )
    messages.success(request, _("The provisional level is chosen for this visit."))
    return _back(pk)


@allow(CLINICAL, "POST", of=Visit)
def no_provisional(request: ClinicRequest, pk: int) -> HttpResponse:
    """The provisional level is taken back."""
    withdraw_provisional(request.actor, _visit(pk))
    messages.success(request, _("The provisional level is taken back."))
    return _back(pk)


@allow(Role.PRESCRIBER, "POST", of=Visit)
def override(request: ClinicRequest, pk: int) -> HttpResponse:
    """Sets one soft stop aside."""
    visit = _visit(pk)
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
    return _back(pk)


@allow(Role.PRESCRIBER, "POST", of=OverrideRecord)
def withdraw(request: ClinicRequest, pk: int) -> HttpResponse:
    """The stop stands again."""
    one = get_object_or_404(OverrideRecord.objects.select_related("visit"), pk=pk)
    withdraw_override(request.actor, one)
    messages.success(request, _("The stop stands again."))
    return _back(one.visit_id)


def _mmhg(request: ClinicRequest, name: str) -> float:
    try:
        return number_in(request.POST.get(name, ""))
    except ValueError:
        raise InputError(_("Give aim and maximum as numbers, in mmHg.")) from None


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise InputError(_("The day must be a date such as 2026-11-25.")) from None
