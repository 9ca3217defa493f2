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

    Examples
    --------
    >>> Padding(even_cm=0.28).build.value
    'even'
    """

    even_cm: float = 0.0
    layer_cm: float = 0.0
    build: Build = Build.EVEN
    end: Landmark = Landmark.BELOW_KNEE
    start: Landmark | None = None
    pads_cm: tuple[tuple[str, float], ...] = ()


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

    >>> np.diff(laid.turn_s_cm[5:8]).round(1).tolist()
    [4.9, 5.0]
    >>> bool(np.allclose(laid.heights.sum(axis=1), 1))
    True
    """

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


class PaddedLeg:
    """A leg under a padding, with the discs at which pressure is read or judged.

    Parameters
    ----------
    surface : Surface
        The leg outside its wool.
    wool : WoolBuild
        What was built up.
    estimated : sequence of str
        What was not measured.
    pads_cm : Mapping[str, float] or None
        Pads by place [cm], 0 or more.

    Examples
    --------
    On a tube of radius 4 cm in place of a leg:

    >>> from gaiter.core.spread.draws import Hands
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> leg = PaddedLeg(tube, WoolBuild(Build.EVEN, 0 * tube.s_cm, "", 0, 0.0), ())
    >>> laid = leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0))
    >>> leg.names[:4]
    ['metatarsal heads', 'instep', 'ankle', 'gaiter']
    >>> leg.sites[Landmark.CALF].s_cm
    30.0
    >>> leg.bony[0].name
    'inner ankle bone'
    >>> bool(np.allclose(leg.hoop_curvature, 1 / 4))
    True

    On a radius of 4 cm a pad of 1 cm lets 1 / (1 + 1/4) arrive.

    >>> round(leg.under_pads({"heel": 1.0}).discs[-1].arrives, 3)
    0.8
    >>> leg.names[-1]
    'heel'
    >>> s_cm, angle = leg.place("calf")
    >>> s_cm, round(float(np.rad2deg(angle)), 6)
    (30.0, 90.0)
    >>> float(leg.under_pads({"heel": 0.6}).pads_on_cells_cm.max())
    0.6
    >>> float(leg.under_pads({"heel": 1.0}).arrives.min().round(6))
    0.8
    >>> round(leg.girth_cm(Landmark.CALF), 2)  # 8 pi
    25.13
    >>> s_cm, discs = leg.profile
    >>> s_cm[:2].tolist(), len(discs) == len(s_cm)
    ([1.25, 2.75], True)
    >>> len(leg.discs) == len(leg.sites) + len(leg.bony)
    True
    >>> leg.girths(leg.discs[:1]).girth_cm.round(2).tolist()
    [25.13]

    Half-way between gaiter and calf each brings half of the tape's 0.3 cm.

    >>> leg.girths_at(np.array([25.0])).error_cm[0, 4:].round(3).tolist()
    [0.15, 0.15, 0.0]
    >>> leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0)) is laid
    True
    >>> sampling = Sampling(SpreadInputs((Hands(0.1, 0.1),), 0.9, 0.35), 8, seed=1)
    >>> leg.units([(laid, False)], sampling).shape
    (1, 2, 15, 8)
    """

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
        """Reading sites.

        Returns
        -------
        Mapping[Landmark, Disc]
        """
        return reading_sites(self.surface, self.pads_cm)

    @cached_property
    def bony(self) -> tuple[Disc, ...]:
        """Bony places.

        Returns
        -------
        tuple[Disc, ...]
        """
        return bony_places(self.surface, self.pads_cm)

    @cached_property
    def hoop_curvature(self) -> Array:
        """Normal curvature round the leg on every cell, 0 where hollow [1/cm].

        Returns
        -------
        ndarray, shape (rings, angles)
        """
        return hoop_curvature(self.surface)

    def under_pads(self, pads_cm: Mapping[str, float]) -> "PaddedLeg":
        """The same leg with other pads; nothing that they leave alone is worked out again.

        Parameters
        ----------
        pads_cm : Mapping[str, float]
            Thickness by place [cm], 0 or more.

        Returns
        -------
        PaddedLeg
        """
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
        """Name of every disc: labels of the reading sites, then bony places.

        Returns
        -------
        list[str]
        """
        return [site.label for site in self.sites] + [where.name for where in self.bony]

    def place(self, name: str) -> tuple[float, float]:
        """Chart position and angle of a reading site or a bony place.

        Parameters
        ----------
        name : str
            One of ``names``.

        Returns
        -------
        s_cm : float
            [cm].
        angle : float
            [rad].

        Raises
        ------
        ValueError
            If the leg has no such place.
        """
        where = self.discs[self.names.index(name)]
        return where.s_cm, where.angle

    @cached_property
    def pads_on_cells_cm(self) -> Array:
        """Thickness of pads on every cell [cm]; where two meet the thicker counts.

        Returns
        -------
        ndarray, shape (rings, angles)
        """
        cells = np.zeros(self.surface.section_cm.shape[1:])
        for name, thickness in self.pads_cm.items():
            if name in self.names and thickness > 0:
                pad = pad_on_cells_cm(self.surface, *self.place(name), thickness)
                cells = np.maximum(cells, pad)
        return cells

    @cached_property
    def arrives(self) -> Array:
        """Share of the pressure on every cell that arrives under the pads.

        Returns
        -------
        ndarray, shape (rings, angles)
        """
        share: Array = 1 / (1 + self.hoop_curvature * self.pads_on_cells_cm)
        return share

    def girth_cm(self, landmark: Landmark) -> float:
        """What a tape reads at a landmark over wool and pads [cm].

        Parameters
        ----------
        landmark : Landmark
            Where.

        Returns
        -------
        float
            [cm].
        """
        s_cm = self.surface.landmark_s_cm[landmark]
        more = girth_over_pads_cm(self.surface, self.pads_on_cells_cm, s_cm)
        return self.surface.girth_at_cm(landmark) + more

    @cached_property
    def profile(self) -> tuple[Array, tuple[Disc, ...]]:
        """Chart positions and discs up the inner side.

        Returns
        -------
        s_cm : ndarray, shape (discs,)
            [cm].
        discs : tuple[Disc, ...]
            One for each.
        """
        return inner_line(self.surface, _PROFILE_STEP_CM)

    @property
    def discs(self) -> tuple[Disc, ...]:
        """Reading sites, then bony places.

        Returns
        -------
        tuple[Disc, ...]
        """
        return (*self.sites.values(), *self.bony)

    def girths(self, discs: Sequence[Disc]) -> Girths:
        """Girth at every disc and how surely it is known.

        Parameters
        ----------
        discs : sequence of Disc
            Where.

        Returns
        -------
        Girths
        """
        rings = np.array([round(float(disc.weights @ disc.rings)) for disc in discs])
        return self.girths_at(self.surface.s_cm[rings])

    def girths_at(self, s_cm: Array) -> Girths:
        """Girth at chart positions, its error shared between the landmarks on either side.

        Parameters
        ----------
        s_cm : ndarray, shape (places,)
            [cm].

        Returns
        -------
        Girths

        References
        ----------
        Gordon et al. 2014, NATICK/TR-15/007 (spread of an estimated girth).
        """
        surface = self.surface
        places = [surface.landmark_s_cm[landmark] for landmark in Landmark]
        error = [
            ESTIMATED_SD_CM if f"girth_cm.{landmark}" in self._estimated else TAPE_SD_CM
            for landmark in Landmark
        ]
        shares = [np.interp(s_cm, places, one) for one in np.diag(error)]
        return Girths(np.interp(s_cm, surface.s_cm, surface.girth_cm), np.stack(shares, axis=1))

    def laid(self, geometry: Geometry) -> LaidLayer:
        """A geometry laid on this leg; computed once.

        Parameters
        ----------
        geometry : Geometry
            How it lies.

        Returns
        -------
        LaidLayer
        """
        if geometry not in self._laid:
            self._laid[geometry] = LaidLayer(self, geometry)
        return self._laid[geometry]

    def units(self, layers: Sequence[tuple[LaidLayer, bool]], sampling: "Sampling") -> Array:
        """Sampled pressure per tension of laid layers at the discs; computed once.

        Parameters
        ----------
        layers : sequence of (LaidLayer, bool)
            Each with whether it is a resting one.
        sampling : Sampling
            Inputs, size and seed.

        Returns
        -------
        ndarray, shape (layers, 2, discs, samples)
            [mmHg cm/N].
        """
        key = (tuple((laid.geometry, resting) for laid, resting in layers), sampling)
        if key not in self._units:
            sampled = [laid.sampled(resting=resting) for laid, resting in layers]
            self._units[key] = sampling.units(sampled, self.girths(self.discs))
        return self._units[key]


@dataclass(frozen=True)
class Sampling:
    """Inputs, size and seed of a sample of bandages; ``of`` makes it the first part of another.

    Attributes
    ----------
    inputs : SpreadInputs
        How uncertain each input is.
    samples, seed : int
        How many, and the seed.
    of : int or None
        Size of the sample that this is the first part of.

    Examples
    --------
    >>> from gaiter.core.spread.draws import Hands
    >>> Sampling(SpreadInputs((Hands(0.1, 0.1),), 0.9, 0.35), 1024, seed=1).of is None
    True
    """

    inputs: SpreadInputs
    samples: int
    seed: int
    of: int | None = None

    def units(self, layers: Sequence[SampledLayer], girths: Girths) -> Array:
        """Pressure per tension [mmHg cm/N].

        Parameters
        ----------
        layers : sequence of SampledLayer
            Pressing layers, from the skin outwards.
        girths : Girths
            Girths of the discs.

        Returns
        -------
        ndarray, shape (layers, 2, discs, samples)

        Examples
        --------
        >>> from gaiter.core.spread.draws import Hands
        >>> turns = LayerTurns(3, 1, False, np.zeros((3, 3)))
        >>> layer = SampledLayer(turns, np.full((3, 49, 1), 20.0))
        >>> sampling = Sampling(SpreadInputs((Hands(0.1, 0.1),), 0.9, 0.35), 8, seed=1)
        >>> sampling.units([layer], Girths(np.array([25.0]), np.zeros((1, 7)))).shape
        (1, 2, 1, 8)
        """
        points = points_for(layers, self.samples, self.seed, self.of)
        return sample_units(layers, self.inputs, girths, points)


class BandagedLeg:
    """One leg, bare and under every padding asked for.

    Parameters
    ----------
    measured : LegMeasurements
        Complete measurements [cm].

    Raises
    ------
    LegShapeError
        If a girth cannot go round the depth of the leg.

    Examples
    --------
    >>> from gaiter.core.landmark import Landmark as L
    >>> girth = dict(zip(L, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
    >>> place = dict(zip([m for m in L if m is not L.HEEL_INSTEP],
    ...                  (19.5, 14.5, 12.0, 19.5, 31.0, 39.0)))
    >>> round(BandagedLeg(LegMeasurements(26.5, girth, place)).bare.girth_at_cm(L.ANKLE), 1)
    22.5
    """

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
        """The leg under a padding; computed once.

        Parameters
        ----------
        padding : Padding
            What lies soft under the layers.

        Returns
        -------
        PaddedLeg

        Examples
        --------
        Half a centimetre of wool adds pi centimetres to a girth of 37.

        >>> from gaiter.core.landmark import Landmark as L
        >>> girth = dict(zip(L, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
        >>> place = dict(zip([m for m in L if m is not L.HEEL_INSTEP],
        ...                  (19.5, 14.5, 12.0, 19.5, 31.0, 39.0)))
        >>> leg = BandagedLeg(LegMeasurements(26.5, girth, place))
        >>> round(leg.under(Padding(even_cm=0.5)).girth_cm(L.CALF), 1)
        40.1
        """
        if padding not in self._padded_legs:
            surface, wool = self._padded(padding.even_cm, padding.layer_cm, padding.build)
            bandaged = surface.between(padding.start or self.bare.start, padding.end)
            self._padded_legs[padding] = PaddedLeg(
                bandaged, wool, self.measured.estimated, dict(padding.pads_cm)
            )
        return self._padded_legs[padding]
