"""What a bandage is designed for, and a design: layers with geometry, stretch and pressures.

For one geometry pressure is linear in the tensions, so unit pressures are sampled once.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.bandage.coverage import Patch, patches
from gaiter.core.landmark import LEG_SITES, Landmark
from gaiter.core.plan.layers import DesignedLayer
from gaiter.core.plan.laying import HOLDING_TURNS
from gaiter.core.plan.maxima import Maxima
from gaiter.core.plan.padded_leg import PaddedLeg, Sampling
from gaiter.core.plan.target import Target
from gaiter.core.spread.coarse import (
    averaged,
    coarse_cells,
    on_fine_grid,
    row_centres_cm,
    row_height_cm,
)
from gaiter.core.spread.draws import Draws, InputGroup, Layout, draws, sampled_bandages
from gaiter.core.spread.importance import Share, group_shares
from gaiter.core.spread.sampling import (
    SHIFTS_CM,
    SampledLayer,
    points_for,
    sample_units,
    summary_on_cells,
)
from gaiter.core.spread.sums import CellSummary

# Pairs of samples behind the shares of the spread; they are shown to the nearest 5 %.
_SHARE_SAMPLES = 512


@dataclass(frozen=True)
class Aim:
    """What a design is judged by.

    Attributes
    ----------
    target : Target
        Range at every site.
    maxima : Maxima
        Maximum of every place.
    allowed_chance_above : float
        Chance of exceeding it that policy allows.
    allowed_rise : float
        Share by which means round the limb may rise from the ankle towards the knee.

    Examples
    --------
    >>> Aim(Target(30, 40, {}, "invented"), Maxima(40, 40, 40, 80), 0.025).maximum_mmhg
    40
    """

    target: Target
    maxima: Maxima
    allowed_chance_above: float
    allowed_rise: float = 0.05

    @property
    def maximum_mmhg(self) -> float:
        """Maximum at the gaiter; no other judged site may exceed it either [mmHg].

        Returns
        -------
        float
            [mmHg].

        Examples
        --------
        >>> Aim(Target(30, 40, {}, "invented"), Maxima(40, 40, 40, 80), 0.025).maximum_mmhg
        40
        """
        return self.maxima.leg_mmhg


@dataclass(frozen=True)
class Design:
    """Layers with geometry, stretch and sampled pressures.

    Attributes
    ----------
    padded_leg : PaddedLeg
        The padded leg.
    layers : tuple[DesignedLayer, ...]
        From the skin outwards.
    pressure_mmhg : ndarray, shape (discs, samples)
        Sampled pressure at reading sites, then bony places.
    chance_in_range : float
        Chance that every judged site lies in its range.
    chance_above : float
        Largest chance, over the judged sites from the ankle up, of exceeding the maximum.
    within : bool
        Whether that chance is allowed. Foot and bony places are judged with their pads, see
        :mod:`gaiter.core.plan.pads`.
    sampling : Sampling
        What the sampling rests on.
    above_at : Landmark
        The site with that chance.

    Examples
    --------
    On a tube of radius 4 cm half overlap gives 471.278 x 2 x 0.976 / (8 pi) = 36.6 mmHg, a little
    less where the turns rise.

    >>> from gaiter.core.plan.laying import Geometry
    >>> from gaiter.core.plan.layers import FixedLayer
    >>> from gaiter.core.plan.systems import LayerRecipe
    >>> from gaiter.core.plan.layers import PressingLayer
    >>> from gaiter.core.bandage.pattern import Pattern
    >>> from gaiter.core.bandage.wool import Build, WoolBuild
    >>> from gaiter.core.plan.search import fixed_design
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
    >>> 34 < design.median_mmhg(Landmark.GAITER) < 38
    True
    >>> 35 < design.ring_mmhg[Landmark.CALF] < 36.6
    True
    >>> design.pressure_mmhg.shape == (len(leg.discs), 256)
    True
    >>> design.profile_mmhg.shape == (len(leg.profile[1]), 256)
    True
    >>> design.with_pads({"heel": 0.6}).padded_leg.pads_cm
    {'heel': 0.6}
    >>> design.at_places(leg.under_pads({"heel": 0.6}), ["heel"]).shape
    (1, 256)
    >>> design.on_cells(60.0).mean_mmhg.shape
    (64, 24)
    >>> 260 < design.fabric_cm < 11 * 8 * np.pi  # not quite eleven turns
    True
    >>> design.often_above(200.0)
    ()

    Variances of the logarithm: hands 0.032, half of it in every turn anew, and theory 0.023.

    >>> shares = design.spread_from
    >>> ratio = shares[InputGroup.THEORY].total / shares[InputGroup.STRETCH].total
    >>> 0.023 / 0.032 < ratio < 0.023 / 0.016
    True
    """

    padded_leg: PaddedLeg
    layers: tuple[DesignedLayer, ...]
    pressure_mmhg: Array
    chance_in_range: float
    chance_above: float
    within: bool
    sampling: Sampling
    above_at: Landmark = Landmark.GAITER

    @cached_property
    def profile_mmhg(self) -> Array:
        """Sampled pressure at the discs up the inner side [mmHg].

        Returns
        -------
        ndarray, shape (discs, samples)
        """
        _first, discs = self.padded_leg.profile
        sampled = [layer.laid.sampled(resting=layer.rests, profile=True) for layer in self.layers]
        units = self.sampling.units(sampled, self.padded_leg.girths(discs))
        return pressure_of(units, self.tensions_n_per_cm)

    @property
    def tensions_n_per_cm(self) -> list[tuple[float, float]]:
        """Tension of every layer on foot and ankle, and up the leg [N/cm].

        Returns
        -------
        list[tuple[float, float]]
            From the skin outwards.

        Examples
        --------
        >>> from gaiter.files.catalogue_file import shipped_catalogue
        >>> layer = DesignedLayer(None, shipped_catalogue()["long_stretch_elastic"], 0.5, 0.5)
        >>> design = Design(None, (layer,), np.zeros((0, 0)), 0.0, 0.0, True, None)
        >>> round(design.tensions_n_per_cm[0][1], 3)  # 40 x 23 / (2 x 471.278)
        0.976
        """
        return [layer.tensions_n_per_cm for layer in self.layers]

    @cached_property
    def spread_from(self) -> dict[InputGroup, Share]:
        """How much of the spread at the gaiter each group of inputs brings.

        Returns
        -------
        dict[InputGroup, Share]
        """
        row = list(self.padded_leg.sites).index(Landmark.GAITER)
        girths = self.padded_leg.girths(self.padded_leg.discs[row : row + 1])
        layers = [layer.at([row]) for layer in self._sampled]
        layout = Layout([layer.turns.turns for layer in layers])

        def at_the_gaiter(points: Array) -> Array:
            units = sample_units(layers, self.sampling.inputs, girths, Draws(points))
            return pressure_of(units, self.tensions_n_per_cm)[0]

        pairs = draws(2 * layout.inputs, _SHARE_SAMPLES, self.sampling.seed).uniform
        return group_shares(at_the_gaiter, pairs, {g: layout.rows_of(g) for g in InputGroup})

    @property
    def _sampled(self) -> list[SampledLayer]:
        return [layer.laid.sampled(resting=layer.rests) for layer in self.layers]

    @cached_property
    def ring_mmhg(self) -> dict[Landmark, float]:
        """Likely mean round the limb at the sites from the ankle up, over their pads [mmHg].

        Returns
        -------
        dict[Landmark, float]
        """
        surface = self.padded_leg.surface
        units = np.array([layer.laid.ring_units for layer in self.layers])
        bare = np.einsum("lp,lps->s", np.array(self.tensions_n_per_cm), units)
        gaiter = self.padded_leg.sites[Landmark.GAITER].mean(self.pressure_map_mmhg)
        bare *= self.median_mmhg(Landmark.GAITER) / gaiter
        # The mean round a convex ring is 2 pi times tension over girth, whatever its shape.
        return {
            site: float(mean) * surface.girth_at_cm(site) / self.padded_leg.girth_cm(site)
            for site, mean in zip(LEG_SITES, bare, strict=True)
            if surface.start_s_cm <= surface.landmark_s_cm[site] <= surface.end_s_cm
        }

    def at_places(self, padded_leg: PaddedLeg, names: Sequence[str]) -> Array:
        """Sampled pressure at some places of the same leg with other pads [mmHg].

        Parameters
        ----------
        padded_leg : PaddedLeg
            The same leg under other pads.
        names : sequence of str
            Places.

        Returns
        -------
        ndarray, shape (places, samples)
        """
        rows = [padded_leg.names.index(name) for name in names]
        discs = [padded_leg.discs[row] for row in rows]
        layers = [
            SampledLayer(one.turns, layer.laid.on(padded_leg).table_at(discs))
            for layer, one in zip(self.layers, self._sampled, strict=True)
        ]
        units = self.sampling.units(layers, padded_leg.girths(discs))
        return pressure_of(units, self.tensions_n_per_cm)

    def with_pads(self, pads_cm: Mapping[str, float]) -> "Design":
        """The same bandage over other pads; only what lies under a pad changes.

        Parameters
        ----------
        pads_cm : Mapping[str, float]
            Thickness by place [cm], 0 or more.

        Returns
        -------
        Design
        """
        padded_leg = self.padded_leg.under_pads(pads_cm)
        changed = [
            name for name in padded_leg.names if name in {*pads_cm, *self.padded_leg.pads_cm}
        ]
        pressure = self.pressure_mmhg
        if changed:
            pressure = pressure.copy()
            rows = [padded_leg.names.index(name) for name in changed]
            pressure[rows] = self.at_places(padded_leg, changed)
        layers = tuple(replace(layer, laid=layer.laid.on(padded_leg)) for layer in self.layers)
        return replace(self, padded_leg=padded_leg, layers=layers, pressure_mmhg=pressure)

    def on_cells(self, limit_mmhg: float) -> CellSummary:
        """What the sampled bandages do on every coarse cell, judged by one limit.

        A limit on what arrives under a pad is a higher one on what lies over it.

        Parameters
        ----------
        limit_mmhg : float
            The limit [mmHg].

        Returns
        -------
        CellSummary
        """
        surface = self.padded_leg.surface
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
            self.padded_leg.girths_at(row_centres_cm(surface)),
            sampled_bandages(turns, self.sampling.inputs, points),
            limit_mmhg / averaged(self.padded_leg.arrives),
        )

    def often_above(self, limit_mmhg: float) -> tuple[Patch, ...]:
        """Skin on which most of the sampled bandages press more than a limit, largest first.

        Parameters
        ----------
        limit_mmhg : float
            The limit [mmHg].

        Returns
        -------
        tuple[Patch, ...]
        """
        often = self.on_cells(limit_mmhg).chance_above > 0.5
        return patches(self.padded_leg.surface, on_fine_grid(self.padded_leg.surface, often))

    @property
    def pressure_map_mmhg(self) -> Array:
        """Pressure on every cell without spread, plain sum of the layers [mmHg].

        Returns
        -------
        ndarray, shape (rings, angles)

        Examples
        --------
        >>> from types import SimpleNamespace
        >>> layers = [SimpleNamespace(pressure_map_mmhg=np.array([[p]])) for p in (20.0, 15.0)]
        >>> Design(None, layers, np.zeros(0), 0.0, 0.0, True, None).pressure_map_mmhg.tolist()
        [[35.0]]
        """
        return sum((layer.pressure_map_mmhg for layer in self.layers), np.zeros(1))

    @property
    def thicknesses(self) -> Array:
        """Thicknesses of pressing layers on every cell.

        Returns
        -------
        ndarray, shape (rings, angles)

        Examples
        --------
        >>> from types import SimpleNamespace
        >>> laid = SimpleNamespace(thicknesses=np.array([[2.0]]))
        >>> layers = [SimpleNamespace(laid=laid), SimpleNamespace(laid=laid)]
        >>> Design(None, layers, np.zeros(0), 0.0, 0.0, True, None).thicknesses.tolist()
        [[4.0]]
        """
        return sum((layer.laid.thicknesses for layer in self.layers), np.zeros(1))

    @property
    def fabric_cm(self) -> float:
        """Length of all pressing layers on the leg [cm].

        Returns
        -------
        float
            [cm].
        """
        return sum(layer.laid.strips.path.length_cm for layer in self.layers)

    def median_mmhg(self, landmark: Landmark) -> float:
        """Median pressure at a reading site [mmHg].

        Parameters
        ----------
        landmark : Landmark
            A reading site of the leg.

        Returns
        -------
        float
            [mmHg].

        Examples
        --------
        >>> from types import SimpleNamespace
        >>> leg = SimpleNamespace(sites={Landmark.GAITER: None})
        >>> pressure = np.array([[30.0, 38.0, 60.0]])
        >>> Design(leg, (), pressure, 0.0, 0.0, True, None).median_mmhg(Landmark.GAITER)
        38.0
        """
        row = list(self.padded_leg.sites).index(landmark)
        return float(np.median(self.pressure_mmhg[row]))


def pressure_of(units: Array, tensions: Sequence[tuple[float, float]]) -> Array:
    """Sum over layers and parts of tension times unit pressure [mmHg].

    Parameters
    ----------
    units : ndarray, shape (layers, 2, discs, samples)
        Pressure per tension [mmHg cm/N].
    tensions : sequence of (float, float)
        On foot and ankle, and up the leg, of every layer [N/cm].

    Returns
    -------
    ndarray, shape (discs, samples)

    Examples
    --------
    10 x 1 + 20 x 0.5:

    >>> pressure_of(np.array([[[[10.0]], [[20.0]]]]), [(1.0, 0.5)]).tolist()
    [[20.0]]
    """
    return np.einsum("lp,lpds->ds", np.array(tensions), units)
