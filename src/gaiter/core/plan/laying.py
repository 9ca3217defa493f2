"""One geometry laid on a padded leg, with what its turns press per tension."""

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.bandage.coverage import thicknesses
from gaiter.core.bandage.covering import covering_strips
from gaiter.core.bandage.pattern import ANKLE_TURN, Pattern
from gaiter.core.bandage.strips import Strips
from gaiter.core.landmark import HABIT_HEIGHTS, LEG_SITES
from gaiter.core.pressure.discs import (
    Disc,
)
from gaiter.core.pressure.surface_map import ring_mean_at, shifted_unit_table, unit_map
from gaiter.core.spread.draws import LayerTurns
from gaiter.core.spread.sampling import (
    SHIFTS_CM,
    SampledLayer,
)

if TYPE_CHECKING:
    from gaiter.core.plan.padded_leg import PaddedLeg

# Whole turns on foot and ankle, before the one that leads up the leg.
FOOT_TURNS = int(ANKLE_TURN)
# The first turn only holds the end and is laid without stretch (common practice, no source).
HOLDING_TURNS = 1


@dataclass(frozen=True)
class Geometry:
    """How a layer lies, apart from its stretch; another width may be used up the leg.

    Attributes
    ----------
    pattern : Pattern
        How it goes up the leg.
    overlap : float
        Share of the width, 0 to 0.9.
    width_cm : float
        Width on foot and ankle [cm].
    leg_width_cm : float or None
        Width from the ankle up, where it differs [cm].

    Examples
    --------
    >>> Geometry(Pattern.SPIRAL, 0.5, 10.0).leg_width_cm is None
    True
    """

    pattern: Pattern
    overlap: float
    width_cm: float
    leg_width_cm: float | None = None


class LaidLayer:
    """One geometry laid on a padded leg, with its pressure per tension.

    Parameters
    ----------
    padded_leg : PaddedLeg
        What it lies on.
    geometry : Geometry
        How it lies.

    Examples
    --------
    On a tube of radius 4 cm in place of a leg:

    >>> from gaiter.core.bandage.wool import Build
    >>> from gaiter.core.bandage.wool import WoolBuild
    >>> from gaiter.core.plan.padded_leg import PaddedLeg
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> leg = PaddedLeg(tube, WoolBuild(Build.EVEN, 0 * tube.s_cm, "", 0, 0.0), ())
    >>> laid = leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0))
    >>> LaidLayer(leg, Geometry(Pattern.SPIRAL, 0.5, 10.0)).strips.turns
    11
    >>> laid.on(leg.under_pads({"heel": 0.6})).strips is laid.strips
    True

    No turn of foot and ankle reaches the calf.

    >>> laid.ring_units.shape, float(laid.ring_units[0, 2])
    ((2, 4), 0.0)
    >>> foot, up = laid.part_maps
    >>> bool(np.allclose(foot + up, laid.unit_map))
    True

    Two thicknesses on a radius of 4 cm press 2 x 75.0062 / 4 = 37.5 mmHg for 1 N/cm, a
    little less where the turns rise.

    >>> bool(35 < laid.unit_map[48:52].mean() < 37.5)
    True

    At half overlap two on average:

    >>> round(float(laid.thicknesses[46:56].mean()), 1)
    2.0
    >>> laid.table.shape == (laid.strips.turns, len(SHIFTS_CM), len(leg.discs))
    True
    >>> laid.profile_table.shape[2] == len(leg.profile[1])
    True
    >>> float(laid.table_at(leg.discs[:1])[0].max())
    0.0
    >>> laid.sampled(resting=False).turns.foot_turns == FOOT_TURNS
    True

    Up the leg the turns lie half a width apart.

    >>> np.diff(laid.turn_s_cm[6:9]).round(1).tolist()
    [5.0, 5.0]
    >>> bool(np.allclose(laid.heights.sum(axis=1), 1))
    True
    """

    def __init__(self, padded_leg: "PaddedLeg", geometry: Geometry) -> None:
        self.padded_leg, self.geometry = padded_leg, geometry
        self.strips: Strips = covering_strips(
            padded_leg.surface,
            geometry.pattern,
            geometry.width_cm,
            geometry.overlap,
            geometry.leg_width_cm,
        )

    def on(self, padded_leg: "PaddedLeg") -> "LaidLayer":
        """The same turns with the discs of another padding of the same shape, as pads change it.

        A pad lifts the fabric over its own place alone; where the turns run stays.

        Parameters
        ----------
        padded_leg : PaddedLeg
            The same leg under other pads.

        Returns
        -------
        LaidLayer
        """
        other = copy(self)
        other.padded_leg = padded_leg
        for name in ("table", "profile_table"):
            other.__dict__.pop(name, None)
        return other

    @cached_property
    def ring_units(self) -> Array:
        """Ring mean per tension of foot and leg turns at the judged sites [mmHg cm/N].

        Returns
        -------
        ndarray, shape (2, sites)
        """
        surface = self.padded_leg.surface
        return np.array(
            [
                [ring_mean_at(surface, part, surface.landmark_s_cm[site]) for site in LEG_SITES]
                for part in self.part_maps
            ]
        )

    @cached_property
    def part_maps(self) -> tuple[Array, Array]:
        """Pressure per tension of the turns on foot and ankle, and of those up the leg [mmHg cm/N].

        Returns
        -------
        foot, leg : ndarray, shape (rings, angles)
        """
        turns = range(self.strips.turns)
        foot, leg = turns[HOLDING_TURNS:FOOT_TURNS], turns[FOOT_TURNS:]
        return unit_map(self.strips, foot), unit_map(self.strips, leg)

    @cached_property
    def unit_map(self) -> Array:
        """Pressure per tension on every cell [mmHg cm/N].

        Returns
        -------
        ndarray, shape (rings, angles)

        References
        ----------
        Thomas S. EWMA Journal 2003;3(1):21-23 (tension over the radius of curvature).
        """
        foot, leg = self.part_maps
        return foot + leg

    @cached_property
    def thicknesses(self) -> Array:
        """Thicknesses on every cell.

        Returns
        -------
        ndarray, shape (rings, angles)
        """
        return thicknesses(self.strips)

    @cached_property
    def table(self) -> Array:
        """Pressure per tension of every turn at every disc for shifted turns [mmHg cm/N].

        Returns
        -------
        ndarray, shape (turns, shifts, discs)
        """
        return self.table_at(self.padded_leg.discs)

    @cached_property
    def profile_table(self) -> Array:
        """Pressure per tension of every turn at the discs up the inner side [mmHg cm/N].

        Returns
        -------
        ndarray, shape (turns, shifts, discs)
        """
        return self.table_at(self.padded_leg.profile[1])

    def table_at(self, discs: Sequence[Disc]) -> Array:
        """Pressure per tension of every turn at any discs of this leg [mmHg cm/N].

        Parameters
        ----------
        discs : sequence of Disc
            Where.

        Returns
        -------
        ndarray, shape (turns, shifts, discs)
            0 for the turn that only holds the end.
        """
        table = shifted_unit_table(self.strips, discs, SHIFTS_CM)
        table[:HOLDING_TURNS] = 0
        return table

    def sampled(self, *, resting: bool, profile: bool = False) -> SampledLayer:
        """The layer for the spread, at the discs or at those of the profile.

        Parameters
        ----------
        resting : bool
            Whether its tension is not the hands'.
        profile : bool
            Whether at the discs up the inner side.

        Returns
        -------
        SampledLayer
        """
        turns = LayerTurns(self.strips.turns, FOOT_TURNS, resting, self.heights)
        return SampledLayer(turns, self.profile_table if profile else self.table)

    @cached_property
    def turn_s_cm(self) -> Array:
        """Chart position of the middle of every turn [cm].

        Returns
        -------
        ndarray, shape (turns,)
        """
        path = self.strips.path
        middle = path.turn[0] + np.arange(self.strips.turns) + 0.5
        return np.interp(middle, path.turn, path.s_cm)

    @cached_property
    def heights(self) -> Array:
        """Share of each height of a habit in each turn, by where its middle lies.

        Returns
        -------
        ndarray, shape (turns, 3)
            Just above the ankle, calf, below the knee; each row sums to 1.
        """
        middle = self.turn_s_cm
        known = [self.padded_leg.surface.landmark_s_cm[landmark] for landmark in HABIT_HEIGHTS]
        return np.stack([np.interp(middle, known, unit) for unit in np.eye(len(known))], axis=1)
