"""Quiet and restless phases of a sensor log, and the levels of the quiet ones."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaiter.core.arrays import Array, Mask
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.sensor.artefacts import median_interval_s
from gaiter.core.words import Said

Channels = Mapping[Landmark, Array]
Levels = npt.NDArray[np.int64]

WINDOW_S = 5.0
"""Length of the rolling window [s]: longer than a breath or a step. Our choice."""

WINDOW_INTERVALS = 10
"""A slow log has a longer window, so that every window holds samples enough. Our choice."""

QUIET_SD_MMHG = 1.5
"""A window with at most this standard deviation is quiet [mmHg]: above sensor noise and
breathing, below a step. Our choice."""

PLATEAU_LEAST_S = 20.0
"""A shorter quiet phase is a pause, not a plateau [s]. Our choice."""

ROUNDING_S = 1e-6
"""Times this close are the same [s]: 1400 ms are not exactly 1.4 s to a computer."""

LEVEL_APART_MMHG = 3.0
"""Quiet phases closer than this are one level [mmHg]: pressures settle by so much after
movement without a change of posture. Our choice."""


@dataclass(frozen=True)
class Span:
    """A phase of time, both ends included.

    Attributes
    ----------
    start_s, end_s : float
        Its ends [s], the end after the start.

    Raises
    ------
    InputError
        If an end is not finite or the span does not end after its start.

    Examples
    --------
    >>> str(Span(10.0, 40.0))
    '10.0 to 40.0 s'
    """

    start_s: float
    end_s: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.start_s) and math.isfinite(self.end_s)):
            raise InputError(
                Said(
                    "a span must have two ends in s; received {span}: correct it",
                    {"span": self.said},
                )
            )
        if not self.start_s < self.end_s:
            raise InputError(
                Said(
                    "a span must end after its start; received {span}: swap its ends",
                    {"span": self.said},
                )
            )

    def __str__(self) -> str:
        return self.said.text

    @property
    def said(self) -> Said:
        """Its ends, for any language.

        Returns
        -------
        Said

        Examples
        --------
        >>> Span(10.0, 40.0).said.text
        '10.0 to 40.0 s'
        """
        return Said("{start:.1f} to {end:.1f} s", {"start": self.start_s, "end": self.end_s})

    def holds(self, time_s: Array) -> Mask:
        """Which times lie in it.

        Parameters
        ----------
        time_s : ndarray, shape (samples,)
            Times [s].

        Returns
        -------
        ndarray of bool, shape (samples,)

        Examples
        --------
        >>> Span(1.0, 2.0).holds(np.array([0.9, 1.0, 2.0, 2.1])).tolist()
        [False, True, True, False]
        """
        return (time_s >= self.start_s - ROUNDING_S) & (time_s <= self.end_s + ROUNDING_S)

    def overlaps(self, other: "Span") -> bool:
        """Whether the two share more than an end.

        Parameters
        ----------
        other : Span
            Another span [s].

        Returns
        -------
        bool

        Examples
        --------
        >>> Span(0.0, 10.0).overlaps(Span(10.0, 20.0)), Span(0.0, 10.0).overlaps(Span(9.0, 20.0))
        (False, True)
        """
        return self.start_s < other.end_s and other.start_s < self.end_s


@dataclass(frozen=True)
class Phases:
    """The quiet and the restless phases of a log, in order of time.

    Attributes
    ----------
    quiet, restless : tuple of Span
        Where every site is quiet for at least 20 s; where at least one is not.
    means_mmhg : Mapping[Landmark, Array]
        Mean of every quiet phase, shape (quiet phases,) [mmHg].

    Examples
    --------
    >>> Phases((Span(0.0, 30.0),), (), {Landmark.GAITER: np.array([40.0])}).restless
    ()
    """

    quiet: tuple[Span, ...]
    restless: tuple[Span, ...]
    means_mmhg: Channels


def find_phases(time_s: Array, channels: Channels, taken: Sequence[Span] = ()) -> Phases:
    """Quiet and restless phases outside the spans already taken.

    Parameters
    ----------
    time_s : Array
        Growing times, shape (samples,) [s].
    channels : Mapping[Landmark, Array]
        Pressures, each with at least one value, shape (samples,) [mmHg].
    taken : sequence of Span
        No phase overlaps these.

    Returns
    -------
    Phases

    Examples
    --------
    A minute of rest and one of standing, quiet both:

    >>> time = np.arange(0.0, 120.0, 0.5)
    >>> pressure = np.where(time < 60, 40.0, 54.0)
    >>> found = find_phases(time, {Landmark.GAITER: pressure})
    >>> found.means_mmhg[Landmark.GAITER].tolist()
    [40.0, 54.0]
    """
    interval = median_interval_s(time_s)
    window = max(WINDOW_S, WINDOW_INTERVALS * interval)
    deviations = [_rolling_sd(time_s, p, window, interval) for p in channels.values()]
    # Quiet asks every site, so that one undecided window (NaN) decides against it; a dropout at
    # one site does not hide that another moves.
    highest, known = np.max(deviations, axis=0), np.fmax.reduce(deviations)
    for span in taken:
        crossing = (time_s + window > span.start_s) & (time_s < span.end_s)
        highest[crossing] = known[crossing] = np.nan

    def spans(mask: Mask, least_s: float) -> tuple[Span, ...]:
        return tuple(
            Span(float(time_s[first] + window / 2), float(time_s[last] + window / 2))
            for first, last in _runs(mask)
            if time_s[last] - time_s[first] >= least_s
        )

    quiet = spans(highest <= QUIET_SD_MMHG, max(PLATEAU_LEAST_S, 2 * window))
    means = {
        site: np.array([np.nanmean(pressure[span.holds(time_s)]) for span in quiet])
        for site, pressure in channels.items()
    }
    return Phases(quiet, spans(known > QUIET_SD_MMHG, interval), means)


def levels_of(means_mmhg: Array) -> Levels:
    """The level of each phase, 0 the lowest.

    Parameters
    ----------
    means_mmhg : ndarray, shape (phases,)
        Mean of each phase [mmHg], at least one.

    Returns
    -------
    ndarray of int, shape (phases,)

    Notes
    -----
    Levels are 3 mmHg apart or more: our choice.

    Examples
    --------
    >>> levels_of(np.array([40.0, 55.0, 41.5]))
    array([0, 1, 0])
    """
    order = np.argsort(means_mmhg)
    steps = np.diff(means_mmhg[order]) >= LEVEL_APART_MMHG
    levels = np.empty(means_mmhg.size, dtype=np.int64)
    levels[order] = np.concatenate(([0], np.cumsum(steps)))
    return levels


def level_means_mmhg(means_mmhg: Array) -> Array:
    """Mean of each level, rising [mmHg].

    Parameters
    ----------
    means_mmhg : ndarray, shape (phases,)
        Mean of each phase [mmHg], at least one.

    Returns
    -------
    ndarray, shape (levels,)
        [mmHg].

    Examples
    --------
    >>> level_means_mmhg(np.array([40.0, 55.0, 41.0]))
    array([40.5, 55. ])
    """
    levels = levels_of(means_mmhg)
    return np.array([means_mmhg[levels == k].mean() for k in range(int(levels.max()) + 1)])


def _rolling_sd(time_s: Array, pressure_mmhg: Array, window_s: float, interval_s: float) -> Array:
    """Standard deviation of the window that begins at each sample [mmHg].

    NaN where the window runs past the end or holds less than half the samples it should.
    """
    have = np.isfinite(pressure_mmhg)
    # Taking the median off first keeps the sums of squares small, and so exact.
    value = np.where(have, pressure_mmhg - np.nanmedian(pressure_mmhg), 0.0)
    sums = [np.concatenate(([0.0], np.cumsum(x))) for x in (have, value, value**2)]
    first = np.arange(time_s.size)
    after = np.searchsorted(time_s, time_s + window_s, "left")
    count, total, squares = (s[after] - s[first] for s in sums)
    enough = (count >= max(2.0, 0.5 * window_s / interval_s)) & (time_s + window_s <= time_s[-1])
    count = np.where(enough, count, 2.0)
    variance = np.maximum(squares - total**2 / count, 0.0) / (count - 1)
    return np.where(enough, np.sqrt(variance), np.nan)


def _runs(mask: Mask) -> list[tuple[int, int]]:
    """First and last index of every run of true."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], mask.astype(np.int8), [0]))))
    return [(int(first), int(after) - 1) for first, after in edges.reshape(-1, 2)]
