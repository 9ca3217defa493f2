"""Search for the patterns, overlaps and stretches that most likely put every site in its range.

For one geometry pressure is linear in the tensions, so unit pressures are sampled once and
every stretch is judged on the same samples.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product

import numpy as np
import numpy.typing as npt

from gaiter.core.landmark import Landmark
from gaiter.core.material import Material
from gaiter.core.plan.fitting import HOLDING_TURNS, Geometry, Ground, Laid, Sampling
from gaiter.core.plan.systems import LayerRecipe
from gaiter.core.plan.target import JUDGED_SITES, Target
from gaiter.core.pressure.coarse import (
    COLUMNS,
    ROWS,
    coarse_cells,
    row_centres_cm,
    row_height_cm,
)
from gaiter.core.pressure.draws import Draws, InputGroup, Layout, draws, sampled_bandages
from gaiter.core.pressure.importance import Share, group_shares
from gaiter.core.pressure.kernel import CellSummary
from gaiter.core.pressure.spread import (
    SHIFTS_CM,
    SampledLayer,
    points_for,
    sample_units,
    summary_on_cells,
)

Array = npt.NDArray[np.float64]

# A mark spacing is read to about 2 mm; a finer stretch means nothing.
STRETCH_STEP = 0.02
# With several pressing layers, choices of stretch for each.
_STRETCHES_OF_SEVERAL = 6
# Choices of a lower stretch on foot and ankle.
_FOOT_STRETCHES = 5
# A chance this much better is not worth more fabric.
_AS_GOOD = 0.01
# Pairs of samples behind the shares of the spread; they are shown to the nearest 5 %.
_SHARE_SAMPLES = 512
# From this calf girth on a wider bandage may be used up the leg (common practice, no source).
LARGE_CALF_CM = 42.0
_FOOT_SITES = (Landmark.METATARSAL_HEADS, Landmark.INSTEP)


@dataclass(frozen=True)
class Aim:
    """What a design is judged by.

    Attributes
    ----------
    target : Target
        Range at every site.
    maximum_mmhg : float
        Maximum at the gaiter; no other judged site may exceed it either.
    allowed_chance_above : float
        Chance of exceeding it that policy allows.
    guard_foot : bool
        Whether the foot, too, is held under the maximum (poor or untested arteries).
    """

    target: Target
    maximum_mmhg: float
    allowed_chance_above: float
    guard_foot: bool = False


@dataclass(frozen=True)
class PressingLayer:
    """A layer that presses, before it is designed."""

    recipe: LayerRecipe
    material: Material


@dataclass(frozen=True)
class DesignedLayer:
    """A pressing layer with its geometry and its stretch on foot and leg, as fractions."""

    laid: Laid
    material: Material
    stretch: float
    foot_stretch: float

    @property
    def tensions_n_per_cm(self) -> tuple[float, float]:
        """Tension on foot and ankle, and up the leg [N/cm]."""
        return tuple(_tension(self.material, e) for e in (self.foot_stretch, self.stretch))  # type: ignore[return-value] # a pair by construction

    @property
    def pressure_map_mmhg(self) -> Array:
        """What it presses on every cell, without spread [mmHg]."""
        foot, leg = self.tensions_n_per_cm
        foot_map, leg_map = self.laid.part_maps
        return foot * foot_map + leg * leg_map


@dataclass(frozen=True)
class Design:
    """Layers with geometry, stretch and sampled pressures.

    Attributes
    ----------
    ground : Ground
        The padded leg.
    layers : tuple[DesignedLayer, ...]
        From the skin outwards.
    pressure_mmhg : ndarray, shape (discs, samples)
        Sampled pressure at reading sites, then bony places.
    chance_in_range : float
        Chance that every judged site lies in its range.
    chance_above : float
        Largest chance, over the guarded sites, of exceeding the maximum.
    within : bool
        Whether that chance is allowed.
    sampling : Sampling
        What the sampling rests on.
    """

    ground: Ground
    layers: tuple[DesignedLayer, ...]
    pressure_mmhg: Array
    chance_in_range: float
    chance_above: float
    within: bool
    sampling: Sampling

    @cached_property
    def profile_mmhg(self) -> Array:
        """Sampled pressure at the discs up the inner side, shape (discs, samples) [mmHg]."""
        _, discs = self.ground.profile
        sampled = [
            layer.laid.sampled(resting=not layer.material.stretches, profile=True)
            for layer in self.layers
        ]
        units = self.sampling.units(sampled, self.ground.girths(discs))
        return _pressure(units, self.tensions_n_per_cm)

    @property
    def tensions_n_per_cm(self) -> list[tuple[float, float]]:
        """Tension of every layer on foot and ankle, and up the leg [N/cm]."""
        return [layer.tensions_n_per_cm for layer in self.layers]

    @cached_property
    def spread_from(self) -> dict[InputGroup, Share]:
        """How much of the spread at the gaiter each group of inputs brings."""
        row = list(self.ground.sites).index(Landmark.GAITER)
        girths = self.ground.girths(self.ground.discs[row : row + 1])
        layers = [replace(layer, table=layer.table[..., row : row + 1]) for layer in self._sampled]
        layout = Layout([layer.turns.turns for layer in layers])

        def at_the_gaiter(points: Array) -> Array:
            units = sample_units(layers, self.sampling.inputs, girths, Draws(points))
            return _pressure(units, self.tensions_n_per_cm)[0]

        pairs = draws(2 * layout.inputs, _SHARE_SAMPLES, self.sampling.seed).uniform
        return group_shares(at_the_gaiter, pairs, {g: layout.rows_of(g) for g in InputGroup})

    @property
    def _sampled(self) -> list[SampledLayer]:
        return [layer.laid.sampled(resting=not layer.material.stretches) for layer in self.layers]

    def on_cells(self, limit_mmhg: float) -> CellSummary:
        """What the sampled bandages do on every coarse cell, judged by one limit [mmHg]."""
        surface = self.ground.surface
        turns = [layer.turns for layer in self._sampled]
        points = points_for(self._sampled, self.sampling.samples, self.sampling.seed)
        planned = [
            np.where(np.arange(turn.turns) < turn.foot_turns, *tension)
            for turn, tension in zip(turns, self.tensions_n_per_cm, strict=True)
        ]
        strips = [layer.laid.strips for layer in self.layers]
        return summary_on_cells(
            coarse_cells(strips, HOLDING_TURNS, SHIFTS_CM[-1]),
            row_height_cm(surface),
            np.concatenate(planned),
            self.ground.girths_at(row_centres_cm(surface)),
            sampled_bandages(turns, self.sampling.inputs, points),
            np.full((ROWS, COLUMNS), limit_mmhg),
        )

    @property
    def pressure_map_mmhg(self) -> Array:
        """Pressure on every cell without spread, plain sum of the layers [mmHg]."""
        return sum((layer.pressure_map_mmhg for layer in self.layers), np.zeros(1))

    @property
    def thicknesses(self) -> Array:
        """Thicknesses of pressing layers on every cell."""
        return sum((layer.laid.thicknesses for layer in self.layers), np.zeros(1))

    @property
    def fabric_cm(self) -> float:
        """Length of all pressing layers on the leg [cm]."""
        return sum(layer.laid.strips.path.length_cm for layer in self.layers)

    def median_mmhg(self, landmark: Landmark) -> float:
        """Median pressure at a reading site [mmHg]."""
        row = list(self.ground.sites).index(landmark)
        return float(np.median(self.pressure_mmhg[row]))


def stretches(material: Material, several: bool = False) -> Array:
    """Stretches of a material that may be chosen, least to largest; 0 for one without stretch."""
    if not material.stretches:
        return np.zeros(1)
    least, largest = material.least_stretch, material.largest_stretch
    if several:
        return np.linspace(least, largest, _STRETCHES_OF_SEVERAL)
    return np.arange(least, largest + STRETCH_STEP / 2, STRETCH_STEP).clip(max=largest)


def geometries(layer: PressingLayer, calf_girth_cm: float) -> list[Geometry]:
    """Every way a layer may lie."""
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
    ground: Ground, layers: Sequence[PressingLayer], aim: Aim, sampling: Sampling
) -> Design:
    """The design with the best chance within the maximum; failing that, the mildest one.

    Parameters
    ----------
    ground : Ground
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
    """
    calf = ground.surface.girth_at_cm(Landmark.CALF)
    designs = []
    for chosen in product(*(geometries(layer, calf) for layer in layers)):
        laid = [ground.laid(geometry) for geometry in chosen]
        choices = stretch_choices(layers, aim.guard_foot)
        designs.append(_best_of(choices, ground, laid, layers, aim, sampling))
    allowed = [design for design in designs if design.within]
    if not allowed:
        return min(designs, key=lambda design: design.chance_above)
    best = max(design.chance_in_range for design in allowed)
    as_good = [design for design in allowed if design.chance_in_range >= best - _AS_GOOD]
    return min(as_good, key=lambda design: design.fabric_cm)


@dataclass(frozen=True)
class FixedLayer:
    """A pressing layer as somebody chose it: geometry, stretch on leg and on foot (fractions)."""

    geometry: Geometry
    stretch: float
    foot_stretch: float


def fixed_design(
    ground: Ground,
    layers: Sequence[PressingLayer],
    chosen: Sequence[FixedLayer],
    aim: Aim,
    sampling: Sampling,
) -> Design:
    """The design that was chosen, judged as :func:`best_design` judges its own.

    Parameters
    ----------
    ground : Ground
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
    """
    laid = [ground.laid(layer.geometry) for layer in chosen]
    choice = tuple((layer.foot_stretch, layer.stretch) for layer in chosen)
    return _best_of([choice], ground, laid, layers, aim, sampling)


def _tension(material: Material, stretch: float) -> float:
    if not material.stretches:
        return material.resting_tension_n_per_cm
    return float(material.curve.tension_n_per_cm(stretch))


def _pressure(units: Array, tensions: Sequence[tuple[float, float]]) -> Array:
    """Sum over layers and parts of tension times unit pressure, shape (discs, samples)."""
    return np.einsum("lp,lpds->ds", np.array(tensions), units)


def stretch_choices(
    layers: Sequence[PressingLayer], guard_foot: bool
) -> Iterator[tuple[tuple[float, float], ...]]:
    """Every choice of stretch on foot and leg for each layer, the leg never below the foot.

    At most one layer changes on the foot: the outermost that stretches.
    """
    several = sum(layer.material.stretches for layer in layers) > 1
    grids = [stretches(layer.material, several) for layer in layers]
    changes = max(n for n, layer in enumerate(layers) if layer.material.stretches)
    least = layers[changes].material.least_stretch
    for chosen in product(*grids):
        plain = [(float(e), float(e)) for e in chosen]
        yield tuple(plain)
        if guard_foot:
            up = float(chosen[changes])
            for foot in np.linspace(least, up, _FOOT_STRETCHES)[:-1] if up > least else ():
                plain[changes] = (float(foot), up)
                yield tuple(plain)


Choice = tuple[tuple[float, float], ...]


def _best_of(
    choices: Iterable[Choice],
    ground: Ground,
    laid: Sequence[Laid],
    layers: Sequence[PressingLayer],
    aim: Aim,
    sampling: Sampling,
) -> Design:
    """The stretches with the best chance within the maximum; the mildest when none is allowed."""
    resting = [not layer.material.stretches for layer in layers]
    units = ground.units(list(zip(laid, resting, strict=True)), sampling)
    names = list(ground.sites)
    judged = [names.index(site) for site in JUDGED_SITES if site in names]
    guarded = judged + [names.index(s) for s in _FOOT_SITES if aim.guard_foot and s in names]
    low, high = (
        np.array([aim.target.site_mmhg[names[row]][end] for row in judged])[:, None]
        for end in (0, 1)
    )
    at_judged, at_guarded = units[:, :, judged], units[:, :, guarded]
    found = []
    for choice in choices:
        tensions = [
            (_tension(layer.material, foot), _tension(layer.material, up))
            for layer, (foot, up) in zip(layers, choice, strict=True)
        ]
        pressure = _pressure(at_judged, tensions)
        in_range = ((low <= pressure) & (pressure <= high)).all(axis=0).mean()
        guard = pressure if guarded == judged else _pressure(at_guarded, tensions)
        above = (guard > aim.maximum_mmhg).mean(axis=1).max()
        found.append((float(in_range), float(above), choice, tensions))
    within = [entry for entry in found if entry[1] <= aim.allowed_chance_above]
    best = max(within, key=lambda e: e[0]) if within else min(found, key=lambda e: e[1])
    in_range, above, choice, tensions = best
    return Design(
        ground=ground,
        layers=tuple(
            DesignedLayer(one, layer.material, up, foot)
            for one, layer, (foot, up) in zip(laid, layers, choice, strict=True)
        ),
        pressure_mmhg=_pressure(units, tensions),
        chance_in_range=in_range,
        chance_above=above,
        within=bool(within),
        sampling=sampling,
    )
