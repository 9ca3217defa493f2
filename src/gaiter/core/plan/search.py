"""Search for the patterns, overlaps and stretches that most likely put every site in its range.

For one geometry pressure is linear in the tensions, so unit pressures are sampled once and
every stretch is swept over the first part of the samples; the best are judged by all of them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.fabric import Material
from gaiter.core.landmark import FOOT_SITES, LEG_SITES, Landmark
from gaiter.core.plan.design import Aim, Design, pressure_of
from gaiter.core.plan.layers import DesignedLayer, FixedLayer, PressingLayer, tension_n_per_cm
from gaiter.core.plan.laying import Geometry, LaidLayer
from gaiter.core.plan.padded_leg import PaddedLeg, Sampling

# A mark spacing is read to about 2 mm; a finer stretch means nothing.
STRETCH_STEP = 0.02
# With several pressing layers, choices of stretch for each.
_STRETCHES_OF_SEVERAL = 6
# Choices of another stretch on foot and ankle.
_FOOT_STRETCHES = 5
# This share of a material's stretches lies above any plan, so that a redo can go up (our choice).
_HEADROOM = 0.1
# A chance this much better is not worth a second stretch or more fabric.
_AS_GOOD = 0.01
# A sweep over all stretches looks at this share of the samples, and at no fewer than the least;
# as many finalists of each kind are judged by all of them. A chance of 2.5 % is known to about
# 0.5 % from a thousand samples.
_SWEEP_SHARE, _LEAST_SWEEP, _FINALISTS, _ROUGH_SLACK = 4, 512, 6, 0.005
# Choices multiplied at once: keeps the array in tens of megabytes.
_AT_ONCE = 64
# From this calf girth on a wider bandage may be used up the leg (common practice, no source).
LARGE_CALF_CM = 42.0


def stretches(material: Material, several: bool = False) -> Array:
    """Stretches of a material that may be chosen, least to largest.

    Parameters
    ----------
    material : Material
        What is stretched.
    several : bool
        Whether several layers press; then fewer are tried.

    Returns
    -------
    ndarray, shape (choices,)
        As fractions; 0 alone for a material without stretch.

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> elastic = shipped_catalogue()["long_stretch_elastic"]
    >>> choices = stretches(elastic)
    >>> bool(choices[0] == elastic.least_stretch), round(float(choices[1] - choices[0]), 6)
    (True, 0.02)
    """
    if not material.stretches:
        return np.zeros(1)
    least = material.least_stretch
    largest = material.largest_stretch - _HEADROOM * (material.largest_stretch - least)
    if several:
        return np.linspace(least, largest, _STRETCHES_OF_SEVERAL)
    return np.arange(least, largest + STRETCH_STEP / 2, STRETCH_STEP).clip(max=largest)


def geometries(layer: PressingLayer, calf_girth_cm: float) -> list[Geometry]:
    """Every way a layer may lie.

    Parameters
    ----------
    layer : PressingLayer
        What presses.
    calf_girth_cm : float
        Largest calf girth [cm]; from 42 cm on a wider bandage is tried up the leg (common practice,
        no source).

    Returns
    -------
    list[Geometry]

    Examples
    --------
    >>> from gaiter.core.plan.systems import LayerRecipe
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> support = PressingLayer(LayerRecipe("light_support"), shipped_catalogue()["light_support"])
    >>> [way.leg_width_cm for way in geometries(support, calf_girth_cm=44)]
    [None, 15.0]
    """
    width = layer.material.usual_width_cm
    wider: list[float | None] = [None]
    if calf_girth_cm >= LARGE_CALF_CM:
        wider += [w for w in layer.material.widths_cm if w > width]
    return [
        Geometry(pattern, overlap, width, leg_width)
        for pattern in layer.recipe.patterns
        for overlap in layer.recipe.overlaps
        for leg_width in wider
    ]


def best_design(
    padded_leg: PaddedLeg, layers: Sequence[PressingLayer], aim: Aim, sampling: Sampling
) -> Design:
    """The design with the best chance of the fewest faults; failing that, the mildest one.

    Before the chance come, in this order: judged sites within the maximum, the likely middle in
    the range, the metatarsal heads within theirs, no rise towards the knee, the instep within its
    maximum (a pad may still answer it).

    Parameters
    ----------
    padded_leg : PaddedLeg
        The padded leg.
    layers : sequence of PressingLayer
        What presses, from the skin outwards.
    aim : Aim
        Range and maximum.
    sampling : Sampling
        Hands, theory, size and seed of the sample.

    Returns
    -------
    Design
        ``within`` is False where every choice exceeds the maximum too often.

    Examples
    --------
    Stretch on the foot is never above that up the leg.

    >>> from gaiter.core.bandage.pattern import Pattern
    >>> from gaiter.core.bandage.wool import Build, WoolBuild
    >>> from gaiter.core.plan.maxima import Maxima
    >>> from gaiter.core.plan.systems import LayerRecipe
    >>> from gaiter.core.plan.target import Target
    >>> from gaiter.core.spread.draws import Hands, SpreadInputs
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> leg = PaddedLeg(tube, WoolBuild(Build.EVEN, 0 * tube.s_cm, "", 0, 0.0), ())
    >>> elastic = shipped_catalogue()["long_stretch_elastic"]
    >>> layer = PressingLayer(LayerRecipe(elastic.key), elastic)
    >>> target = Target(20, 30, dict.fromkeys(Landmark, (20, 30)), "invented")
    >>> aim = Aim(target, Maxima(90, 90, 90, 180), allowed_chance_above=0.025)
    >>> sampling = Sampling(SpreadInputs((Hands.of_spread(0.18),), 1.0, 0.35), 64, seed=1)
    >>> best = best_design(leg, [layer], aim, sampling)
    >>> best.within
    True
    """
    judge = _Judge(padded_leg, layers, aim, sampling)
    calf = padded_leg.surface.girth_at_cm(Landmark.CALF)
    choices = list(stretch_choices(layers))
    swept = [
        candidate
        for chosen in product(*(geometries(layer, calf) for layer in layers))
        for candidate in judge.swept([padded_leg.laid(geometry) for geometry in chosen], choices)
    ]
    finalists = judge.judged(_finalists(swept, aim))
    if min(one.above for one in finalists) > aim.allowed_chance_above:
        return judge.design(min(finalists, key=lambda one: one.above))
    fewest = min(one.faults(aim) for one in finalists)
    equal = [one for one in finalists if one.faults(aim) == fewest]
    best = max(one.worth(aim) for one in equal)
    as_good = [one for one in equal if one.worth(aim) >= best - _AS_GOOD]
    return judge.design(
        min(as_good, key=lambda one: (one.changes_stretch, one.fabric_cm, -one.worth(aim)))
    )


def fixed_design(
    padded_leg: PaddedLeg,
    layers: Sequence[PressingLayer],
    chosen: Sequence[FixedLayer],
    aim: Aim,
    sampling: Sampling,
) -> Design:
    """The design that was chosen, judged as :func:`best_design` judges its own.

    Parameters
    ----------
    padded_leg : PaddedLeg
        The padded leg.
    layers : sequence of PressingLayer
        What presses, from the skin outwards.
    chosen : sequence of FixedLayer
        Geometry and stretches, one for each layer.
    aim : Aim
        Range and maximum.
    sampling : Sampling
        Hands, theory, size and seed of the sample.

    Returns
    -------
    Design

    Examples
    --------
    See :class:`gaiter.core.plan.design.Design` for the pressure by hand.

    >>> from gaiter.core.bandage.pattern import Pattern
    >>> from gaiter.core.bandage.wool import Build, WoolBuild
    >>> from gaiter.core.plan.maxima import Maxima
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
    >>> design.layers[0].stretch, design.layers[0].foot_stretch
    (0.5, 0.5)
    """
    laid = [padded_leg.laid(layer.geometry) for layer in chosen]
    choice = tuple((layer.foot_stretch, layer.stretch) for layer in chosen)
    judge = _Judge(padded_leg, layers, aim, sampling)
    return judge.design(judge.judged([_Candidate(laid, choice)])[0])


def stretch_choices(
    layers: Sequence[PressingLayer],
) -> Iterator[tuple[tuple[float, float], ...]]:
    """Every choice of stretch on foot and leg for each layer.

    At most one layer changes on the foot: the outermost that stretches. One that only holds the
    wool has no choice: it is just taut.

    Parameters
    ----------
    layers : sequence of PressingLayer
        From the skin outwards.

    Yields
    ------
    tuple of (float, float)
        Stretch on foot and ankle, and up the leg, of every layer, as fractions.

    Examples
    --------
    >>> from gaiter.core.plan.systems import LayerRecipe
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> layer = PressingLayer(LayerRecipe("short_stretch"), shipped_catalogue()["short_stretch"])
    >>> sorted({foot < up for ((foot, up),) in stretch_choices([layer])})
    [False, True]
    """
    several = sum(not layer.rests for layer in layers) > 1
    grids = [
        np.array([_holding_stretch(layers, number)]) if layer.only_holds
        else stretches(layer.material, several)
        for number, layer in enumerate(layers)
    ]  # fmt: skip
    grids = [
        grid if layer.rests or layer.recipe.largest_stretch is None
        else grid[grid <= layer.recipe.largest_stretch + 1e-9]
        for grid, layer in zip(grids, layers, strict=True)
    ]  # fmt: skip
    changes = max(n for n, layer in enumerate(layers) if not layer.rests)
    feet = np.linspace(grids[changes].min(), grids[changes].max(), _FOOT_STRETCHES)
    for chosen in product(*grids):
        plain = [(float(e), float(e)) for e in chosen]
        yield tuple(plain)
        up = float(chosen[changes])
        for foot in feet[feet != up]:
            plain[changes] = (float(foot), up)
            yield tuple(plain)


def _holding_stretch(layers: Sequence[PressingLayer], number: int) -> float:
    """Stretch of a layer that only holds: its least, and no more tension than the one over it."""
    material = layers[number].material
    over = [layer.material for layer in layers[number + 1 :] if layer.material.stretches]
    if not over:
        return material.least_stretch
    limit = tension_n_per_cm(over[0], over[0].least_stretch)
    return min(material.least_stretch, float(material.curve.stretch_for(limit)))


def rise_of(rings: Array) -> Array:
    """Largest rise from any place to one farther up, as a share of the lower; 0 where none.

    Parameters
    ----------
    rings : ndarray, shape (..., sites)
        Ring means from the ankle up; what no turn covers is 0 [mmHg].

    Returns
    -------
    ndarray, shape (...)

    Examples
    --------
    >>> rise_of(np.array([25.0, 32.0, 36.0, 20.0])).round(2)
    np.float64(0.44)
    """
    lowest = np.minimum.accumulate(np.where(rings > 0, rings, np.inf), axis=-1)
    rise: Array = np.maximum(rings / lowest - 1, 0).max(axis=-1)
    return rise


Choice = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class _Candidate:
    """A way to lay and stretch the layers, with its chances once it was judged.

    Chances above are those at the worst judged site, which is named, at the metatarsal heads and
    at the instep; the rise is that of ring means towards the knee, as a share; the middle is at the
    gaiter.
    """

    laid: Sequence[LaidLayer]
    choice: Choice
    in_range: float = np.nan
    above: float = np.nan
    heads: float = np.nan
    instep: float = np.nan
    rise: float = np.nan
    middle_mmhg: float = np.nan
    above_at: Landmark = Landmark.GAITER

    @property
    def changes_stretch(self) -> bool:
        """Whether a layer is stretched otherwise on foot and ankle than up the leg."""
        return any(foot != up for foot, up in self.choice)

    @property
    def fabric_cm(self) -> float:
        """Length of all pressing layers on the leg [cm]."""
        return sum(laid.strips.path.length_cm for laid in self.laid)

    def faults(self, aim: Aim, slack: float = 0.0) -> tuple[bool, ...]:
        """What is wrong with it, the gravest first; the slack eases the chances."""
        allowed = aim.allowed_chance_above + slack
        return (
            self.above > allowed,
            self.middle_mmhg < aim.target.gaiter_low_mmhg,
            self.heads > allowed,
            self.rise > aim.allowed_rise,
            self.instep > allowed,
        )

    def worth(self, aim: Aim) -> float:
        """Chance in range, less what the foot has above its maximum beyond what is allowed."""
        allowed = aim.allowed_chance_above
        return self.in_range - max(self.heads - allowed, 0) - max(self.instep - allowed, 0)


def _finalists(swept: Sequence[_Candidate], aim: Aim) -> list[_Candidate]:
    """Candidates that all the samples may find best: the likely ones, safe ones, the mildest."""
    found = [min(swept, key=lambda one: one.above)]
    for slack in (_ROUGH_SLACK, -_ROUGH_SLACK):
        found += sorted(swept, key=lambda one: (one.faults(aim, slack), -one.worth(aim)))[
            :_FINALISTS
        ]
    return list({id(one): one for one in found}.values())


class _Judge:
    """Judges ways to lay and stretch the layers by the same draws."""

    def __init__(
        self, padded_leg: PaddedLeg, layers: Sequence[PressingLayer], aim: Aim, sampling: Sampling
    ) -> None:
        self.padded_leg, self.layers, self.aim, self.sampling = padded_leg, layers, aim, sampling
        self.resting = [layer.rests for layer in layers]
        names = list(padded_leg.sites)
        self.judged_sites = [site for site in LEG_SITES if site in names]
        self.foot_sites = [site for site in FOOT_SITES if site in names]
        self.rows = [names.index(site) for site in (*self.judged_sites, *self.foot_sites)]
        self.gaiter = self.judged_sites.index(Landmark.GAITER)
        bounds = np.array([aim.target.site_mmhg[site] for site in self.judged_sites])
        self.low, self.high = bounds[:, 0, None], bounds[:, 1, None]
        maxima = [aim.maxima.of(site.label) for site in self.judged_sites]
        self.most = np.array(maxima)[:, None]
        self._known: dict[tuple[int, float], float] = {}

    def swept(self, laid: Sequence[LaidLayer], choices: Sequence[Choice]) -> list[_Candidate]:
        """Every choice of stretch on one geometry, by the first part of the samples."""
        whole = self.sampling.samples
        few = min(max(whole // _SWEEP_SHARE, _LEAST_SWEEP), whole)
        return self._chances(laid, choices, replace(self.sampling, samples=few, of=whole))

    def judged(self, candidates: Sequence[_Candidate]) -> list[_Candidate]:
        """Candidates by all the samples; those of one geometry are sampled once."""
        by_geometry: dict[tuple[int, ...], list[_Candidate]] = {}
        for one in candidates:
            by_geometry.setdefault(tuple(id(laid) for laid in one.laid), []).append(one)
        return [
            judged
            for group in by_geometry.values()
            for judged in self._chances(group[0].laid, [one.choice for one in group], self.sampling)
        ]

    def _chances(
        self, laid: Sequence[LaidLayer], choices: Sequence[Choice], sampling: Sampling
    ) -> list[_Candidate]:
        """Chances, rise and likely middle of stretches on a geometry."""
        layers = [
            one.sampled(resting=rests).at(self.rows)
            for one, rests in zip(laid, self.resting, strict=True)
        ]
        discs = [self.padded_leg.discs[row] for row in self.rows]
        units = sampling.units(layers, self.padded_leg.girths(discs))
        rings = np.array([one.ring_units for one in laid])
        found: list[_Candidate] = []
        for start in range(0, len(choices), _AT_ONCE):
            some = choices[start : start + _AT_ONCE]
            tensions = np.array([self._tensions(choice) for choice in some])
            pressure = np.einsum("clp,lpds->cds", tensions, units, optimize=True)
            at_judged = pressure[:, : len(self.low)]
            inside = ((self.low <= at_judged) & (at_judged <= self.high)).all(axis=1)
            above = (at_judged > self.most).mean(axis=2)
            worst = [self.judged_sites[row] for row in above.argmax(axis=1)]
            foot = (pressure[:, len(self.low) :] > self.aim.maxima.foot_mmhg).mean(axis=2)
            at_foot = dict(zip(self.foot_sites, foot.T, strict=True))
            nothing = np.zeros(len(some))
            found += [
                _Candidate(laid, *one)
                for one in zip(
                    some,
                    inside.mean(axis=1).tolist(),
                    above.max(axis=1).tolist(),
                    at_foot.get(Landmark.METATARSAL_HEADS, nothing).tolist(),
                    at_foot.get(Landmark.INSTEP, nothing).tolist(),
                    rise_of(np.einsum("clp,lps->cs", tensions, rings)).tolist(),
                    np.median(pressure[:, self.gaiter], axis=1).tolist(),
                    worst,
                    strict=True,
                )
            ]
        return found

    def _tensions(self, choice: Choice) -> list[tuple[float, float]]:
        return [
            (self._tension(number, foot), self._tension(number, up))
            for number, (foot, up) in enumerate(choice)
        ]

    def _tension(self, layer: int, stretch: float) -> float:
        """Tension of a layer [N/cm], worked out once for each stretch of the sweep."""
        key = layer, stretch
        if key not in self._known:
            self._known[key] = tension_n_per_cm(self.layers[layer].material, stretch)
        return self._known[key]

    def design(self, winner: _Candidate) -> Design:
        """A judged candidate with its pressures at every disc."""
        units = self.padded_leg.units(
            list(zip(winner.laid, self.resting, strict=True)), self.sampling
        )
        return Design(
            padded_leg=self.padded_leg,
            layers=tuple(
                DesignedLayer(one, layer.material, up, foot, layer.rests)
                for one, layer, (foot, up) in zip(
                    winner.laid, self.layers, winner.choice, strict=True
                )
            ),
            pressure_mmhg=pressure_of(units, self._tensions(winner.choice)),
            chance_in_range=winner.in_range,
            chance_above=winner.above,
            within=winner.above <= self.aim.allowed_chance_above,
            sampling=self.sampling,
            above_at=winner.above_at,
        )
