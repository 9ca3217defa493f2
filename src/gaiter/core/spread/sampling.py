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
    """

    girth_cm: Array
    error_cm: Array

    def factor(self, bandages: Bandages) -> Array:
        """What the girth's error multiplies the pressure by, shape (samples, places)."""
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
    """

    turns: LayerTurns
    table: Array

    def at(self, rows: Sequence[int]) -> "SampledLayer":
        """The layer at some of its discs only."""
        return replace(self, table=np.ascontiguousarray(self.table[..., rows]))


def points_for(
    layers: Sequence[SampledLayer], samples: int, seed: int, of: int | None = None
) -> Draws:
    """Draws for these layers; candidates of a like number of turns share them.

    ``of`` takes the first ``samples`` of so many, which a larger sample shares then.
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
    """
    bandages = sampled_bandages([layer.turns for layer in layers], inputs, points)
    return units_of(layers, girths, bandages)


def units_of(layers: Sequence[SampledLayer], girths: Girths, bandages: Bandages) -> Array:
    """As :func:`sample_units`, for bandages that were drawn already."""
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
    """

    median_mmhg: float
    low_mmhg: float
    high_mmhg: float

    @classmethod
    def of(cls, samples: Array) -> "Band":
        """Band of samples [mmHg]."""
        low, median, high = np.quantile(samples, [0.05, 0.5, 0.95])
        return cls(float(median), float(low), float(high))
