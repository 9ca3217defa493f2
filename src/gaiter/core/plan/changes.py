"""What a later day has changed about a plan that is in force, in numbers and in one sentence."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.landmark import ENDS, FOOT_SITES, Landmark
from gaiter.core.plan.adjust import Adjustment, LayerChange
from gaiter.core.plan.document import Fit, LegPlan, SurfaceSummary, SystemPlan

# A tape reads to about a millimetre; less is no change of a girth (our choice, no source) [cm].
_TAPE_CM = 0.1
# Landmarks that are a part of the leg in a reader's words.
_NAMED = (Landmark.INSTEP, Landmark.ANKLE, Landmark.GAITER, Landmark.CALF)


class ChangeCode(StrEnum):
    """What became of a plan in force."""

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
    sentence : str
        All of it in words.
    """

    code: ChangeCode
    before_mmhg: float | None
    now_mmhg: float | None
    landmark: Landmark | None
    girth_change_cm: float
    sentence: str

    @property
    def still_right(self) -> bool:
        """Whether nothing has to be planned anew."""
        return self.code is ChangeCode.STILL_RIGHT


def as_recorded(system: SystemPlan) -> Adjustment:
    """The adjustment that lays a recorded system's own stretches and overlaps on another leg.

    What only holds the wool is laid as it was recorded, not as the leg of today would have it.
    """
    return Adjustment(
        system=system.name,
        layers={
            layer.material: LayerChange(
                stretch=round(layer.stretch_percent / 100, 6) or None,
                overlap=layer.overlap,
                pattern=Pattern(layer.pattern),
            )
            for layer in system.layers
            if layer.presses
        },
        start=system.padding.start if system.padding.start in FOOT_SITES else None,
        end=system.padding.end if system.padding.end in ENDS else None,
        pads_mm=system.pads_mm,
    )


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
    """
    before = gaiter_mmhg(then.systems[0])
    if now is None or not now.systems:
        words = "changed: this bandage cannot be made for the leg of today"
        return PlanChange(ChangeCode.NOT_MADE, before, None, None, 0.0, words)
    here = gaiter_mmhg(now.systems[0])
    landmark, by_cm = largest_girth_change(then.surface, now.surface)
    code = _code(then, now, before, here, drift_share)
    return PlanChange(code, before, here, landmark, by_cm, _sentence(code, then, now, landmark))


def gaiter_mmhg(system: SystemPlan) -> float:
    """Likely pressure of a system at the gaiter [mmHg]."""
    return next(s.median_mmhg for s in system.sites if s.landmark is Landmark.GAITER)


def largest_girth_change(
    then: SurfaceSummary | None, now: SurfaceSummary | None
) -> tuple[Landmark | None, float]:
    """The landmark whose measured girth changed most for its size, and by how much [cm]."""
    if then is None or now is None:
        return None, 0.0
    estimated: Sequence[str] = (*then.estimated, *now.estimated)
    changes = {
        landmark: now.girth_cm[landmark] - girth
        for landmark, girth in then.girth_cm.items()
        if landmark in now.girth_cm and not any(landmark.label in words for words in estimated)
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


def _sentence(code: ChangeCode, then: LegPlan, now: LegPlan, landmark: Landmark | None) -> str:
    before, here = gaiter_mmhg(then.systems[0]), gaiter_mmhg(now.systems[0])
    numbers = f"{before:.0f} → {here:.0f} mmHg at the gaiter"
    if code is ChangeCode.STILL_RIGHT:
        return f"still right: likely {here:.0f} mmHg at the gaiter, {before:.0f} as planned"
    if code is ChangeCode.MAXIMUM:
        was, is_ = then.decision.maximum_mmhg, now.decision.maximum_mmhg
        return f"changed because the maximum is {_words(is_)}, then {_words(was)}; {numbers}"
    if code is ChangeCode.AIM:
        return f"changed because the aim is {_range(now)}, then {_range(then)}; {numbers}"
    cause = _cause(then, now, landmark)
    if code is ChangeCode.BEYOND:
        return f"changed because {cause}: {numbers}; {now.systems[0].outcome_reason}"
    return f"changed because {cause}: {numbers}"


def _words(maximum_mmhg: float | None) -> str:
    return "none" if maximum_mmhg is None else f"{maximum_mmhg:g} mmHg"


def _range(leg: LegPlan) -> str:
    aim = _aim(leg)
    return "none" if aim is None else f"{aim[0]:g}–{aim[1]:g} mmHg"


def _cause(then: LegPlan, now: LegPlan, landmark: Landmark | None) -> str:
    if landmark is None:
        return "fabric, padding or hands are no longer what the plan took"
    _first, by_cm = largest_girth_change(then.surface, now.surface)
    way = "larger" if by_cm > 0 else "smaller"
    what = landmark.label if landmark in _NAMED else f"girth at the {landmark.label}"
    return f"the {what} is {abs(by_cm):.1f} cm {way}"
