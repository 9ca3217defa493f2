"""Pads that the plan itself lays, and every place judged with them on.

A place over its maximum gets the thinnest pad that answers it. The surface of today overstates
three places (see below); an excess there that no pad cures is padded as far as is sensible and
left for a prescriber to accept by name. Anywhere else such an excess ends the fit.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.landmark import FOOT_SITES, Landmark
from gaiter.core.plan.design import Aim, Design
from gaiter.core.plan.pressures import Rise
from gaiter.core.pressure.padding import PADDING_STEPS_CM, padding_that_answers
from gaiter.core.spread.sampling import Band

# Sections of the present surface are too sharp here; an anatomical surface removes this list.
OVERSTATED_PLACES = frozenset({"front ankle tendon", "Achilles tendon", "instep"})
_FOOT = frozenset(site.label for site in FOOT_SITES)
_LEG_SITES = frozenset(site.label for site in Landmark) - _FOOT


@dataclass(frozen=True)
class JudgedPlace:
    """A reading site or a bony place beside its maximum, with its pad on.

    Attributes
    ----------
    name : str
        Place.
    band : Band
        Its pressure with the pad on [mmHg].
    bare_high_mmhg : float
        95th percentile without a pad [mmHg].
    chance_above : float
        Chance of exceeding its maximum with the pad on.
    maximum_mmhg : float
        Its maximum [mmHg].
    pad_cm : float
        Thickness of its pad, 0 for none [cm].
    exceeds : bool
        Whether it is still above: a reading site by the chance that policy allows, a bony place
        by the 95th percentile.

    Examples
    --------
    >>> place = JudgedPlace("heel", Band(70.0, 50.0, 95.0), 95.0, 0.01, 120.0, 0.0, False)
    >>> place.high_mmhg, place.may_be_padded, place.overstated
    (95.0, True, False)
    """

    name: str
    band: Band
    bare_high_mmhg: float
    chance_above: float
    maximum_mmhg: float
    pad_cm: float
    exceeds: bool

    @property
    def overstated(self) -> bool:
        """Whether the surface overstates this place.

        Returns
        -------
        bool

        Examples
        --------
        >>> JudgedPlace("Achilles tendon", Band(0, 0, 0), 0, 0, 80, 0, False).overstated
        True
        """
        return self.name in OVERSTATED_PLACES

    @property
    def may_be_padded(self) -> bool:
        """Whether a pad may answer it; from the ankle up stretch does.

        Returns
        -------
        bool

        Examples
        --------
        >>> JudgedPlace("calf", Band(0, 0, 0), 0, 0, 40, 0, False).may_be_padded
        False
        """
        return self.name not in _LEG_SITES

    @property
    def high_mmhg(self) -> float:
        """What is judged: the 95th percentile [mmHg].

        Returns
        -------
        float
            [mmHg].

        Examples
        --------
        >>> JudgedPlace("heel", Band(70.0, 50.0, 95.0), 95.0, 0.01, 120.0, 0.0, False).high_mmhg
        95.0
        """
        return self.band.high_mmhg


def padded(
    bare: Design, aim: Aim, by_hand: Mapping[str, float]
) -> tuple[Design, tuple[JudgedPlace, ...]]:
    """The design over the pads it needs, and every place judged on it.

    Parameters
    ----------
    bare : Design
        Designed without pads.
    aim : Aim
        Maxima of the places.
    by_hand : Mapping[str, float]
        Thickness of pads that somebody chose, by place [cm]; these are kept as they are.

    Returns
    -------
    design : Design
        Over the pads.
    places : tuple[JudgedPlace, ...]
        Places in the order of the design.

    Notes
    -----
    What a pad does is derived, see :func:`gaiter.core.pressure.discs.disc`.

    Examples
    --------
    A pad chosen by hand is kept.

    >>> from gaiter.core.bandage.pattern import Pattern
    >>> from gaiter.core.bandage.wool import Build, WoolBuild
    >>> from gaiter.core.plan.layers import FixedLayer, PressingLayer
    >>> from gaiter.core.plan.laying import Geometry
    >>> from gaiter.core.plan.padded_leg import PaddedLeg, Sampling
    >>> from gaiter.core.plan.maxima import Maxima
    >>> from gaiter.core.plan.search import fixed_design
    >>> from gaiter.core.plan.systems import LayerRecipe
    >>> from gaiter.core.plan.target import Target
    >>> from gaiter.core.spread.draws import Hands, SpreadInputs
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> leg = PaddedLeg(tube, WoolBuild(Build.EVEN, 0 * tube.s_cm, "", 0, 0.0), ())
    >>> elastic = shipped_catalogue()["long_stretch_elastic"]
    >>> layer = PressingLayer(LayerRecipe(elastic.key), elastic)
    >>> chosen = FixedLayer(Geometry(Pattern.SPIRAL, 0.5, 10.0), 0.5, 0.5)
    >>> target = Target(30, 50, dict.fromkeys(Landmark, (30, 50)), "invented")
    >>> aim = Aim(target, Maxima(60, 60, 60, 120), allowed_chance_above=0.025)
    >>> sampling = Sampling(SpreadInputs((Hands.of_spread(0.18),), 1.0, 0.35), 256, seed=1)
    >>> design = fixed_design(leg, [layer], [chosen], aim, sampling)
    >>> over_pads, places = padded(design, aim, {"heel": 0.6})
    >>> {place.name: place.pad_cm for place in places}["heel"]
    0.6
    """
    names = bare.padded_leg.names
    judged_here = len(bare.padded_leg.sites) + len(bare.padded_leg.bony)
    before = {
        name: _judged(name, bare.pressure_mmhg[row], aim)
        for row, name in enumerate(names[:judged_here])
    }
    pads = {name: cm for name, cm in by_hand.items() if name in before}
    for name, place in before.items():
        if place.exceeds and name not in by_hand and place.may_be_padded:
            pads[name] = _pad_cm(bare, place, aim)
    pads = {name: cm for name, cm in pads.items() if cm > 0}
    design = bare.with_pads(pads) if pads else bare
    judged = dict(before)
    for name, pad_cm in pads.items():
        judged[name] = replace(
            _judged(name, design.pressure_mmhg[names.index(name)], aim),
            bare_high_mmhg=before[name].bare_high_mmhg,
            pad_cm=pad_cm,
        )
    return design, tuple(judged.values())


def rises_of(rings: Mapping[Landmark, float], allowed: float) -> tuple[Rise, ...]:
    """Where ring means rise towards the knee by more than the allowed share.

    Parameters
    ----------
    rings : Mapping[Landmark, float]
        Mean round the limb at each site, from the ankle up [mmHg].
    allowed : float
        Share of the lower by which it may rise.

    Returns
    -------
    tuple[Rise, ...]
        For each site from which it rises, the largest rise above it.

    Notes
    -----
    That 5 % is allowed is our choice.

    Examples
    --------
    >>> rings = {Landmark.ANKLE: 25.0, Landmark.GAITER: 32.0, Landmark.CALF: 36.0}
    >>> [(rise.name, round(rise.percent)) for rise in rises_of(rings, 0.05)]
    [('rise from the ankle to the calf', 44)]
    """
    found: dict[Landmark, Rise] = {}
    lower: Landmark | None = None
    for site, mean in rings.items():
        if lower is None or mean < rings[lower]:
            lower = site
            continue
        rise = mean / rings[lower] - 1 if rings[lower] > 0 else 0.0
        if rise > allowed and (lower not in found or 100 * rise > found[lower].percent):
            found[lower] = Rise(
                lower=lower,
                upper=site,
                lower_mmhg=rings[lower],
                upper_mmhg=mean,
                percent=100 * rise,
            )
    return tuple(found.values())


def worst_of(places: Sequence[JudgedPlace]) -> JudgedPlace:
    """The place whose high side stands highest against its maximum; one that exceeds first.

    Parameters
    ----------
    places : sequence of JudgedPlace
        At least one.

    Returns
    -------
    JudgedPlace

    Examples
    --------
    90 of 120 mmHg is less than 38 of 40.

    >>> heel = JudgedPlace("heel", Band(70, 50, 90), 90, 0.01, 120, 0.0, False)
    >>> calf = JudgedPlace("calf", Band(30, 25, 38), 38, 0.01, 40, 0.0, False)
    >>> worst_of([heel, calf]).name
    'calf'
    """
    return max(places, key=lambda one: (one.exceeds, one.high_mmhg / one.maximum_mmhg))


def _judged(name: str, samples: Array, aim: Aim) -> JudgedPlace:
    band, maximum = Band.of(samples), aim.maxima.of(name)
    chance = float((samples > maximum).mean())
    by_chance = name in _FOOT or name in _LEG_SITES
    exceeds = chance > aim.allowed_chance_above if by_chance else band.high_mmhg > maximum
    return JudgedPlace(name, band, band.high_mmhg, chance, maximum, 0.0, exceeds)


def _pad_cm(bare: Design, place: JudgedPlace, aim: Aim) -> float:
    """Thinnest pad that answers; the thickest at an overstated place; 0 where none answers."""
    padded_leg, surface = bare.padded_leg, bare.padded_leg.surface
    s_cm, angle = padded_leg.place(place.name)
    samples = bare.pressure_mmhg[padded_leg.names.index(place.name)]
    # The pressure that has to come down: the high side, which a pad scales with the rest.
    allowed = aim.allowed_chance_above if place.name in _FOOT else 0.05
    high = float(np.quantile(samples, 1 - allowed))
    without = padded_leg.discs[padded_leg.names.index(place.name)].mean(bare.pressure_map_mmhg)
    if without <= 0:
        return 0.0
    on_the_map = place.maximum_mmhg * without / high
    first = padding_that_answers(surface, bare.pressure_map_mmhg, s_cm, angle, on_the_map)
    if first is not None:
        for thickness in PADDING_STEPS_CM:
            if thickness < first:
                continue
            sampled = bare.at_places(padded_leg.under_pads({place.name: thickness}), [place.name])
            if not _judged(place.name, sampled[0], aim).exceeds:
                return thickness
    return PADDING_STEPS_CM[-1] if place.overstated else 0.0
