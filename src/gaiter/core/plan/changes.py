"""What a later day has changed about a plan that is in force, in numbers and in one sentence."""

from dataclasses import dataclass
from enum import StrEnum

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.landmark import ENDS, FOOT_SITES, Landmark
from gaiter.core.plan.adjust import Adjustment, LayerChange
from gaiter.core.plan.document import Fit, Layer, LegPlan, SurfaceSummary, SystemPlan
from gaiter.core.words import Said

# A tape reads to about a millimetre; less is no change of a girth (our choice, no source) [cm].
_TAPE_CM = 0.1
# From this share on another measured over theory is named as the cause before a girth (our choice:
# a girth of 22 cm would have to change by a centimetre to do as much).
_THEORY_SHARE = 0.05
# Landmarks that are a part of the leg in a reader's words.
_NAMED = (Landmark.INSTEP, Landmark.ANKLE, Landmark.GAITER, Landmark.CALF)


class ChangeCode(StrEnum):
    """What became of a plan in force.

    Examples
    --------
    >>> ChangeCode.STILL_RIGHT.value
    'still right'
    """

    STILL_RIGHT = "still right"
    MAXIMUM = "maximum changed"
    AIM = "aim changed"
    BEYOND = "beyond its maximum"
    PRESSURE = "pressure changed"
    NOT_MADE = "cannot be made"


@dataclass(frozen=True)
class PlanChange:
    """A plan in force beside the same bandage on the leg of today.

    Attributes
    ----------
    code : ChangeCode
        What changed first, gravest first.
    before_mmhg, now_mmhg : float or None
        Likely pressure at the gaiter, as planned and on the leg of today [mmHg].
    landmark : Landmark or None
        Where the girth changed most, for its size.
    girth_change_cm : float
        By how much; negative: smaller [cm].
    sentence : Said
        All of it in words.

    Examples
    --------
    >>> said = Said("the aim is another")
    >>> PlanChange(ChangeCode.AIM, 40.0, 38.0, None, 0.0, said).still_right
    False
    """

    code: ChangeCode
    before_mmhg: float | None
    now_mmhg: float | None
    landmark: Landmark | None
    girth_change_cm: float
    sentence: Said

    @property
    def still_right(self) -> bool:
        """Whether nothing has to be planned anew.

        Returns
        -------
        bool

        Examples
        --------
        >>> said = Said("still right")
        >>> PlanChange(ChangeCode.STILL_RIGHT, 40.0, 39.0, None, 0.0, said).still_right
        True
        """
        return self.code is ChangeCode.STILL_RIGHT


def as_recorded(system: SystemPlan) -> Adjustment:
    """The adjustment that lays a recorded system's own stretches and overlaps on another leg.

    What only holds the wool is laid as it was recorded, not as the leg of today would have it.

    Parameters
    ----------
    system : SystemPlan
        As recorded.

    Returns
    -------
    Adjustment

    Examples
    --------
    >>> from gaiter.core.plan.document import Layer, PaddingUnder
    >>> layer = Layer.model_construct(
    ...     material="elastic", presses=True, stretch_percent=50.0, foot_stretch_percent=None,
    ...     overlap=0.5, pattern="spiral",
    ... )
    >>> under = PaddingUnder.model_construct(start=None, end=Landmark.BELOW_KNEE)
    >>> system = SystemPlan.model_construct(
    ...     name="two layers", layers=(layer,), padding=under, pads_mm={}
    ... )
    >>> as_recorded(system).layers["elastic"].stretch
    0.5
    """
    return Adjustment(
        system=system.name,
        layers={
            layer.material: LayerChange(
                stretch=round(layer.stretch_percent / 100, 6) or None,
                overlap=layer.overlap,
                pattern=Pattern(layer.pattern),
                foot_stretch=_foot_stretch(layer),
            )
            for layer in system.layers
            if layer.presses
        },
        start=system.padding.start if system.padding.start in FOOT_SITES else None,
        end=system.padding.end if system.padding.end in ENDS else None,
        pads_mm=system.pads_mm,
    )


def _foot_stretch(layer: Layer) -> float:
    percent = layer.stretch_percent
    if layer.foot_stretch_percent is not None:
        percent = layer.foot_stretch_percent
    return round(percent / 100, 6)


def plan_change(then: LegPlan, now: LegPlan | None, drift_share: float) -> PlanChange:
    """What changed between a plan in force and the same bandage on the leg of today.

    Parameters
    ----------
    then : LegPlan
        As approved; its first system is the one that is bandaged.
    now : LegPlan or None
        The same system with the same stretches on the leg of today, first; None where it cannot
        be made.
    drift_share : float
        Change of the likely pressure, as a share, from which the plan is no longer right
        [0 to 1].

    Returns
    -------
    PlanChange
        ``still right``, or the first of: cannot be made, another maximum, another aim, beyond
        the maximum, another pressure.

    Examples
    --------
    >>> from gaiter.core.plan.pressures import SitePressure
    >>> site = SitePressure.model_construct(landmark=Landmark.GAITER, median_mmhg=40.0)
    >>> system = SystemPlan.model_construct(sites=(site,))
    >>> plan_change(LegPlan.model_construct(systems=(system,)), None, 0.1).code.value
    'cannot be made'
    """
    before = gaiter_mmhg(then.systems[0])
    if now is None or not now.systems:
        said = Said("changed: this bandage cannot be made for the leg of today", code="not_made")
        return PlanChange(ChangeCode.NOT_MADE, before, None, None, 0.0, said)
    here = gaiter_mmhg(now.systems[0])
    landmark, by_cm = largest_girth_change(then.surface, now.surface)
    code = _code(then, now, before, here, drift_share)
    return PlanChange(code, before, here, landmark, by_cm, _sentence(code, then, now, landmark))


def gaiter_mmhg(system: SystemPlan) -> float:
    """Likely pressure of a system at the gaiter [mmHg].

    Parameters
    ----------
    system : SystemPlan
        A system of a plan.

    Returns
    -------
    float
        [mmHg].

    Examples
    --------
    >>> from gaiter.core.plan.pressures import SitePressure
    >>> site = SitePressure.model_construct(landmark=Landmark.GAITER, median_mmhg=40.0)
    >>> gaiter_mmhg(SystemPlan.model_construct(sites=(site,)))
    40.0
    """
    return next(s.median_mmhg for s in system.sites if s.landmark is Landmark.GAITER)


def largest_girth_change(
    then: SurfaceSummary | None, now: SurfaceSummary | None
) -> tuple[Landmark | None, float]:
    """The landmark whose measured girth changed most for its size, and by how much.

    Parameters
    ----------
    then, now : SurfaceSummary or None
        The leg as planned and as it is; None: not known.

    Returns
    -------
    landmark : Landmark or None
        None where no girth changed by as much as a tape can tell, 0.1 cm (our choice).
    change_cm : float
        Now over then [cm].

    Examples
    --------
    1 cm is more for an ankle of 22 cm than for a calf of 37.

    >>> then = SurfaceSummary.model_construct(
    ...     estimated=(), girth_cm={Landmark.ANKLE: 22.0, Landmark.CALF: 37.0}
    ... )
    >>> now = SurfaceSummary.model_construct(
    ...     estimated=(), girth_cm={Landmark.ANKLE: 23.0, Landmark.CALF: 38.0}
    ... )
    >>> landmark, change_cm = largest_girth_change(then, now)
    >>> landmark.label, change_cm
    ('ankle', 1.0)
    """
    if then is None or now is None:
        return None, 0.0
    estimated = {*then.estimated, *now.estimated}
    # Of two girths typed to a millimetre the difference is one only to rounding.
    changes = {
        landmark: round(now.girth_cm[landmark] - girth, 3)
        for landmark, girth in then.girth_cm.items()
        if landmark in now.girth_cm and f"girth_cm.{landmark}" not in estimated
    }
    real = {landmark: by for landmark, by in changes.items() if abs(by) >= _TAPE_CM}
    if not real:
        return None, 0.0
    most = max(real, key=lambda landmark: abs(real[landmark]) / then.girth_cm[landmark])
    return most, real[most]


def _code(
    then: LegPlan, now: LegPlan, before: float, here: float, drift_share: float
) -> ChangeCode:
    if then.decision.maximum_mmhg != now.decision.maximum_mmhg:
        return ChangeCode.MAXIMUM
    if _aim(then) != _aim(now):
        return ChangeCode.AIM
    if now.systems[0].outcome is Fit.CANNOT_BE_REACHED:
        return ChangeCode.BEYOND
    if abs(here / before - 1) >= drift_share:
        return ChangeCode.PRESSURE
    return ChangeCode.STILL_RIGHT


def _aim(leg: LegPlan) -> tuple[float, float] | None:
    target = leg.target
    return (target.gaiter_low_mmhg, target.gaiter_high_mmhg) if target else None


def _sentence(code: ChangeCode, then: LegPlan, now: LegPlan, landmark: Landmark | None) -> Said:
    before, here = gaiter_mmhg(then.systems[0]), gaiter_mmhg(now.systems[0])
    pressures = {"before": before, "now": here}
    name = code.name.lower()
    if code is ChangeCode.STILL_RIGHT:
        return Said(_STILL_RIGHT, pressures, name)
    numbers = Said("{before:.0f} → {now:.0f} mmHg at the gaiter", pressures)
    if code is ChangeCode.MAXIMUM:
        is_, was = (_words(leg.decision.maximum_mmhg) for leg in (now, then))
        return Said(_MAXIMUM, {"is_now": is_, "was": was, "numbers": numbers}, name)
    if code is ChangeCode.AIM:
        is_, was = _range(now), _range(then)
        return Said(_AIM, {"is_now": is_, "was": was, "numbers": numbers}, name)
    cause = _cause(then, now, landmark)
    if code is ChangeCode.BEYOND:
        reason = now.systems[0].outcome_reason
        return Said(_BEYOND, {"cause": cause, "numbers": numbers, "reason": reason}, name)
    return Said("changed because {cause}: {numbers}", {"cause": cause, "numbers": numbers}, name)


_STILL_RIGHT = "still right: likely {now:.0f} mmHg at the gaiter, {before:.0f} as planned"
_MAXIMUM = "changed because the maximum is {is_now}, then {was}; {numbers}"
_AIM = "changed because the aim is {is_now}, then {was}; {numbers}"
_BEYOND = "changed because {cause}: {numbers}; {reason}"
_LARGER, _SMALLER = "the {place} is {by:.1f} cm larger", "the {place} is {by:.1f} cm smaller"


def _words(maximum_mmhg: float | None) -> Said:
    if maximum_mmhg is None:
        return Said("none")
    return Said("{maximum:g} mmHg", {"maximum": maximum_mmhg})


def _range(leg: LegPlan) -> Said:
    aim = _aim(leg)
    if aim is None:
        return Said("none")
    return Said("{low:g}–{high:g} mmHg", {"low": aim[0], "high": aim[1]})


def _theory(then: LegPlan, now: LegPlan) -> Said | None:
    """That a sensor has told another measured over theory since, of the clinic or of this leg."""
    bases = [leg.systems[0].basis for leg in (then, now)]
    before, here = (basis.remainder_median if basis else None for basis in bases)
    if before is None or here is None or abs(here / before - 1) < _THEORY_SHARE:
        return None
    return Said(
        "sensor readings since take measured over theory as {now:.2f}, then {before:.2f}",
        {"now": here, "before": before},
    )


def _cause(then: LegPlan, now: LegPlan, landmark: Landmark | None) -> Said:
    if theory := _theory(then, now):
        return theory
    if landmark is None:
        return Said("fabric, padding or hands are no longer what the plan took")
    _first, by_cm = largest_girth_change(then.surface, now.surface)
    place = Said(landmark.label)
    if landmark not in _NAMED:
        place = Said("girth at the {place}", {"place": place})
    return Said(_LARGER if by_cm > 0 else _SMALLER, {"place": place, "by": abs(by_cm)})
