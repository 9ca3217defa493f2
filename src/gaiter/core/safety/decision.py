"""The safety decision: may this leg be compressed, what is aimed at, and what is never exceeded."""

from collections.abc import Mapping, Sequence
from enum import StrEnum

from pydantic import BaseModel, ConfigDict, field_serializer

from gaiter.core.case import SafetyCase
from gaiter.core.landmark import Side
from gaiter.core.policy import Policy
from gaiter.core.safety.aim import Aim, aim_under
from gaiter.core.safety.arterial import ArterialNumbers
from gaiter.core.safety.override import standing_overrides, with_overrides
from gaiter.core.safety.reason import Reason, RuleKind
from gaiter.core.safety.rule import Effect, Refer, Scene
from gaiter.core.safety.rules import RULES
from gaiter.core.safety.rules.arteries import arterial_bound_mmhg
from gaiter.core.words import Said, Value


class Outcome(StrEnum):
    """What the rules allow."""

    STOP = "stop and refer"
    NOT_YET = "not yet"
    REDUCED = "reduced"
    FULL = "full"

    @property
    def may_be_compressed(self) -> bool:
        """Whether nothing stops the leg and nothing has to be asked or measured first.

        Returns
        -------
        bool

        Examples
        --------
        >>> [outcome.value for outcome in Outcome if outcome.may_be_compressed]
        ['reduced', 'full']
        """
        return self in (Outcome.REDUCED, Outcome.FULL)


_STOP = "Stop and refer: no compression"
_WAIT = "Not yet: ask or measure this first; no compression until then"
# By outcome, and by whether there is a range to aim at.
_HEADLINES = {
    (Outcome.NOT_YET, True): "Not yet: ask or measure this first; provisional level, aim {aim}, "
    "never above {maximum:g} mmHg at the gaiter",
    (Outcome.NOT_YET, False): "Not yet: ask or measure this first; provisional level, never above "
    "{maximum:g} mmHg at the gaiter",
    (Outcome.REDUCED, True): "Reduced: aim {aim}, never above {maximum:g} mmHg at the gaiter",
    (Outcome.REDUCED, False): "Reduced: never above {maximum:g} mmHg at the gaiter",
    (Outcome.FULL, True): "Full: aim {aim}, never above {maximum:g} mmHg at the gaiter",
    (Outcome.FULL, False): "Full: never above {maximum:g} mmHg at the gaiter",
}


def headline(outcome: Outcome, maximum_mmhg: float | None, aim: Aim | None) -> Said:
    """The outcome in words, with what is aimed at and what is never exceeded.

    Parameters
    ----------
    outcome : Outcome
        Worst that any rule asks.
    maximum_mmhg : float or None
        Maximum at the gaiter [mmHg]; None: no compression.
    aim : Aim or None
        What is aimed at.

    Returns
    -------
    Said
        Its code is the outcome's name.

    Examples
    --------
    >>> headline(Outcome.REDUCED, 40, None).text
    'Reduced: never above 40 mmHg at the gaiter'
    """
    if outcome is Outcome.STOP:
        return Said(_STOP, code=outcome.name.lower())
    if maximum_mmhg is None:
        return Said(_WAIT, code=outcome.name.lower())
    values: dict[str, Value] = {"maximum": maximum_mmhg}
    if aim is not None:
        values["aim"] = aim.words
    return Said(_HEADLINES[outcome, aim is not None], values, outcome.name.lower())


class SoftStop(BaseModel):
    """A stop that a prescriber may set aside, with what it asks before that."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    code: str
    text: str
    missing: tuple[str, ...]


class LegDecision(BaseModel):
    """The decision for one leg.

    Attributes
    ----------
    outcome : Outcome
        Worst that any rule asks.
    headline : str
        The outcome in words, with what is aimed at and what is never exceeded.
    maximum_mmhg : float or None
        Maximum pressure at the gaiter [mmHg]; None: no compression. While something has to be
        asked or measured first it is None, unless the provisional level was chosen.
    provisional_mmhg : float or None
        Local policy's provisional level that may be chosen meanwhile [mmHg]; None: it may not.
    aim : Aim or None
        Target range at the gaiter; None without a purpose, a maximum or a range under it.
    arterial_bound_mmhg : float or None
        What the lowest arterial pressure allows anywhere under the bandage [mmHg].
    first_look_days : int or None
        Days after which a new bandage is looked at, where the level is reduced or provisional.
    limiting : tuple[str, ...]
        Codes of the reasons that set the outcome or the maximum.
    to_set_aside : tuple[SoftStop, ...]
        Soft stops that stand; empty beside a hard stop.
    refer : tuple[Refer, ...]
        Who is asked about the stops that stand.
    effects : frozenset[Effect]
        What the rules that fired do to the choice of system, the start and the follow-up.
    numbers : ArterialNumbers
        Indices and pressures they rest on.
    reasons : tuple[Reason, ...]
        Every rule that fired, the person's included, gravest first.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    outcome: Outcome
    headline: str
    maximum_mmhg: float | None
    provisional_mmhg: float | None = None
    aim: Aim | None = None
    arterial_bound_mmhg: float | None = None
    first_look_days: int | None = None
    limiting: tuple[str, ...]
    to_set_aside: tuple[SoftStop, ...] = ()
    refer: tuple[Refer, ...] = ()
    effects: frozenset[Effect] = frozenset()
    numbers: ArterialNumbers
    reasons: tuple[Reason, ...]

    @field_serializer("effects")
    def _in_one_order(self, effects: frozenset[Effect]) -> list[Effect]:
        """A set has none of its own, and the same case must give the same document."""
        return sorted(effects)

    @property
    def said(self) -> Said:
        """The headline, for any language; as it was written where a plan words it otherwise.

        Returns
        -------
        Said
            Its code is the outcome's name, or empty where a plan words it otherwise.

        Examples
        --------
        >>> words = "Reduced: never above 40 mmHg at the gaiter"
        >>> LegDecision.model_construct(
        ...     outcome=Outcome.REDUCED, headline=words, maximum_mmhg=40.0
        ... ).said.values["maximum"]
        40.0
        """
        said = headline(self.outcome, self.maximum_mmhg, self.aim)
        return said if said.text == self.headline else Said(self.headline)

    @property
    def stops(self) -> tuple[Reason, ...]:
        """Reasons that stop the leg.

        Returns
        -------
        tuple[Reason, ...]
            Hard stops before soft ones; empty where nothing stops it.

        Examples
        --------
        >>> from gaiter.files.policy_file import shipped_policy
        >>> known = Scene.where({"leg.findings.gangrene": True}, shipped_policy()).case
        >>> decide(known, shipped_policy()).legs["left"].stops[0].kind.value
        'hard stop'
        """
        return tuple(r for r in self.reasons if r.kind in (RuleKind.HARD_STOP, RuleKind.SOFT_STOP))

    @property
    def overridable(self) -> bool:
        """Whether only soft stops stop the leg.

        Returns
        -------
        bool
            False beside a hard stop, and where nothing stops it.

        Examples
        --------
        >>> soft = SoftStop(code="local", text="the clinic's own stop", missing=())
        >>> LegDecision.model_construct(to_set_aside=(soft,)).overridable
        True
        """
        return bool(self.to_set_aside)


class SafetyDecision(BaseModel):
    """Decisions for the whole person."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    person_reasons: tuple[Reason, ...]
    legs: Mapping[Side, LegDecision]


_GRAVITY = {kind: rank for rank, kind in enumerate(RuleKind)}


def decide(case: SafetyCase, policy: Policy) -> SafetyDecision:
    """Safety decision for every leg of a case, from whatever is known of it.

    Parameters
    ----------
    case : SafetyCase
        One person, one day; no girth, height, bandager or stock is needed.
    policy : Policy
        Local policy.

    Returns
    -------
    SafetyDecision
        Never raises for what was not asked or measured: that is an outcome.

    References
    ----------
    Each rule names its source and how the number is known; all of them stand in docs/safety.md. The
    provisional level: Wounds UK quick guide, immediate care (up to 20 mmHg).

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> known = Scene.where({"leg.findings.gangrene": True}, shipped_policy()).case
    >>> leg = decide(known, shipped_policy()).legs["left"]
    >>> leg.outcome.value, leg.maximum_mmhg
    ('stop and refer', None)
    >>> leg.said.text
    'Stop and refer: no compression'
    >>> leg.overridable
    False
    >>> "gangrene" in [reason.code for reason in leg.stops]
    True
    """
    legs = {side: _decided(Scene.of(case, side, policy)) for side in case.legs}
    of_person = next(iter(legs.values())).reasons
    return SafetyDecision(
        person_reasons=tuple(
            reason for reason in of_person if reason.code in RULES and RULES[reason.code].of_person
        ),
        legs=legs,
    )


def _decided(scene: Scene) -> LegDecision:
    leg, policy = scene.leg, scene.policy
    fired = [reason for rule in RULES.values() if (reason := rule.fired(scene)) is not None]
    standing = standing_overrides(fired, scene)
    reasons = with_overrides(fired, standing, scene)
    reasons.sort(key=lambda reason: _GRAVITY[reason.kind])
    stops = [r for r in reasons if r.kind in (RuleKind.HARD_STOP, RuleKind.SOFT_STOP)]
    firsts = [r for r in reasons if r.kind is RuleKind.FIRST]
    effects = frozenset(
        effect for r in reasons if r.code in RULES for effect in RULES[r.code].effects
    )
    lowest, capping = _lowest_cap(reasons, policy["full_maximum_mmhg"])
    maximum: float | None = lowest
    provisional = None
    if stops:
        outcome, maximum, limiting = Outcome.STOP, None, stops
    elif firsts:
        outcome, limiting = Outcome.NOT_YET, firsts
        provisional = _provisional(firsts, lowest, scene)
        maximum = provisional if leg.provisional is not None else None
    elif lowest <= 0:
        # What the arteries leave is nothing: never a bandage of 0 mmHg.
        outcome, maximum, limiting = Outcome.STOP, None, capping
    else:
        # A purpose that asks for less does not make the leg one for reduced compression.
        of_leg = [r for r in reasons if r.code != "purpose_allows"]
        left, _rest = _lowest_cap(of_leg, policy["full_maximum_mmhg"])
        outcome = Outcome.FULL if left == policy["full_maximum_mmhg"] else Outcome.REDUCED
        limiting = capping
    aim = None
    if maximum is not None and leg.purpose is not None:
        lowest_override = min(standing, key=lambda o: o.maximum_mmhg, default=None)
        aim = aim_under(
            leg.purpose, maximum, policy,
            lower_start=Effect.START_LOW in effects, override=lowest_override,
        )  # fmt: skip
    reduced = outcome is Outcome.REDUCED or outcome is Outcome.NOT_YET
    return LegDecision(
        outcome=outcome,
        headline=headline(outcome, maximum, aim).text,
        maximum_mmhg=maximum,
        provisional_mmhg=provisional,
        aim=aim,
        arterial_bound_mmhg=arterial_bound_mmhg(scene),
        first_look_days=int(policy["first_look_days"]) if reduced and maximum is not None else None,
        limiting=tuple(dict.fromkeys(reason.code for reason in limiting)),
        to_set_aside=_to_set_aside(stops, scene),
        refer=tuple(dict.fromkeys(r for s in stops if (r := RULES[s.code].refer) is not None)),
        effects=effects,
        numbers=scene.numbers,
        reasons=tuple(reasons),
    )


def _to_set_aside(stops: Sequence[Reason], scene: Scene) -> tuple[SoftStop, ...]:
    """Soft stops one by one; none beside a hard stop, which nobody sets aside."""
    if any(reason.kind is RuleKind.HARD_STOP for reason in stops):
        return ()
    return tuple(
        SoftStop(
            code=reason.code, text=reason.text, missing=RULES[reason.code].before_set_aside(scene)
        )
        for reason in stops
    )


def _provisional(firsts: Sequence[Reason], lowest_mmhg: float, scene: Scene) -> float | None:
    """The level before arteries are tested: with the screen complete and no wound on the foot.

    Wounds UK quick guide, immediate care: up to 20 mmHg if no red flag and the wound is on the leg.
    """
    level = min(lowest_mmhg, scene.policy["untested_maximum_mmhg"])
    open_to_it = all(RULES[reason.code].provisional for reason in firsts)
    return level if open_to_it and not scene.leg.wound_on_foot and level > 0 else None


def _lowest_cap(reasons: Sequence[Reason], full_mmhg: float) -> tuple[float, list[Reason]]:
    """Lowest pressure that any reason leaves, and the reasons that leave it."""
    capping = [r for r in reasons if r.cap_mmhg is not None]
    lowest = min([full_mmhg, *(r.cap_mmhg for r in capping if r.cap_mmhg is not None)])
    return lowest, [r for r in capping if r.cap_mmhg == lowest and lowest < full_mmhg]
