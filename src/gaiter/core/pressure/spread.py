"""Spread: thousands of whole bandages sampled together, in plain NumPy.

A site's pressure is rho * sum over layers of (how layers add) * (fabric of this roll) *
sum over turns of (tension of this turn) * (unit pressure of this turn where it really lies),
divided by (1 + tape error / girth). Tension enters relative to the tension planned, so one set
of samples serves every stretch of a layer.

==================  ==========================================================================
Input               Model
==================  ==========================================================================
hands               tension: a bias of the person, the same in every layer, and AR(1) scatter
                    along each layer, of equal variance; together the published spread of the
                    training level
pitch               each turn's place: a sum of AR(1) errors, bridged to end at the knee
fabric              one factor for each roll kind
layers              share of its own pressure that a further compressive layer adds, uniform
                    between the published half (Dale et al. 2004) and the plain sum
resting layers      zinc paste does not stretch: its tension lies anywhere between none and the
                    largest that a (weak) source names
padding             thickness of wool between its bounds, uniform; a thicker wool is a larger
                    girth and so a lower pressure
tape                error of each girth, larger where the girth was estimated
theory remainder    rho, log-normal
==================  ==========================================================================
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri
from scipy.stats import qmc

Array = npt.NDArray[np.float64]

# Assumptions, no published value: how a person's tension wanders from turn to turn, how far a
# turn's place strays, and how rolls of one kind differ.
TENSION_AUTOCORRELATION = 0.6
PITCH_STEP_SD_CM = 0.4
PITCH_AUTOCORRELATION = 0.5
FABRIC_CV = 0.05
# Half of a further component's own pressure is the low end measured on padded cylinders:
# Dale et al. 2004, Phlebology (50-60 %); the high end is the plain sum.
LEAST_SHARE_OF_FURTHER_LAYER = 0.5
# Tape: figure-of-eight girth repeats within 0.3 cm between sessions (clinic studies of foot and
# ankle swelling); plain girth has no published value and is taken alike.
TAPE_SD_CM = 0.3
SHIFTS_CM = np.linspace(-6, 6, 49)
# Theory remainder, share of a further layer, padding, bias of the person.
_COMMON_INPUTS = 4


@dataclass(frozen=True)
class SpreadInputs:
    """How uncertain each input is.

    Attributes
    ----------
    tension_cv : float
        Spread of a person's tension, as a fraction.
    remainder_median, remainder_range95 : float
        Median of the theory remainder and its 95 % range as a fraction up.
    padding_cm : tuple[float, float, float]
        Low, planned and high thickness of padding [cm].
    """

    tension_cv: float
    remainder_median: float
    remainder_range95: float
    padding_cm: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Sites:
    """Girth at each disc [cm] and the standard deviation of its tape reading [cm]."""

    girth_cm: Array
    girth_sd_cm: Array


@dataclass(frozen=True)
class SampledLayer:
    """One pressing layer as the spread sees it.

    Attributes
    ----------
    table : ndarray, shape (discs, turns, shifts)
        As :func:`gaiter.core.pressure.surface_map.shifted_unit_table` gives it at ``SHIFTS_CM``.
    foot_turns : int
        Turns on foot and ankle; their tension may be planned apart.
    resting : bool
        True for a layer without stretch: its tension is not the hands', it lies anywhere
        between nothing and the largest that its source names.
    """

    table: Array
    foot_turns: int
    resting: bool = False


def draws(layers: Sequence[SampledLayer], sites: int, samples: int, seed: int) -> Array:
    """Scrambled Sobol points for every uncertain input, shape (samples, inputs).

    Parameters
    ----------
    layers : sequence of SampledLayer
        Pressing layers.
    sites : int
        Number of girths.
    samples : int
        A power of two.
    seed : int
        Scrambling seed; the same seed gives the same points.
    """
    inputs = _COMMON_INPUTS + sites + sum(1 + 2 * layer.table.shape[1] for layer in layers)
    sampler = qmc.Sobol(inputs, scramble=True, rng=np.random.default_rng(seed))
    points: Array = sampler.random_base2(round(np.log2(samples)))
    # A Sobol point can be 0 exactly, which no normal deviate answers.
    return np.clip(points, 1e-12, 1 - 1e-12)


def sample_units(
    layers: Sequence[SampledLayer], inputs: SpreadInputs, sites: Sites, points: Array
) -> Array:
    """Pressure per planned tension of every layer at every disc, for every sampled bandage.

    Parameters
    ----------
    layers : sequence of SampledLayer
        Pressing layers, from the skin outwards.
    inputs : SpreadInputs
        How uncertain each input is.
    sites : Sites
        Girths of the discs, shape (discs,).
    points : ndarray, shape (samples, inputs)
        As :func:`draws` gives it.

    Returns
    -------
    ndarray, shape (layers, 2, discs, samples)
        [mmHg cm/N], turns of foot and ankle apart from those of the leg. Times the tension of
        each part, summed over parts and layers, it is the pressure.
    """
    normal = ndtri(points)
    remainder_sd = np.log1p(inputs.remainder_range95) / 1.96
    remainder = inputs.remainder_median * np.exp(remainder_sd * normal[:, 0])
    further = LEAST_SHARE_OF_FURTHER_LAYER + (1 - LEAST_SHARE_OF_FURTHER_LAYER) * points[:, 1]
    low, planned, high = inputs.padding_cm
    padding = low + (high - low) * points[:, 2] - planned
    end = _COMMON_INPUTS + len(sites.girth_cm)
    girth_error = sites.girth_sd_cm * normal[:, _COMMON_INPUTS:end] + 2 * np.pi * padding[:, None]
    common = (remainder[:, None] / (1 + girth_error / sites.girth_cm)).T

    units = np.empty((len(layers), 2, len(sites.girth_cm), len(points)))
    for number, layer in enumerate(layers):
        turns = layer.table.shape[1]
        block = slice(end, end + 1 + 2 * turns)
        end = block.stop
        fabric = (
            points[:, block.start] if layer.resting else np.exp(FABRIC_CV * normal[:, block.start])
        )
        cv = 0.0 if layer.resting else inputs.tension_cv
        tension = _relative_tension(
            normal[:, 3], normal[:, block.start + 1 : block.start + 1 + turns], cv
        )
        shift = _turn_shift_cm(normal[:, block.start + 1 + turns : block.stop])
        factor = common * fabric * (further if number else 1.0)
        for part, chosen in enumerate((slice(0, layer.foot_turns), slice(layer.foot_turns, None))):
            sums = _sum_over_turns(layer.table[:, chosen], tension[:, chosen], shift[:, chosen])
            units[number, part] = factor * sums.T
    return units


def _relative_tension(bias: Array, scatter: Array, cv: float) -> Array:
    """Tension of each turn over the tension planned, shape (samples, turns)."""
    log_sd = np.sqrt(np.log1p(cv**2) / 2)
    return np.exp(log_sd * (bias[:, None] + _autoregressive(scatter, TENSION_AUTOCORRELATION)))


def _turn_shift_cm(scatter: Array) -> Array:
    """How far each turn lies from its place [cm]; the first and last are where they should be."""
    walk = np.cumsum(PITCH_STEP_SD_CM * _autoregressive(scatter, PITCH_AUTOCORRELATION), axis=1)
    walk -= walk[:, :1]
    return walk - np.linspace(0, 1, walk.shape[1]) * walk[:, -1:]


def _autoregressive(white: Array, correlation: float) -> Array:
    """Unit-variance AR(1) series along the last axis."""
    series = np.empty_like(white)
    series[:, 0] = white[:, 0]
    fresh = np.sqrt(1 - correlation**2)
    for turn in range(1, white.shape[1]):
        series[:, turn] = correlation * series[:, turn - 1] + fresh * white[:, turn]
    return series


def _sum_over_turns(table: Array, tension: Array, shift: Array) -> Array:
    """Sum over turns of tension times unit pressure at the shift, shape (samples, discs)."""
    step = SHIFTS_CM[1] - SHIFTS_CM[0]
    place = np.clip((shift - SHIFTS_CM[0]) / step, 0, len(SHIFTS_CM) - 1.001)
    below = place.astype(int)
    share = place - below
    total = np.zeros((len(tension), len(table)))
    for turn in range(table.shape[1]):
        columns = table[:, turn]
        lower, upper = columns[:, below[:, turn]], columns[:, below[:, turn] + 1]
        unit = lower + share[:, turn] * (upper - lower)
        total += (unit * tension[:, turn]).T
    return total


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
