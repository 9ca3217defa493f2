"""One leg, bare and under every padding asked for; what is laid on it is laid once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.bandage.wool import Build, WoolBuild, wool_build
from gaiter.core.fabric.catalogue import USUAL_WIDTH_CM
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.leg.surface import Surface
from gaiter.core.plan.laying import Geometry, LaidLayer
from gaiter.core.pressure.discs import (
    JUDGED_ROUND,
    Disc,
    bony_places,
    hoop_curvature,
    inner_line,
    judged_sites,
    reading_sites,
)
from gaiter.core.pressure.padding import girth_over_pads_cm, pad_on_cells_cm
from gaiter.core.spread.draws import TAPE_SD_CM, SpreadInputs
from gaiter.core.spread.sampling import (
    Girths,
    SampledLayer,
    points_for,
    sample_units,
)

# Spread of an estimated girth [cm]: about the published residual of the calf (1.7 to 1.8 cm;
# Gordon et al. 2014), the largest of the regressions used.
ESTIMATED_SD_CM = 1.8
# A disc averages over 2.5 cm; a finer line would show nothing more.
_PROFILE_STEP_CM = 1.5


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

    >>> from gaiter.core.bandage.pattern import Pattern
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

    >>> round(leg.under_pads({"heel": 1.0}).discs[-2].arrives, 3)
    0.8
    >>> leg.names[-1], leg.row_read(Landmark.ANKLE) == len(leg.discs) - 1
    ('inner side of the ankle', True)
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
    >>> len(leg.discs) == len(leg.sites) + len(leg.bony) + len(leg.inner)
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
    (1, 2, 16, 8)
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
        """What is judged at each landmark.

        Returns
        -------
        Mapping[Landmark, Disc]
        """
        return judged_sites(self.surface, self.pads_cm)

    @cached_property
    def inner(self) -> Mapping[Landmark, Disc]:
        """Reading sites on the inner side where the mean round the limb is judged.

        Returns
        -------
        Mapping[Landmark, Disc]
        """
        read = reading_sites(self.surface)
        return {site: read[site] for site in JUDGED_ROUND if site in read}

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

        References
        ----------
        do Carmo M. Differential Geometry of Curves and Surfaces, chapters 2-4 (from memory).
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
        known["inner"] = self.inner
        return other

    def row_read(self, landmark: Landmark) -> int:
        """Which disc a sensor at a landmark lies on.

        Parameters
        ----------
        landmark : Landmark
            Where.

        Returns
        -------
        int
            Row of ``discs``.

        Raises
        ------
        ValueError
            If nothing is read at the landmark.
        """
        if landmark in self.inner:
            return len(self.sites) + len(self.bony) + list(self.inner).index(landmark)
        return list(self.sites).index(landmark)

    @property
    def names(self) -> list[str]:
        """Name of every disc: labels of the landmarks, bony places, reading sites beside rings.

        Returns
        -------
        list[str]
        """
        return [
            *(site.label for site in self.sites),
            *(where.name for where in self.bony),
            *(f"inner side of the {site.label}" for site in self.inner),
        ]

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
            if name in self.names:
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
        """What is judged at landmarks, then bony places, then reading sites beside rings.

        Returns
        -------
        tuple[Disc, ...]
        """
        return (*self.sites.values(), *self.bony, *self.inner.values())

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
        >>> from gaiter.core.spread.draws import LayerTurns
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
