"""How a design answers its aim, in one outcome and one sentence that names the worst place."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from gaiter.core.case import Bandager, Training
from gaiter.core.landmark import Landmark
from gaiter.core.plan.design import Aim, Design
from gaiter.core.plan.document import Fit, Rise
from gaiter.core.plan.pads import JudgedPlace, padded, rises_of, worst_of


@dataclass(frozen=True)
class FitVerdict:
    """How a system answers the target in these hands, and what speaks for and against it."""

    fit: Fit
    reason: str
    reasons_for: tuple[str, ...] = ()
    reasons_against: tuple[str, ...] = ()
    to_accept: tuple[str, ...] = ()
    rises: tuple[Rise, ...] = ()


def verdict_in_these_hands(
    design: Design,
    places: Sequence[JudgedPlace],
    aim: Aim,
    training: Training,
    designed: Callable[[Bandager], Design],
) -> FitVerdict:
    """The verdict, and whether steadier hands would reach what these do not."""
    verdict = verdict_of(design, places, aim)
    usable = verdict.fit is not Fit.CANNOT_BE_REACHED
    if usable or training is Training.TRAINED_WITH_FEEDBACK:
        return verdict
    steadier, on_it = padded(designed(Bandager(training=Training.TRAINED_WITH_FEEDBACK)), aim, {})
    if verdict_of(steadier, on_it, aim).fit is Fit.CANNOT_BE_REACHED:
        return verdict
    marks = 10 * (1 + steadier.layers[-1].stretch)
    safe = design.within and not beyond_help(places)
    return replace(
        verdict,
        # What exceeds a maximum in these hands is no plan for them, whoever else could do it.
        fit=Fit.NOT_IN_THESE_HANDS if safe else Fit.CANNOT_BE_REACHED,
        reason=f"{verdict.reason}; someone trained, reading the pressure or the mark spacing "
        f"while bandaging, can reach likely {steadier.median_mmhg(Landmark.GAITER):.0f} "
        f"mmHg with marks {marks:.1f} cm apart",
    )


def beyond_help(places: Sequence[JudgedPlace]) -> list[JudgedPlace]:
    """Places above their maximum that neither a pad nor the surface's overstating answers."""
    return [one for one in places if one.exceeds and one.may_be_padded and not one.overstated]


def verdict_of(
    design: Design, places: Sequence[JudgedPlace], aim: Aim, *, by_hand: bool = False
) -> FitVerdict:
    """Fits when the likely middle reaches the range and every place is within its maximum."""
    middle = design.median_mmhg(Landmark.GAITER)
    low, high = aim.target.gaiter_low_mmhg, aim.target.gaiter_high_mmhg
    wanted = f"{low:g}–{high:g} mmHg at the gaiter"
    likely = f"likely {middle:.0f} mmHg at the gaiter, wanted {low:g}–{high:g}"
    rises = rises_of(design.ring_mmhg, aim.allowed_rise)
    if not design.within:
        return FitVerdict(
            Fit.CANNOT_BE_REACHED,
            f"{'as changed' if by_hand else 'even at its mildest'} it exceeds "
            f"{aim.maximum_mmhg:g} mmHg in {design.chance_above:.0%} of bandages",
            rises=rises,
        )
    if cannot := beyond_help(places):
        worst = worst_of(cannot)
        return FitVerdict(
            Fit.CANNOT_BE_REACHED, f"{place_in_words(worst)}: keep turns off it", rises=rises
        )
    if middle < low and not by_hand:
        return FitVerdict(
            Fit.CANNOT_BE_REACHED,
            f"{wanted} cannot be reached: within the maximum of {aim.maximum_mmhg:g} mmHg the "
            f"likely pressure is {middle:.0f} mmHg",
            rises=rises,
        )
    to_accept = [one for one in places if one.exceeds]
    words = [place_in_words(worst_of(places))]
    words += [place_in_words(one) for one in to_accept if one is not worst_of(places)]
    words += [
        f"in means round the leg it rises from the {rise.lower.label} to the {rise.upper.label}, "
        f"{rise.lower_mmhg:.0f} to {rise.upper_mmhg:.0f} mmHg, by {rise.percent:.0f} %"
        for rise in rises
    ]
    reason = "; ".join((likely if middle >= low else f"{likely}: below it", *words))
    if not to_accept and not rises:
        return FitVerdict(Fit.FITS, reason)
    names = (*(one.name for one in to_accept), *(rise.name for rise in rises))
    return FitVerdict(Fit.TO_ACCEPT, reason, to_accept=names, rises=rises)


def place_in_words(place: JudgedPlace) -> str:
    """One place with its number and its maximum."""
    pad = f" with a pad of {10 * place.pad_cm:.0f} mm" if place.pad_cm > 0 else ""
    if not place.exceeds:
        return (
            f"the worst place is the {place.name}, up to {place.high_mmhg:.0f} of "
            f"{place.maximum_mmhg:.0f} mmHg{pad}"
        )
    even = f" even{pad}" if pad else ""
    above = f"the {place.name} has up to {place.high_mmhg:.0f} mmHg{even}, its maximum is "
    marked = " (surface overstates this place)" if place.overstated else ""
    return f"{above}{place.maximum_mmhg:.0f} mmHg{marked}"
