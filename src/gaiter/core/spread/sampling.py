"""Spread: thousands of whole bandages on one leg, at discs and on every cell.

A site's pressure is rho * sum over layers of (how layers add) * (fabric of this roll) *
sum over turns of (tension of this turn) * (unit pressure of this turn where it really lies),
divided by (1 + girth error / girth). Tension enters relative to the tension planned, so one set
of samples serves every stretch of a layer. See :mod:`.draws` for what is uncertain and how.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.spread.draws import (
    Bandages,
    Draws,
    LayerTurns,
    Layout,
    SpreadInputs,
    draws,
    sampled_bandages,
)
from gaiter.core.spread.sums import Cells, CellSummary, cell_summary, disc_sums

SHIFTS_CM = np.linspace(-6, 6, 49)


@dataclass(frozen=True)
class Girths:
    """Girth at places along the leg and how surely it is known.

    Attributes
    ----------
    girth_cm : ndarray, shape (places,)
        Girth under the bandage [cm].
    error_cm : ndarray, shape (places, landmarks)
        What one standard deviation of each landmark's tape error does there [cm].

    Examples
    --------
    >>> Girths(np.array([25.0]), np.zeros((1, 7))).girth_cm.tolist()
    [25.0]
    """

    girth_cm: Array
    error_cm: Array

    def factor(self, bandages: Bandages) -> Array:
        """What the girth's error multiplies the pressure by.

        Parameters
        ----------
        bandages : Bandages
            Sampled bandages.

        Returns
        -------
        ndarray, shape (samples, places)
            1 / (1 + error / girth).

        Examples
        --------
        A tape that reads 0.25 cm too little on 25 cm; padding as planned:

        >>> zero = np.zeros((1, 1))
        >>> tape = np.array([[1.0], [0], [0], [0], [0], [0], [0]])
        >>> bandages = Bandages(np.array([0]), zero, zero, zero, zero, tape, zero[0], zero[0])
        >>> error_cm = np.array([[0.25, 0, 0, 0, 0, 0, 0]])
        >>> round(float(Girths(np.array([25.0]), error_cm).factor(bandages)[0, 0]), 4)
        0.9901
        """
        relative = bandages.tape.T @ (self.error_cm / self.girth_cm[:, None]).T
        relative += np.outer(bandages.padding_cm, 2 * np.pi / self.girth_cm)
        relative += 1
        factor: Array = np.reciprocal(relative, out=relative)
        return factor


@dataclass(frozen=True)
class SampledLayer:
    """One pressing layer with what its turns press at discs.

    Attributes
    ----------
    turns : LayerTurns
        What the draws need to know of it.
    table : ndarray, shape (turns, shifts, discs)
        As :func:`gaiter.core.pressure.surface_map.shifted_unit_table` gives it at ``SHIFTS_CM``.

    Examples
    --------
    >>> turns = LayerTurns(2, 1, False, np.zeros((2, 3)))
    >>> SampledLayer(turns, np.zeros((2, len(SHIFTS_CM), 5))).table.shape
    (2, 49, 5)
    """

    turns: LayerTurns
    table: Array

    def at(self, rows: Sequence[int]) -> "SampledLayer":
        """The layer at some of its discs only.

        Parameters
        ----------
        rows : sequence of int
            Which discs.

        Returns
        -------
        SampledLayer

        Examples
        --------
        >>> turns = LayerTurns(2, 1, False, np.zeros((2, 3)))
        >>> SampledLayer(turns, np.zeros((2, 49, 5))).at([0, 3]).table.shape
        (2, 49, 2)
        """
        return replace(self, table=np.ascontiguousarray(self.table[..., rows]))


def points_for(
    layers: Sequence[SampledLayer], samples: int, seed: int, of: int | None = None
) -> Draws:
    """Draws for these layers; candidates of a like number of turns share them.

    Parameters
    ----------
    layers : sequence of SampledLayer
        Pressing layers, from the skin outwards.
    samples : int
        How many.
    seed : int
        Seed of the points.
    of : int or None
        Takes the first ``samples`` of so many, which a larger sample shares then.

    Returns
    -------
    Draws

    Examples
    --------
    >>> turns = LayerTurns(12, 5, False, np.zeros((12, 3)))
    >>> points_for([SampledLayer(turns, np.zeros((12, 49, 1)))], 8, seed=1).uniform.shape
    (44, 8)
    """
    size = Layout([layer.turns.turns for layer in layers]).inputs
    return draws(size, of or samples, seed).first(samples)


def sample_units(
    layers: Sequence[SampledLayer], inputs: SpreadInputs, girths: Girths, points: Draws
) -> Array:
    """Pressure per planned tension of every layer at every disc, for every sampled bandage.

    Parameters
    ----------
    layers : sequence of SampledLayer
        Pressing layers, from the skin outwards.
    inputs : SpreadInputs
        How uncertain each input is.
    girths : Girths
        Girths of the discs.
    points : Draws
        As :func:`points_for` gives it.

    Returns
    -------
    ndarray, shape (layers, 2, discs, samples)
        [mmHg cm/N], turns of foot and ankle apart from those of the leg. Times the tension of
        each part, summed over parts and layers, it is the pressure.

    References
    ----------
    Dale JJ et al. Phlebology 2004 (what a further layer adds); Al Khaburi et al. 2011 and
    Garrigues-Ramón et al. 2021 (the remainder); the rest as :class:`.SpreadInputs` has it.

    Examples
    --------
    At the middle of every input: one turn on the foot, two up the leg, 20 mmHg cm/N each, times the
    remainder's 0.9.

    >>> from gaiter.core.spread.draws import Hands
    >>> layer = SampledLayer(LayerTurns(3, 1, False, np.zeros((3, 3))), np.full((3, 49, 1), 20.0))
    >>> inputs = SpreadInputs((Hands(0.1, 0.1),), remainder_median=0.9, remainder_range95=0.35)
    >>> girths = Girths(np.array([25.0]), np.zeros((1, 7)))
    >>> sample_units([layer], inputs, girths, Draws(np.full((44, 1), 0.5))).round(6)[0, :, 0, 0]
    array([18., 36.])
    """
    bandages = sampled_bandages([layer.turns for layer in layers], inputs, points)
    return units_of(layers, girths, bandages)


def units_of(layers: Sequence[SampledLayer], girths: Girths, bandages: Bandages) -> Array:
    """Pressure per planned tension of every layer at every disc, for bandages drawn already.

    Parameters
    ----------
    layers : sequence of SampledLayer
        Pressing layers, from the skin outwards.
    girths : Girths
        Girths of the discs.
    bandages : Bandages
        As :func:`gaiter.core.spread.draws.sampled_bandages` gives them.

    Returns
    -------
    ndarray, shape (layers, 2, discs, samples)
        As :func:`sample_units` [mmHg cm/N].

    Examples
    --------
    One turn of 20 mmHg cm/N on the foot, at 1.5 of its planned tension:

    >>> layer = SampledLayer(LayerTurns(1, 1, False, np.zeros((1, 3))), np.full((1, 49, 1), 20.0))
    >>> zero, one = np.zeros((1, 1)), np.ones((1, 1))
    >>> bandages = Bandages(
    ...     np.array([0]), np.log(1.5) * one, zero, one, one, np.zeros((7, 1)), zero[0], one[0]
    ... )
    >>> units_of([layer], Girths(np.array([25.0]), np.zeros((1, 7))), bandages).ravel().round(6)
    array([30.,  0.])
    """
    table = np.concatenate([layer.table for layer in layers])
    on_leg = [np.arange(layer.turns.turns) >= layer.turns.foot_turns for layer in layers]
    group = 2 * bandages.layer + np.concatenate(on_leg)
    step = SHIFTS_CM[1] - SHIFTS_CM[0]
    place = np.clip((bandages.shift_cm - SHIFTS_CM[0]) / step, 0, len(SHIFTS_CM) - 1)
    sums = disc_sums(table, group, *(np.ascontiguousarray(a.T) for a in (bandages.tension, place)))
    if len(sums) < 2 * len(layers):  # the last layer stays on the foot
        sums = np.concatenate([sums, np.zeros_like(sums[:1])])
    sums *= girths.factor(bandages)
    return np.ascontiguousarray(sums.reshape(len(layers), 2, *sums.shape[1:]).swapaxes(2, 3))


def summary_on_cells(
    cells: Cells,
    row_cm: float,
    planned: Array,
    girths: Girths,
    bandages: Bandages,
    limit_mmhg: Array,
) -> CellSummary:
    """What sampled bandages do on every cell of the coarse grid.

    Parameters
    ----------
    cells : Cells
        All pressing layers' turns over the grid.
    row_cm : float
        Height of a row [cm].
    planned : ndarray, shape (turns,)
        Planned tension of each turn [N/cm].
    girths : Girths
        Girths of the rows.
    bandages : Bandages
        As :func:`gaiter.core.spread.draws.sampled_bandages` gives it.
    limit_mmhg : ndarray, shape (rows, columns)
        Limit of each cell [mmHg].

    Returns
    -------
    CellSummary

    Examples
    --------
    One turn over one cell, 10 mmHg cm/N at 4 N/cm, never above a limit of 50:

    >>> zero, one = np.zeros((1, 1)), np.ones((1, 1))
    >>> cells = Cells(np.array([[[0.0]], [[1.0]]]), 10 * one[None], one)
    >>> bandages = Bandages(np.array([0]), zero, zero, one, one, np.zeros((7, 1)), zero[0], one[0])
    >>> girths = Girths(np.array([25.0]), np.zeros((1, 7)))
    >>> found = summary_on_cells(cells, 0.7, np.array([4.0]), girths, bandages, 50 * one)
    >>> float(found.mean_mmhg[0, 0]), float(found.chance_above[0, 0])
    (40.0, 0.0)
    """
    tension = planned[:, None] * bandages.tension
    shift = bandages.shift_cm / row_cm
    return cell_summary(cells, tension.T, shift.T, girths.factor(bandages), limit_mmhg)


@dataclass(frozen=True)
class Band:
    """Spread of one pressure.

    Attributes
    ----------
    median_mmhg, low_mmhg, high_mmhg : float
        Median and the 5th and 95th percentile [mmHg].

    Notes
    -----
    Nine in ten bandages lie in it.

    Examples
    --------
    >>> Band(40.0, 30.0, 52.0).high_mmhg
    52.0
    """

    median_mmhg: float
    low_mmhg: float
    high_mmhg: float

    @classmethod
    def of(cls, samples: Array) -> "Band":
        """Band of samples [mmHg].

        Parameters
        ----------
        samples : ndarray, shape (samples,)
            Pressures [mmHg].

        Returns
        -------
        Band

        Examples
        --------
        >>> Band.of(np.arange(101.0))
        Band(median_mmhg=50.0, low_mmhg=5.0, high_mmhg=95.0)
        """
        low, median, high = np.quantile(samples, [0.05, 0.5, 0.95])
        return cls(float(median), float(low), float(high))
