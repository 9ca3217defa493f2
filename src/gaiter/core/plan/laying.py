"""One leg with everything that is laid on it, each geometry computed once."""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.bandage.coverage import thicknesses
from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import ANKLE_TURN, Pattern, waypoints
from gaiter.core.bandage.strips import Strips, lay
from gaiter.core.bandage.wool import Build, WoolBuild, wool_build
from gaiter.core.fabric.catalogue import USUAL_WIDTH_CM
from gaiter.core.landmark import HABIT_HEIGHTS, LEG_SITES, Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.leg.surface import Surface
from gaiter.core.pressure.discs import (
    Disc,
    bony_places,
    hoop_curvature,
    inner_line,
    reading_sites,
)
from gaiter.core.pressure.padding import girth_over_pads_cm, pad_on_cells_cm
from gaiter.core.pressure.surface_map import ring_mean_at, shifted_unit_table, unit_map
from gaiter.core.spread.draws import TAPE_SD_CM, LayerTurns, SpreadInputs
from gaiter.core.spread.sampling import (
    SHIFTS_CM,
    Girths,
    SampledLayer,
    points_for,
    sample_units,
)

# Spread of an estimated girth [cm]: about the published residual of the calf (1.7 to 1.8 cm;
# Gordon et al. 2014), the largest of the regressions used.
ESTIMATED_SD_CM = 1.8
# Whole turns on foot and ankle, before the one that leads up the leg.
FOOT_TURNS = int(ANKLE_TURN)
# The first turn only holds the end and is laid without stretch (common practice, no source).
HOLDING_TURNS = 1
# A disc averages over 2.5 cm; a finer line would show nothing more.
_PROFILE_STEP_CM = 1.5


@dataclass(frozen=True)
class Geometry:
    """How a layer lies, apart from its stretch; another width may be used up the leg."""

    pattern: Pattern
    overlap: float
    width_cm: float
    leg_width_cm: float | None = None


@dataclass(frozen=True)
class Padding:
    """What lies soft under the pressing layers.

    Attributes
    ----------
    even_cm : float
        Even thickness [cm].
    layer_cm : float
        Thickness of one more layer of wool [cm].
    build : Build
        What the wool is built up to.
    end : Landmark
        Where the bandage ends.
    start : Landmark or None
        Where it starts; None: as far down as the leg was measured.
    pads_cm : tuple[tuple[str, float], ...]
        Pads over single places, by name [cm].
    """

    even_cm: float = 0.0
    layer_cm: float = 0.0
    build: Build = Build.EVEN
    end: Landmark = Landmark.BELOW_KNEE
    start: Landmark | None = None
    pads_cm: tuple[tuple[str, float], ...] = ()


class LaidLayer:
    """One geometry laid on a padded leg, with its pressure per tension."""

    def __init__(self, padded_leg: "PaddedLeg", geometry: Geometry) -> None:
        self.padded_leg, self.geometry = padded_leg, geometry
        points = waypoints(
            padded_leg.surface,
            geometry.pattern,
            geometry.width_cm,
            geometry.overlap,
            geometry.leg_width_cm,
        )
        path = faired_path(padded_leg.surface, points)
        on_leg = path.turn >= ANKLE_TURN
        width = np.where(on_leg, geometry.leg_width_cm or geometry.width_cm, geometry.width_cm)
        self.strips: Strips = lay(padded_leg.surface, path, width)

    def on(self, padded_leg: "PaddedLeg") -> "LaidLayer":
        """The same turns with the discs of another padding of the same shape, as pads change it.

        A pad lifts the fabric over its own place alone; where the turns run stays.
        """
        other = copy(self)
        other.padded_leg = padded_leg
        for name in ("table", "profile_table"):
            other.__dict__.pop(name, None)
        return other

    @cached_property
    def ring_units(self) -> Array:
        """Ring mean per tension of foot and leg turns at the judged sites, shape (2, sites)."""
        surface = self.padded_leg.surface
        return np.array(
            [
                [ring_mean_at(surface, part, surface.landmark_s_cm[site]) for site in LEG_SITES]
                for part in self.part_maps
            ]
        )

    @cached_property
    def part_maps(self) -> tuple[Array, Array]:
        """Pressure per tension of the turns on foot and ankle, and of those up the leg."""
        turns = range(self.strips.turns)
        foot, leg = turns[HOLDING_TURNS:FOOT_TURNS], turns[FOOT_TURNS:]
        return unit_map(self.strips, foot), unit_map(self.strips, leg)

    @cached_property
    def unit_map(self) -> Array:
        """Pressure per tension on every cell [mmHg cm/N]."""
        foot, leg = self.part_maps
        return foot + leg

    @cached_property
    def thicknesses(self) -> Array:
        """Thicknesses on every cell."""
        return thicknesses(self.strips)

    @cached_property
    def table(self) -> Array:
        """Pressure per tension of every turn at every disc for shifted turns."""
        return self.table_at(self.padded_leg.discs)

    @cached_property
    def profile_table(self) -> Array:
        """The same at the discs up the inner side."""
        return self.table_at(self.padded_leg.profile[1])

    def table_at(self, discs: Sequence[Disc]) -> Array:
        """The same at any discs of this leg."""
        table = shifted_unit_table(self.strips, discs, SHIFTS_CM)
        table[:HOLDING_TURNS] = 0
        return table

    def sampled(self, *, resting: bool, profile: bool = False) -> SampledLayer:
        """The layer for the spread, at the discs or at those of the profile."""
        turns = LayerTurns(self.strips.turns, FOOT_TURNS, resting, self.heights)
        return SampledLayer(turns, self.profile_table if profile else self.table)

    @cached_property
    def turn_s_cm(self) -> Array:
        """Chart position of the middle of every turn, shape (turns,) [cm]."""
        path = self.strips.path
        middle = path.turn[0] + np.arange(self.strips.turns) + 0.5
        return np.interp(middle, path.turn, path.s_cm)

    @cached_property
    def heights(self) -> Array:
        """Share of each height of a habit in each turn, by where its middle lies."""
        middle = self.turn_s_cm
        known = [self.padded_leg.surface.landmark_s_cm[landmark] for landmark in HABIT_HEIGHTS]
        return np.stack([np.interp(middle, known, unit) for unit in np.eye(len(known))], axis=1)


class PaddedLeg:
    """A leg under a padding, with the discs at which pressure is read or judged."""

    def __init__(
        self,
        surface: Surface,
        wool: WoolBuild,
        estimated: Sequence[str],
        pads_cm: Mapping[str, float] | None = None,
    ) -> None:
        self.surface, self.wool = surface, wool
        self.pads_cm = dict(pads_cm or {})
        self._estimated = frozenset(estimated)
        self._laid: dict[Geometry, LaidLayer] = {}
        self._units: dict[object, Array] = {}

    @cached_property
    def sites(self) -> Mapping[Landmark, Disc]:
        """Reading sites."""
        return reading_sites(self.surface, self.pads_cm)

    @cached_property
    def bony(self) -> tuple[Disc, ...]:
        """Bony places."""
        return bony_places(self.surface, self.pads_cm)

    @cached_property
    def hoop_curvature(self) -> Array:
        """Normal curvature round the leg on every cell, 0 where hollow [1/cm]."""
        return hoop_curvature(self.surface)

    def under_pads(self, pads_cm: Mapping[str, float]) -> "PaddedLeg":
        """The same leg with other pads; nothing that they leave alone is worked out again."""
        other = PaddedLeg(self.surface, self.wool, tuple(self._estimated), pads_cm)

        def padded(name: str, where: Disc) -> Disc:
            if pads_cm.get(name, 0.0) == self.pads_cm.get(name, 0.0):
                return where
            return where.under_pad(self.surface, pads_cm.get(name, 0.0))

        known = other.__dict__
        known["hoop_curvature"] = self.hoop_curvature
        known["sites"] = {site: padded(site.label, one) for site, one in self.sites.items()}
        known["bony"] = tuple(padded(one.name, one) for one in self.bony)
        return other

    @property
    def names(self) -> list[str]:
        """Name of every disc: labels of the reading sites, then bony places."""
        return [site.label for site in self.sites] + [where.name for where in self.bony]

    def place(self, name: str) -> tuple[float, float]:
        """Chart position [cm] and angle [rad] of a reading site or a bony place."""
        where = self.discs[self.names.index(name)]
        return where.s_cm, where.angle

    @cached_property
    def pads_on_cells_cm(self) -> Array:
        """Thickness of pads on every cell [cm]; where two meet the thicker counts."""
        cells = np.zeros(self.surface.section_cm.shape[1:])
        for name, thickness in self.pads_cm.items():
            if name in self.names and thickness > 0:
                pad = pad_on_cells_cm(self.surface, *self.place(name), thickness)
                cells = np.maximum(cells, pad)
        return cells

    @cached_property
    def arrives(self) -> Array:
        """Share of the pressure on every cell that arrives under the pads."""
        share: Array = 1 / (1 + self.hoop_curvature * self.pads_on_cells_cm)
        return share

    def girth_cm(self, landmark: Landmark) -> float:
        """What a tape reads at a landmark over wool and pads [cm]."""
        s_cm = self.surface.landmark_s_cm[landmark]
        more = girth_over_pads_cm(self.surface, self.pads_on_cells_cm, s_cm)
        return self.surface.girth_at_cm(landmark) + more

    @cached_property
    def profile(self) -> tuple[Array, tuple[Disc, ...]]:
        """Chart positions and discs up the inner side."""
        return inner_line(self.surface, _PROFILE_STEP_CM)

    @property
    def discs(self) -> tuple[Disc, ...]:
        """Reading sites, then bony places."""
        return (*self.sites.values(), *self.bony)

    def girths(self, discs: Sequence[Disc]) -> Girths:
        """Girth at every disc and how surely it is known."""
        rings = np.array([round(float(disc.weights @ disc.rings)) for disc in discs])
        return self.girths_at(self.surface.s_cm[rings])

    def girths_at(self, s_cm: Array) -> Girths:
        """Girth at chart positions, its error shared between the landmarks on either side."""
        surface = self.surface
        places = [surface.landmark_s_cm[landmark] for landmark in Landmark]
        error = [
            ESTIMATED_SD_CM if f"girth_cm.{landmark}" in self._estimated else TAPE_SD_CM
            for landmark in Landmark
        ]
        shares = [np.interp(s_cm, places, one) for one in np.diag(error)]
        return Girths(np.interp(s_cm, surface.s_cm, surface.girth_cm), np.stack(shares, axis=1))

    def laid(self, geometry: Geometry) -> LaidLayer:
        """A geometry laid on this leg; computed once."""
        if geometry not in self._laid:
            self._laid[geometry] = LaidLayer(self, geometry)
        return self._laid[geometry]

    def units(self, layers: Sequence[tuple[LaidLayer, bool]], sampling: "Sampling") -> Array:
        """Sampled pressure per tension of laid layers at the discs; computed once.

        Each layer comes with whether it is a resting one. Shape (layers, 2, discs, samples).
        """
        key = (tuple((laid.geometry, resting) for laid, resting in layers), sampling)
        if key not in self._units:
            sampled = [laid.sampled(resting=resting) for laid, resting in layers]
            self._units[key] = sampling.units(sampled, self.girths(self.discs))
        return self._units[key]


@dataclass(frozen=True)
class Sampling:
    """Inputs, size and seed of a sample of bandages; ``of`` makes it the first part of another."""

    inputs: SpreadInputs
    samples: int
    seed: int
    of: int | None = None

    def units(self, layers: Sequence[SampledLayer], girths: Girths) -> Array:
        """Pressure per tension, shape (layers, 2, discs, samples)."""
        points = points_for(layers, self.samples, self.seed, self.of)
        return sample_units(layers, self.inputs, girths, points)


class BandagedLeg:
    """One leg, bare and under every padding asked for."""

    def __init__(self, measured: LegMeasurements) -> None:
        self.measured = measured
        self.bare = leg_surface(measured)
        self._padded_legs: dict[Padding, PaddedLeg] = {}
        self._shapes: dict[tuple[float, float, Build], tuple[Surface, WoolBuild]] = {}

    def _padded(self, even_cm: float, layer_cm: float, build: Build) -> tuple[Surface, WoolBuild]:
        """The leg outside its padding, wherever the bandage starts and ends; computed once."""
        key = (even_cm, layer_cm, build)
        if key not in self._shapes:
            wool = wool_build(build, self.bare, even_cm, layer_cm, USUAL_WIDTH_CM)
            thickness = even_cm + wool.extra_cm
            surface = self.bare.padded(thickness) if thickness.any() else self.bare
            # Worked out here once, it is shared by every bandage on this padding.
            _shared = surface.forms, surface.girth_cm
            self._shapes[key] = surface, wool
        return self._shapes[key]

    def under(self, padding: Padding) -> PaddedLeg:
        """The leg under a padding; computed once."""
        if padding not in self._padded_legs:
            surface, wool = self._padded(padding.even_cm, padding.layer_cm, padding.build)
            bandaged = surface.between(padding.start or self.bare.start, padding.end)
            self._padded_legs[padding] = PaddedLeg(
                bandaged, wool, self.measured.estimated, dict(padding.pads_cm)
            )
        return self._padded_legs[padding]
