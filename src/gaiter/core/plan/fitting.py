"""One leg with everything that is laid on it, each geometry computed once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaiter.core.bandage.coverage import thicknesses
from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.strips import Strips, lay
from gaiter.core.bandage.technique import Pattern, waypoints
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.leg.surface import Surface
from gaiter.core.pressure.discs import Disc, bony_places, inner_line, reading_sites
from gaiter.core.pressure.spread import SHIFTS_CM, TAPE_SD_CM, Sites
from gaiter.core.pressure.surface_map import shifted_unit_table, unit_map

Array = npt.NDArray[np.float64]

# Spread of an estimated girth [cm]: about the published residual of the calf (1.7 to 1.8 cm;
# Gordon et al. 2014), the largest of the regressions used.
ESTIMATED_SD_CM = 1.8
_PROFILE_STEP_CM = 1.0


@dataclass(frozen=True)
class Geometry:
    """How a layer lies, apart from its stretch."""

    pattern: Pattern
    overlap: float
    width_cm: float


class Laid:
    """One geometry laid on a padded leg, with its pressure per tension."""

    def __init__(self, ground: "Ground", geometry: Geometry) -> None:
        self.ground, self.geometry = ground, geometry
        points = waypoints(ground.surface, geometry.pattern, geometry.width_cm, geometry.overlap)
        self.strips: Strips = lay(
            ground.surface, faired_path(ground.surface, points), geometry.width_cm
        )

    @cached_property
    def unit_map(self) -> Array:
        """Pressure per tension on every cell [mmHg cm/N]."""
        return unit_map(self.strips)

    @cached_property
    def thicknesses(self) -> Array:
        """Thicknesses on every cell."""
        return thicknesses(self.strips)

    @cached_property
    def profile_table(self) -> Array:
        """The same at the discs up the inner side."""
        return shifted_unit_table(self.strips, self.ground.profile[1], SHIFTS_CM)

    @cached_property
    def table(self) -> Array:
        """Pressure per tension of every turn at every disc for shifted turns."""
        return shifted_unit_table(self.strips, self.ground.discs, SHIFTS_CM)


class Ground:
    """A leg under a padding, with the discs at which pressure is read or judged."""

    def __init__(self, surface: Surface, estimated: Sequence[str]) -> None:
        self.surface = surface
        self._estimated = frozenset(estimated)
        self._laid: dict[Geometry, Laid] = {}

    @cached_property
    def sites(self) -> Mapping[Landmark, Disc]:
        """Reading sites."""
        return reading_sites(self.surface)

    @cached_property
    def bony(self) -> tuple[Disc, ...]:
        """Bony places."""
        return bony_places(self.surface)

    @cached_property
    def profile(self) -> tuple[Array, tuple[Disc, ...]]:
        """Chart positions and discs up the inner side."""
        return inner_line(self.surface, _PROFILE_STEP_CM)

    @property
    def discs(self) -> tuple[Disc, ...]:
        """Reading sites, then bony places."""
        return (*self.sites.values(), *self.bony)

    def tape(self, discs: Sequence[Disc]) -> Sites:
        """Girth at every disc and how surely it is known: as surely as the nearest landmark's."""
        rings = np.array([round(float(disc.weights @ disc.rings)) for disc in discs])
        places = np.array([self.surface.landmark_s_cm[landmark] for landmark in Landmark])
        spread = np.array(
            [
                ESTIMATED_SD_CM if f"girth_cm.{landmark}" in self._estimated else TAPE_SD_CM
                for landmark in Landmark
            ]
        )
        nearest = np.abs(self.surface.s_cm[rings][:, None] - places).argmin(axis=1)
        return Sites(self.surface.girth_cm[rings], spread[nearest])

    def laid(self, geometry: Geometry) -> Laid:
        """A geometry laid on this leg; computed once."""
        if geometry not in self._laid:
            self._laid[geometry] = Laid(self, geometry)
        return self._laid[geometry]


class Fitting:
    """One leg, bare and under every padding asked for."""

    def __init__(self, measured: LegMeasurements) -> None:
        self.measured = measured
        self._bare = leg_surface(measured)
        self._grounds: dict[float, Ground] = {}

    def under(self, padding_cm: float) -> Ground:
        """The leg under an even padding [cm]; computed once."""
        if padding_cm not in self._grounds:
            surface = self._bare.padded(padding_cm) if padding_cm else self._bare
            self._grounds[padding_cm] = Ground(surface, self.measured.estimated)
        return self._grounds[padding_cm]
