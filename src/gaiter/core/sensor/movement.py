"""Swings of the pressure while the leg moves."""

from dataclasses import dataclass

import numpy as np
from scipy.signal import find_peaks

from gaiter.core.arrays import Array
from gaiter.core.sensor.artefacts import is_gap

SWING_LEAST_MMHG = 3.0
"""A smaller swing is not told from the noise of a sensor. Our choice."""

SWING_PROMINENCE_SHARE = 0.4
"""A peak stands out by this share of the range of the phase (5th to 95th percentile), so that
the second, lower bump of a step is not counted as a step; below one half, because the first and
last peak may be cut off half-way up. Our choice."""

SAMPLES_PER_CYCLE_LEAST = 8
"""With fewer, peaks are missed: sampled n times a cycle a sine may read low by as much as
1 - cos(pi / n), 8 % at n = 8. Derived; the limit is our choice."""

CYCLES_LEAST = 3
"""The fewest cycles with a median that one odd cycle does not set. Our choice."""


@dataclass(frozen=True)
class Cycles:
    """The cycles of a phase of movement.

    Attributes
    ----------
    swings_mmhg : Array
        Peak minus the trough that follows it, shape (cycles,) [mmHg].
    samples_per_cycle : float
        Median number of samples from peak to peak; 0 without a cycle.
    """

    swings_mmhg: Array
    samples_per_cycle: float


def cycles_of(time_s: Array, pressure_mmhg: Array, interval_s: float) -> Cycles:
    """Swings of whole cycles, from raw peaks and troughs.

    A cycle runs from one peak to the next. Its swing is the peak minus the lowest value before
    the next peak. Peaks and troughs are raw samples, so the sensor's noise widens every swing
    somewhat. A cycle with a hole longer than three intervals in it is not counted.

    Parameters
    ----------
    time_s, pressure_mmhg : Array
        The phase, shape (samples,) [s, mmHg]; NaN where missing.
    interval_s : float
        Median interval of the log [s].

    Returns
    -------
    Cycles

    Examples
    --------
    >>> time = np.arange(0, 10, 0.05)
    >>> found = cycles_of(time, 50 + 10 * np.sin(2 * np.pi * time), 0.05)
    >>> found.swings_mmhg.size, round(float(np.median(found.swings_mmhg)), 1)
    (9, 20.0)
    """
    have = np.isfinite(pressure_mmhg)
    time, pressure = time_s[have], pressure_mmhg[have]
    if pressure.size == 0:
        return Cycles(np.empty(0), 0.0)
    low, high = np.percentile(pressure, [5, 95])
    prominence = max(SWING_LEAST_MMHG, SWING_PROMINENCE_SHARE * float(high - low))
    holes = np.flatnonzero(is_gap(np.diff(time), interval_s)) + 1
    swings, lengths = [np.empty(0)], [np.empty(0)]
    for piece in np.split(pressure, holes):
        peaks, _rest = find_peaks(piece, prominence=prominence)
        if peaks.size > 1:
            swing = (piece[peaks] - np.minimum.reduceat(piece, peaks))[:-1]
            whole = swing >= prominence  # two peaks of the same height are one
            swings.append(swing[whole])
            lengths.append(np.diff(peaks[:-1][whole]).astype(np.float64))
    length = np.concatenate(lengths)
    return Cycles(np.concatenate(swings), float(np.median(length)) if length.size else 0.0)
