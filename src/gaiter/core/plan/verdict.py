"""How a design answers its aim, in one outcome and one sentence that names the worst place."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from gaiter.core.case import Bandager, Training
from gaiter.core.landmark import Landmark
from gaiter.core.plan.design import Aim, Design
from gaiter.core.plan.document import Fit
from gaiter.core.plan.pads import JudgedPlace, padded, rises_of, worst_of
from gaiter.core.plan.pressures import Rise
from gaiter.core.words import SEMICOLON, Said, Value, joined

_EXCEEDS = "even at its mildest it exceeds {maximum:g} mmHg in {chance:.0%} of bandages ({place})"
_EXCEEDS_AS_CHANGED = "as changed it exceeds {maximum:g} mmHg in {chance:.0%} of bandages ({place})"
_TOO_WEAK = (
    "{low:g}–{high:g} mmHg at the gaiter cannot be reached: within the maximum of {maximum:g} mmHg "
    "the likely pressure is {likely:.0f} mmHg"
)
_LIKELY = "likely {likely:.0f} mmHg at the gaiter, wanted {low:g}–{high:g}"
_LIKELY_BELOW = "likely {likely:.0f} mmHg at the gaiter, wanted {low:g}–{high:g}: below it"
_WORST = "the worst place is the {place}, up to {high:.0f} of {maximum:.0f} mmHg"
_WORST_PADDED = (
    "the worst place is the {place}, up to {high:.0f} of {maximum:.0f} mmHg with a pad of "
    "{pad:.0f} mm"
)
# By whether it has a pad, and whether the surface overstates it.
_ABOVE = {
    (False, False): "the {place} has up to {high:.0f} mmHg, its maximum is {maximum:.0f} mmHg",
    (True, False): "the {place} has up to {high:.0f} mmHg even with a pad of {pad:.0f} mm, its "
    "maximum is {maximum:.0f} mmHg",
    (False, True): "the {place} has up to {high:.0f} mmHg, its maximum is {maximum:.0f} mmHg "
    "(surface overstates this place)",
    (True, True): "the {place} has up to {high:.0f} mmHg even with a pad of {pad:.0f} mm, its "
    "maximum is {maximum:.0f} mmHg (surface overstates this place)",
}


@dataclass(frozen=True)
class FitVerdict:
    """How a system answers the target in these hands, and what speaks for and against it.

    Attributes
    ----------
    fit : Fit
        Outcome.
    reason : Said
        One sentence that names the worst place.
    reasons_for, reasons_against : tuple[Said, ...]
        In words.
    to_accept : tuple[str, ...]
        Places and rises that a prescriber has to accept by name.
    rises : tuple[Rise, ...]
        Where ring means rise towards the knee.

    Examples
    --------
    >>> FitVerdict(Fit.FITS, Said("likely 40 mmHg at the gaiter")).to_accept
    ()
    """

    fit: Fit
    reason: Said
    reasons_for: tuple[Said, ...] = ()
    reasons_against: tuple[Said, ...] = ()
    to_accept: tuple[str, ...] = ()
    rises: tuple[Rise, ...] = ()


def verdict_in_these_hands(
    design: Design,
    places: Sequence[JudgedPlace],
    aim: Aim,
    training: Training,
    designed: Callable[[Bandager], Design],
) -> FitVerdict:
    """The verdict, and whether steadier hands would reach what these do not.

    Parameters
    ----------
    design : Design
        Over its pads.
    places : sequence of JudgedPlace
        Every place judged on it.
    aim : Aim
        Range and maxima.
    training : Training
        Of these hands.
    designed : callable
        The design in other hands.

    Returns
    -------
    FitVerdict

    Examples
    --------
    What fits in these hands is not asked of others.

    >>> from types import SimpleNamespace
    >>> from gaiter.core.plan.maxima import Maxima
    >>> from gaiter.core.plan.target import Target
    >>> from gaiter.core.spread.sampling import Band
    >>> aim = Aim(Target(30, 40, {}, "invented"), Maxima(50, 50, 50, 100), 0.025)
    >>> places = [JudgedPlace("heel", Band(70, 50, 95), 95, 0.01, 100, 0.0, exceeds=False)]
    >>> design = SimpleNamespace(median_mmhg=lambda site: 36.0, ring_mmhg={}, within=True)
    >>> others = None  # nobody is asked
    >>> verdict_in_these_hands(design, places, aim, Training.UNTRAINED, others).fit.value
    'fits'
    """
    verdict = verdict_of(design, places, aim)
    usable = verdict.fit is not Fit.CANNOT_BE_REACHED
    if usable or training is Training.TRAINED_WITH_FEEDBACK:
        return verdict
    steadier, on_it = padded(designed(Bandager(training=Training.TRAINED_WITH_FEEDBACK)), aim, {})
    if verdict_of(steadier, on_it, aim).fit is Fit.CANNOT_BE_REACHED:
        return verdict
    safe = design.within and not beyond_help(places)
    return replace(
        verdict,
        # What exceeds a maximum in these hands is no plan for them, whoever else could do it.
        fit=Fit.NOT_IN_THESE_HANDS if safe else Fit.CANNOT_BE_REACHED,
        reason=Said(
            "{reason}; someone trained, reading the pressure or the mark spacing while bandaging, "
            "can reach likely {likely:.0f} mmHg with marks {marks:.1f} cm apart",
            {
                "reason": verdict.reason,
                "likely": steadier.median_mmhg(Landmark.GAITER),
                "marks": 10 * (1 + steadier.layers[-1].stretch),
            },
            "not_in_these_hands",
        ),
    )


def beyond_help(places: Sequence[JudgedPlace]) -> list[JudgedPlace]:
    """Places above their maximum that neither a pad nor the surface's overstating answers.

    Parameters
    ----------
    places : sequence of JudgedPlace
        Every place, its pad on.

    Returns
    -------
    list[JudgedPlace]

    Examples
    --------
    >>> from gaiter.core.spread.sampling import Band
    >>> band = Band(100, 80, 130)
    >>> heel = JudgedPlace("heel", band, 150, 0.2, 120, 2.0, exceeds=True)
    >>> tendon = JudgedPlace("Achilles tendon", band, 150, 0.2, 120, 2.0, exceeds=True)
    >>> [place.name for place in beyond_help([heel, tendon])]
    ['heel']
    """
    return [one for one in places if one.exceeds and one.may_be_padded and not one.overstated]


def verdict_of(
    design: Design, places: Sequence[JudgedPlace], aim: Aim, *, by_hand: bool = False
) -> FitVerdict:
    """Fits when the likely middle reaches the range and every place is within its maximum.

    Parameters
    ----------
    design : Design
        Over its pads.
    places : sequence of JudgedPlace
        Every place judged on it.
    aim : Aim
        Range and maxima.
    by_hand : bool
        Whether somebody chose it; then a middle below the range is said and not refused.

    Returns
    -------
    FitVerdict

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> from gaiter.core.plan.maxima import Maxima
    >>> from gaiter.core.plan.target import Target
    >>> from gaiter.core.spread.sampling import Band
    >>> aim = Aim(Target(30, 40, {}, "invented"), Maxima(50, 50, 50, 100), 0.025)
    >>> places = [JudgedPlace("heel", Band(70, 50, 95), 95, 0.01, 100, 0.0, exceeds=False)]
    >>> design = SimpleNamespace(median_mmhg=lambda site: 36.0, ring_mmhg={}, within=True)
    >>> verdict_of(design, places, aim).fit.value
    'fits'
    >>> design.median_mmhg = lambda site: 26.0
    >>> verdict_of(design, places, aim).fit is Fit.CANNOT_BE_REACHED
    True
    """
    middle = design.median_mmhg(Landmark.GAITER)
    low, high = aim.target.gaiter_low_mmhg, aim.target.gaiter_high_mmhg
    numbers: dict[str, Value] = {
        "likely": middle, "low": low, "high": high, "maximum": aim.maximum_mmhg
    }  # fmt: skip
    rises = rises_of(design.ring_mmhg, aim.allowed_rise)
    if not design.within:
        return FitVerdict(
            Fit.CANNOT_BE_REACHED,
            Said(
                _EXCEEDS_AS_CHANGED if by_hand else _EXCEEDS,
                {
                    "maximum": aim.maxima.of(design.above_at.label),
                    "chance": design.chance_above,
                    "place": Said(design.above_at.label),
                },
                "exceeds",
            ),
            rises=rises,
        )
    if cannot := beyond_help(places):
        off_it = Said("{place}: keep turns off it", {"place": place_in_words(worst_of(cannot))})
        return FitVerdict(Fit.CANNOT_BE_REACHED, off_it, rises=rises)
    if middle < low and not by_hand:
        return FitVerdict(Fit.CANNOT_BE_REACHED, Said(_TOO_WEAK, numbers, "too_weak"), rises=rises)
    to_accept = [one for one in places if one.exceeds]
    words = [Said(_LIKELY if middle >= low else _LIKELY_BELOW, numbers)]
    words += [place_in_words(worst_of(places))]
    words += [place_in_words(one) for one in to_accept if one is not worst_of(places)]
    words += [_rise_in_words(rise) for rise in rises]
    reason = joined(words, SEMICOLON)
    if not to_accept and not rises:
        return FitVerdict(Fit.FITS, reason)
    names = (*(one.name for one in to_accept), *(rise.name for rise in rises))
    return FitVerdict(Fit.TO_ACCEPT, reason, to_accept=names, rises=rises)


def place_in_words(place: JudgedPlace) -> Said:
    """One place with its number and its maximum.

    Parameters
    ----------
    place : JudgedPlace
        Its pad on.

    Returns
    -------
    Said

    Examples
    --------
    >>> from gaiter.core.spread.sampling import Band
    >>> heel = JudgedPlace("heel", Band(70, 50, 95), 110, 0.01, 120, 0.6, exceeds=False)
    >>> place_in_words(heel).text
    'the worst place is the heel, up to 95 of 120 mmHg with a pad of 6 mm'
    """
    padded = place.pad_cm > 0
    values: dict[str, Value] = {
        "place": Said(place.name),
        "high": place.high_mmhg,
        "maximum": place.maximum_mmhg,
    }
    if padded:
        values["pad"] = 10 * place.pad_cm
    if not place.exceeds:
        return Said(_WORST_PADDED if padded else _WORST, values, "worst_place")
    return Said(_ABOVE[padded, place.overstated], values, "above_maximum")


def _rise_in_words(rise: Rise) -> Said:
    """Where it rises in means round the leg, and by how much."""
    return Said(
        "in means round the leg it rises from the {lower} to the {upper}, {from_mmhg:.0f} to "
        "{to_mmhg:.0f} mmHg, by {percent:.0f} %",
        {
            "lower": Said(rise.lower.label),
            "upper": Said(rise.upper.label),
            "from_mmhg": rise.lower_mmhg,
            "to_mmhg": rise.upper_mmhg,
            "percent": rise.percent,
        },
        "rise",
    )
