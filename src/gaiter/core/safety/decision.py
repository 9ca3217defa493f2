"""The safety decision: may this leg be compressed, and up to what pressure."""

from collections.abc import Mapping, Sequence
from enum import StrEnum

from pydantic import BaseModel, ConfigDict

from gaiter.core.case import Case, Leg
from gaiter.core.landmark import Side
from gaiter.core.policy import Policy
from gaiter.core.safety.arterial import ArterialNumbers, arterial_numbers
from gaiter.core.safety.arterial_rules import arterial_reasons
from gaiter.core.safety.leg_rules import leg_reasons
from gaiter.core.safety.override import overridden
from gaiter.core.safety.person_rules import person_reasons
from gaiter.core.safety.reason import Kind, Reason


class Outcome(StrEnum):
    """What the rules allow."""

    STOP = "stop and refer"
    NOT_YET = "not yet: measure this first"
    REDUCED = "reduced"
    FULL = "full"


class LegDecision(BaseModel):
    """The decision for one leg.

    Attributes
    ----------
    outcome : Outcome
        Worst that any rule asks.
    headline : str
        The outcome in words with its pressure.
    maximum_mmhg : float or None
        Maximum pressure at the gaiter [mmHg]; None: no compression.
    limiting : tuple[str, ...]
        Codes of the reasons that set the outcome or the maximum.
    overridable : bool
        True for a stop that only soft stops cause.
    numbers : ArterialNumbers
        Indices and pressures they rest on.
    reasons : tuple[Reason, ...]
        Every rule that fired, the person's included, gravest first.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    outcome: Outcome
    headline: str
    maximum_mmhg: float | None
    limiting: tuple[str, ...]
    overridable: bool
    numbers: ArterialNumbers
    reasons: tuple[Reason, ...]


class SafetyDecision(BaseModel):
    """Decisions for the whole person."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    person_reasons: tuple[Reason, ...]
    legs: Mapping[Side, LegDecision]


_GRAVITY = {kind: rank for rank, kind in enumerate(Kind)}


def decide(case: Case, policy: Policy) -> SafetyDecision:
    """Safety decision for every leg of a case.

    Parameters
    ----------
    case : Case
        One person, one day.
    policy : Policy
        Local policy.

    Returns
    -------
    SafetyDecision
        Never raises for what was not measured: that is an outcome.
    """
    person = tuple(person_reasons(case, policy))
    return SafetyDecision(
        person_reasons=person,
        legs={side: _decide_leg(case, leg, person, policy) for side, leg in case.legs.items()},
    )


def _decide_leg(case: Case, leg: Leg, person: Sequence[Reason], policy: Policy) -> LegDecision:
    numbers = arterial_numbers(case.arms, leg.arterial)
    reasons = [
        *person,
        *arterial_reasons(case, leg, numbers, policy),
        *leg_reasons(case, leg, policy),
    ]
    if leg.override is not None:
        reasons = overridden(reasons, leg.override, policy["reduced_maximum_mmhg"])
    reasons.sort(key=lambda reason: _GRAVITY[reason.kind])
    stops = [r for r in reasons if r.kind in (Kind.HARD_STOP, Kind.SOFT_STOP)]
    waits = [r for r in reasons if r.kind is Kind.MEASURE]
    full = policy["full_maximum_mmhg"]
    if stops:
        outcome, maximum, limiting = Outcome.STOP, None, stops
    else:
        maximum, limiting = _lowest_cap(reasons, full)
        outcome = Outcome.FULL if maximum == full else Outcome.REDUCED
        if waits:
            outcome, limiting = Outcome.NOT_YET, waits
    return LegDecision(
        outcome=outcome,
        headline=_headline(outcome, maximum),
        maximum_mmhg=maximum,
        limiting=tuple(reason.code for reason in limiting),
        overridable=bool(stops) and all(reason.kind is Kind.SOFT_STOP for reason in stops),
        numbers=numbers,
        reasons=tuple(reasons),
    )


def _lowest_cap(reasons: Sequence[Reason], full_mmhg: float) -> tuple[float | None, list[Reason]]:
    """Lowest pressure that any reason leaves, and the reasons that leave it."""
    capping = [r for r in reasons if r.kind in (Kind.MEASURE, Kind.CAP)]
    nothing = [reason for reason in capping if reason.cap_mmhg is None]
    if nothing:
        return None, nothing
    caps = [reason.cap_mmhg for reason in capping if reason.cap_mmhg is not None]
    lowest = min([full_mmhg, *caps])
    return lowest, [r for r in capping if r.cap_mmhg == lowest and lowest < full_mmhg]


def _headline(outcome: Outcome, maximum_mmhg: float | None) -> str:
    if outcome is Outcome.STOP:
        return "Stop and refer: no compression"
    if outcome is Outcome.NOT_YET:
        allowed = (
            "no compression until then"
            if not maximum_mmhg
            else f"up to {maximum_mmhg:g} mmHg until then"
        )
        return f"Not yet: measure this first; {allowed}"
    return f"{outcome.value.capitalize()} compression, up to {maximum_mmhg:g} mmHg at the gaiter"
