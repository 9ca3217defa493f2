"""Stretch along each layer from mark spacings: the prior of the hands, met by the readings.

Before any reading the stretch of every turn follows from the hands' spread, as in the plan. A
mark spacing m tells the stretch m / 10 - 1 of the turn it was read on, to the error of a tape on
fabric. Both are close to normal in the stretch itself (its logarithm would make nonsense of a
turn laid without stretch), so sampled bandages are moved by the linear update of a Gaussian
field (Matheron's rule): each sample goes to the readings as far as prior and reading error say.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.fabric.curve import StretchCurve
from gaiter.core.spread.draws import TENSION_AUTOCORRELATION, Hands

# A mark spacing is read to about 2 mm (assumption; a tape on fabric, no published value), so a
# stretch over 10 cm to 0.02.
READING_SD = 0.02
# A reading this many standard deviations from what the others and the hands lead one to expect
# is named; three happen by chance once in 370.
CONTRADICTS_FROM = 3.0
# Closer to its lock no fabric is stretched by hand.
NEAREST_TO_LOCK = 0.98


@dataclass(frozen=True)
class LayerStretch:
    """Planned stretch of one pressing layer's turns, and the hands that laid it.

    Attributes
    ----------
    curve : StretchCurve or None
        Tension for stretch; None for a layer that does not stretch.
    planned_n_per_cm : ndarray, shape (turns,)
        Planned tension [N/cm].
    hands : Hands
        Spread of the hands.
    habit : ndarray, shape (turns,)
        Mean log of tension over planned tension.

    Examples
    --------
    >>> LayerStretch(None, np.zeros(3), Hands(0.1, 0.1), np.zeros(3)).curve is None
    True
    """

    curve: StretchCurve | None
    planned_n_per_cm: Array
    hands: Hands
    habit: Array


@dataclass(frozen=True)
class TurnReading:
    """A stretch read on one turn.

    Attributes
    ----------
    turn : int
        Which, counted through all layers from 0.
    stretch : float
        As a fraction of the relaxed length.

    Examples
    --------
    >>> TurnReading(turn=7, stretch=0.5)  # marks 15 cm apart
    TurnReading(turn=7, stretch=0.5)
    """

    turn: int
    stretch: float


def expected_stretch(layers: Sequence[LayerStretch]) -> Array:
    """Stretch of every turn that these hands would lay on average.

    Parameters
    ----------
    layers : sequence of LayerStretch
        Pressing layers, from the skin outwards.

    Returns
    -------
    ndarray, shape (turns,)
        As fractions; 0 where a layer does not stretch.

    Examples
    --------
    Without a habit the planned tension gives the planned stretch.

    >>> curve = StretchCurve(0.5, 1.0, 2.0)
    >>> layer = LayerStretch(curve, np.ones(2), Hands(0.1, 0.1), np.zeros(2))
    >>> expected_stretch([layer])
    array([0.5, 0.5])
    """
    return np.concatenate(
        [
            np.zeros(len(layer.habit))
            if layer.curve is None
            else layer.curve.stretch_for(layer.planned_n_per_cm * np.exp(layer.habit))
            for layer in layers
        ]
    )


def stretch_covariance(layers: Sequence[LayerStretch]) -> Array:
    """Covariance of the stretch of every two turns.

    The day's bias is the same in every layer; scatter is AR(1) along a layer and its own.

    Parameters
    ----------
    layers : sequence of LayerStretch
        Pressing layers, from the skin outwards.

    Returns
    -------
    ndarray, shape (turns, turns)

    Examples
    --------
    The curve's slope makes 0.375 of stretch of a log of tension, so the variance is
    0.02 x 0.375^2, and with 0.6 of the scatter shared 0.016 x 0.375^2 beside it.

    >>> curve = StretchCurve(0.5, 1.0, 2.0)
    >>> layer = LayerStretch(curve, np.ones(2), Hands(0.1, 0.1), np.zeros(2))
    >>> stretch_covariance([layer]).round(5).tolist()
    [[0.00281, 0.00225], [0.00225, 0.00281]]
    """
    counts = [len(layer.habit) for layer in layers]
    bias = np.repeat([layer.hands.bias_sd for layer in layers], counts)
    covariance = np.outer(bias, bias)
    start = 0
    slopes = []
    for layer, count in zip(layers, counts, strict=True):
        lag = np.abs(np.subtract.outer(np.arange(count), np.arange(count)))
        own = slice(start, start + count)
        covariance[own, own] += layer.hands.scatter_sd**2 * TENSION_AUTOCORRELATION**lag
        slopes.append(_stretch_per_log_tension(layer))
        start += count
    slope = np.concatenate(slopes)
    return covariance * np.outer(slope, slope)


def _stretch_per_log_tension(layer: LayerStretch) -> Array:
    if layer.curve is None:
        return np.zeros(len(layer.habit))
    tension = layer.planned_n_per_cm * np.exp(layer.habit)
    return tension / layer.curve.slope_n_per_cm(layer.curve.stretch_for(tension))


def met_by_readings(
    stretch: Array, covariance: Array, readings: Sequence[TurnReading], noise: Array
) -> Array:
    """Sampled stretches moved to what was read.

    Parameters
    ----------
    stretch : ndarray, shape (turns, samples)
        Before the readings.
    covariance : ndarray, shape (turns, turns)
        As :func:`stretch_covariance` gives it.
    readings : sequence of TurnReading
        What was read.
    noise : ndarray, shape (readings, samples)
        Standard normal deviates for the readings' error.

    Returns
    -------
    ndarray, shape (turns, samples)

    References
    ----------
    Journel AG, Huijbregts CJ. Mining Geostatistics, 1978 (conditioning by kriging; from memory).
    Checked in the tests against the posterior integrated on a grid.

    Examples
    --------
    Prior and reading are equally sure, 0.02 each: they meet half-way.

    >>> prior, covariance = np.array([[0.5]]), np.array([[0.02**2]])
    >>> met_by_readings(prior, covariance, [TurnReading(0, 0.6)], np.zeros((1, 1))).round(6)
    array([[0.55]])
    """
    at = [reading.turn for reading in readings]
    read = np.array([reading.stretch for reading in readings])
    off = read[:, None] + READING_SD * noise - stretch[at]
    gain = np.linalg.solve(_read_covariance(covariance, at), covariance[at]).T
    moved: Array = stretch + gain @ off
    return moved


def surprise(expected: Array, covariance: Array, readings: Sequence[TurnReading]) -> Array:
    """How far each reading lies from what all the others lead one to expect, in its own SD.

    Parameters
    ----------
    expected : ndarray, shape (turns,)
        As :func:`expected_stretch` gives it.
    covariance : ndarray, shape (turns, turns)
        As :func:`stretch_covariance` gives it.
    readings : sequence of TurnReading
        What was read.

    Returns
    -------
    ndarray, shape (readings,)

    References
    ----------
    Rasmussen & Williams 2006, eq. 5.12 (leave-one-out residuals of a Gaussian field).

    Examples
    --------
    A lone reading 0.1 off, hands and tape 0.03 and 0.02 sure: 0.1 / sqrt(0.0013).

    >>> odd = surprise(np.array([0.5]), np.array([[0.0009]]), [TurnReading(0, 0.6)])
    >>> round(float(odd[0]), 2)
    2.77
    """
    at = [reading.turn for reading in readings]
    read = np.array([reading.stretch for reading in readings])
    inverse = np.linalg.inv(_read_covariance(covariance, at))
    # Leave-one-out residuals of a Gaussian field, e.g. Rasmussen & Williams 2006, eq. 5.12.
    residual: Array = inverse @ (read - expected[at]) / np.sqrt(np.diag(inverse))
    return residual


def _read_covariance(covariance: Array, at: Sequence[int]) -> Array:
    return covariance[np.ix_(at, at)] + READING_SD**2 * np.eye(len(at))


def log_tension(layers: Sequence[LayerStretch], stretch: Array) -> Array:
    """Log of tension over planned tension of sampled stretches.

    A turn without stretch presses nothing: its logarithm is minus infinity.

    Parameters
    ----------
    layers : sequence of LayerStretch
        Pressing layers, from the skin outwards.
    stretch : ndarray, shape (turns, samples)
        As fractions.

    Returns
    -------
    ndarray, shape (turns, samples)

    Examples
    --------
    On this curve twice the usual stretch has three times the tension.

    >>> layer = LayerStretch(StretchCurve(0.5, 1.0, 2.0), np.ones(1), Hands(0.1, 0.1), np.zeros(1))
    >>> np.exp(log_tension([layer], np.array([[0.5, 1.0]]))).round(6).tolist()
    [[1.0, 3.0]]
    """
    parts, start = [], 0
    for layer in layers:
        end = start + len(layer.habit)
        if layer.curve is None:
            parts.append(np.zeros_like(stretch[start:end]))
        else:
            most = NEAREST_TO_LOCK * layer.curve.locking_stretch
            tension = layer.curve.tension_n_per_cm(np.clip(stretch[start:end], 0, most))
            with np.errstate(divide="ignore"):
                parts.append(np.log(tension / layer.planned_n_per_cm[:, None]))
        start = end
    return np.concatenate(parts)


def stretch_of(layers: Sequence[LayerStretch], log_tension_: Array) -> Array:
    r"""Stretch of sampled logs of tension over planned tension.

    Parameters
    ----------
    layers : sequence of LayerStretch
        Pressing layers, from the skin outwards.
    log_tension\_ : ndarray, shape (turns, samples)
        Log of tension over planned tension.

    Returns
    -------
    ndarray, shape (turns, samples)
        As fractions.

    Examples
    --------
    >>> layer = LayerStretch(StretchCurve(0.5, 1.0, 2.0), np.ones(1), Hands(0.1, 0.1), np.zeros(1))
    >>> stretch_of([layer], np.log([[1.0, 3.0]])).round(6).tolist()
    [[0.5, 1.0]]
    """
    parts, start = [], 0
    for layer in layers:
        end = start + len(layer.habit)
        part = log_tension_[start:end]
        if layer.curve is None:
            parts.append(np.zeros_like(part))
        else:
            tension = layer.planned_n_per_cm[:, None] * np.exp(part)
            parts.append(layer.curve.stretch_for(tension))
        start = end
    return np.concatenate(parts)
