"""What in a channel of a sensor log is not pressure on a leg: flagged, never repaired.

Times are s, pressures mmHg, NaN where a value is missing. Every artefact carries its span and
one phrase for the reader. Nothing here changes a value.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from gaiter.core.arrays import Array, Mask
from gaiter.core.words import Said

GAP_INTERVALS = 3.0
"""A step longer than this many median intervals is a gap. Common practice, no source."""

CLIPPED_LEAST_SAMPLES = 5
"""Shortest run of one value at the channel's end that is called clipped [samples]. Our choice."""

CLIPPED_TIMES_LONGER = 2.0
"""A clipped run is this many times longer than the runs elsewhere (99 in 100 of them), so that a
sensor that shows whole mmHg is not called clipped for resting quietly. Our choice."""

COARSE_SHARE = 0.5
"""Where this share of the neighbouring values is the same, a quiet leg looks like a clipped sensor
and clipping is not judged. Our choice."""

JUMP_LEAST_MMHG = 15.0
"""A smaller step is never a jump: noise of a dense log reaches some mmHg. Our choice."""

JUMP_RATE_MMHG_PER_S = 300.0
"""A steeper step is no pressure: 60 mmHg, a large swing of walking, within 0.2 s, a fast push-off.
Our choice."""

JUMP_SEEN_MMHG = 100.0
"""Where only larger jumps than this can be told, because the samples are far apart, the result
says so. Our choice."""

ZERO_ERROR_MMHG = 3.0
"""A reading below minus this is more than the zero error of a sensor. Our choice."""

JOINED_SAMPLES = 3
"""Jumps or negative phases at most so many samples apart are one artefact. Our choice."""


class ArtefactKind(StrEnum):
    """What is wrong.

    Examples
    --------
    >>> [kind.value for kind in ArtefactKind]
    ['gap', 'clipped', 'jump', 'flat line', 'negative']
    """

    GAP = "gap"
    CLIPPED = "clipped"
    JUMP = "jump"
    FLAT = "flat line"
    NEGATIVE = "negative"


@dataclass(frozen=True)
class Artefact:
    """A phase of one channel that is not to be trusted.

    Attributes
    ----------
    kind : ArtefactKind
    start_s, end_s : float
        First and last time concerned [s]. For a gap: the last sample before and the first after.
    words : Said
        What was seen, for the reader.

    Examples
    --------
    >>> Artefact(ArtefactKind.GAP, 1.0, 3.0, Said("no sample for 2 s")).end_s
    3.0
    """

    kind: ArtefactKind
    start_s: float
    end_s: float
    words: Said


def median_interval_s(time_s: Array) -> float:
    """Median time between neighbouring samples [s].

    Parameters
    ----------
    time_s : ndarray, shape (samples,)
        Growing times [s], at least two.

    Returns
    -------
    float
        [s].

    Examples
    --------
    >>> median_interval_s(np.array([0.0, 0.1, 0.2, 5.0, 5.1]))
    0.1
    """
    return float(np.round(np.median(np.diff(time_s)), 9))


def is_flat(pressure_mmhg: Array) -> bool:
    """Whether a channel holds no value, or one value from beginning to end.

    Parameters
    ----------
    pressure_mmhg : ndarray, shape (samples,)
        Pressures [mmHg], NaN where missing.

    Returns
    -------
    bool

    Examples
    --------
    >>> is_flat(np.array([0.0, np.nan, 0.0])), is_flat(np.array([0.0, 0.1]))
    (True, False)
    """
    values = pressure_mmhg[np.isfinite(pressure_mmhg)]
    return values.size == 0 or bool(values.min() == values.max())


def artefacts_of(time_s: Array, pressure_mmhg: Array) -> tuple[Artefact, ...]:
    """Everything flagged in one channel, in order of time.

    Parameters
    ----------
    time_s : Array
        Growing times, shape (samples,) [s].
    pressure_mmhg : Array
        Pressures, shape (samples,), NaN where missing [mmHg].

    Returns
    -------
    tuple of Artefact

    Examples
    --------
    >>> time = np.arange(40) / 10
    >>> pressure = 40 + np.sin(time)
    >>> pressure[20:25] = np.nan
    >>> artefacts_of(time, pressure)[0].words.text
    '5 samples without a value'
    """
    if not np.isfinite(pressure_mmhg).any():
        words = Said("no value from beginning to end: is the sensor connected?")
        return (Artefact(ArtefactKind.GAP, float(time_s[0]), float(time_s[-1]), words),)
    found = _gaps(time_s, pressure_mmhg) + _negative(time_s, pressure_mmhg)
    if is_flat(pressure_mmhg):
        found += [_flat(time_s, pressure_mmhg)]
    else:
        found += _clipped(time_s, pressure_mmhg) + _jumps(time_s, pressure_mmhg)
    return tuple(sorted(found, key=lambda artefact: (artefact.start_s, artefact.kind)))


def unchecked_of(time_s: Array, pressure_mmhg: Array) -> tuple[Said, ...]:
    """What could not be judged in one channel, in words.

    Parameters
    ----------
    time_s : ndarray, shape (samples,)
        Growing times [s].
    pressure_mmhg : ndarray, shape (samples,)
        Pressures [mmHg], NaN where missing.

    Returns
    -------
    tuple[Said, ...]

    Examples
    --------
    >>> time = np.arange(40.0)
    >>> unchecked_of(time, 40 + np.sin(time))[0].text
    'jumps of less than 300 mmHg, because a sample comes only every 1 s'
    """
    words = []
    if not is_flat(pressure_mmhg) and _is_coarse(pressure_mmhg):
        words.append(Said("clipping, because most neighbouring values are the same"))
    interval = median_interval_s(time_s)
    limit = JUMP_RATE_MMHG_PER_S * interval
    if limit > JUMP_SEEN_MMHG:
        words.append(
            Said(
                "jumps of less than {limit:.0f} mmHg, because a sample comes only every "
                "{interval:.3g} s",
                {"limit": limit, "interval": interval},
            )
        )
    return tuple(words)


def is_gap(step_s: Array, interval_s: float) -> Mask:
    """Which steps of time are longer than three intervals, rounding aside.

    Parameters
    ----------
    step_s : ndarray, shape (steps,)
        Steps from sample to sample [s].
    interval_s : float
        Median interval [s], above 0.

    Returns
    -------
    ndarray of bool, shape (steps,)

    Notes
    -----
    Three intervals: common practice, no source.

    Examples
    --------
    >>> is_gap(np.array([0.1, 0.3, 0.4]), 0.1).tolist()
    [False, False, True]
    """
    return step_s > GAP_INTERVALS * interval_s * (1 + 1e-6)


def inside_artefact(time_s: Array, found: tuple[Artefact, ...]) -> Mask:
    """Which samples lie in a flagged phase other than a gap.

    Parameters
    ----------
    time_s : ndarray, shape (samples,)
        Growing times [s].
    found : tuple[Artefact, ...]
        As :func:`artefacts_of` gives them.

    Returns
    -------
    ndarray of bool, shape (samples,)

    Examples
    --------
    >>> jump = Artefact(ArtefactKind.JUMP, 1.0, 2.0, Said("20 to 90 mmHg within 1 s"))
    >>> inside_artefact(np.arange(4.0), (jump,)).tolist()
    [False, True, True, False]
    """
    inside = np.zeros(time_s.shape, dtype=np.bool_)
    for artefact in found:
        if artefact.kind is not ArtefactKind.GAP:
            first = np.searchsorted(time_s, artefact.start_s, "left")
            inside[first : np.searchsorted(time_s, artefact.end_s, "right")] = True
    return inside


def _gaps(time_s: Array, pressure_mmhg: Array) -> list[Artefact]:
    interval = median_interval_s(time_s)
    have = np.flatnonzero(np.isfinite(pressure_mmhg))
    # The log's ends stand in for a sample, so that values missing there count too.
    edges = np.concatenate(([-1], have, [time_s.size]))
    missing = np.diff(edges) - 1
    left = time_s[np.clip(edges[:-1], 0, None)]
    right = time_s[np.clip(edges[1:], None, time_s.size - 1)]
    wide = (missing > 0) | is_gap(right - left, interval)
    return [
        Artefact(ArtefactKind.GAP, float(left[i]), float(right[i]),
                 _gap_words(int(missing[i]), float(right[i] - left[i]), interval))
        for i in np.flatnonzero(wide)
    ]  # fmt: skip


def _gap_words(missing: int, step_s: float, interval_s: float) -> Said:
    if missing:
        return Said(
            "{count} samples without a value" if missing > 1 else "{count} sample without a value",
            {"count": missing},
        )
    return Said(
        "no sample for {step:.3g} s, where one comes every {interval:.3g} s",
        {"step": step_s, "interval": interval_s},
    )


def _flat(time_s: Array, pressure_mmhg: Array) -> Artefact:
    value = float(np.nanmin(pressure_mmhg))
    words = Said(
        "{value:.1f} mmHg from beginning to end without any change: is the sensor connected?",
        {"value": value},
    )
    return Artefact(ArtefactKind.FLAT, float(time_s[0]), float(time_s[-1]), words)


def _clipped(time_s: Array, pressure_mmhg: Array) -> list[Artefact]:
    """Long runs of one value at the channel's lowest or highest.

    A short clip of a coarse sensor cannot be told from its resolution and is not flagged.
    """
    if _is_coarse(pressure_mmhg):
        return []
    changes = np.flatnonzero(pressure_mmhg[1:] != pressure_mmhg[:-1]) + 1
    starts = np.concatenate(([0], changes))
    lengths = np.diff(np.append(starts, pressure_mmhg.size))
    values = pressure_mmhg[starts]
    lowest, highest = float(np.nanmin(values)), float(np.nanmax(values))
    at_end = (values == lowest) | (values == highest)
    elsewhere = lengths[np.isfinite(values) & ~at_end]
    usual = float(np.percentile(elsewhere, 99)) if elsewhere.size else 0.0
    least = max(CLIPPED_LEAST_SAMPLES, CLIPPED_TIMES_LONGER * usual)
    return [
        Artefact(ArtefactKind.CLIPPED, float(time_s[starts[i]]),
                 float(time_s[starts[i] + lengths[i] - 1]),
                 _clipped_words(int(lengths[i]), float(values[i]), values[i] == highest))
        for i in np.flatnonzero(at_end & (lengths >= least))
    ]  # fmt: skip


def _clipped_words(count: int, value_mmhg: float, is_highest: bool) -> Said:
    return Said(
        "{count} samples of exactly {value:.1f} mmHg, the highest value of the log: has the sensor "
        "reached its limit?"
        if is_highest
        else "{count} samples of exactly {value:.1f} mmHg, the lowest value of the log: has the "
        "sensor reached its limit?",
        {"count": count, "value": value_mmhg},
    )


def _is_coarse(pressure_mmhg: Array) -> bool:
    """Whether most neighbouring values away from the channel's ends are the same."""
    lowest, highest = np.nanmin(pressure_mmhg), np.nanmax(pressure_mmhg)
    between = (pressure_mmhg > lowest) & (pressure_mmhg < highest)
    pairs = between[1:] & between[:-1]
    same = pairs & (pressure_mmhg[1:] == pressure_mmhg[:-1])
    return bool(same.sum() >= COARSE_SHARE * pairs.sum())


def _jumps(time_s: Array, pressure_mmhg: Array) -> list[Artefact]:
    """Steps too steep for a leg; what happens across a gap is not judged."""
    step_s = np.diff(time_s)
    rise = np.abs(np.diff(pressure_mmhg))
    limit = np.maximum(JUMP_LEAST_MMHG, JUMP_RATE_MMHG_PER_S * step_s)
    # A comparison with NaN is false, which leaves out steps to and from a missing value.
    steep = (rise > limit) & ~is_gap(step_s, median_interval_s(time_s))
    found = []
    for first, last in _joined_runs(steep):
        at = first + int(np.nanargmax(rise[first : last + 1]))
        words = Said(
            "{before:.0f} to {after:.0f} mmHg within {step:.2g} s, faster than a leg can",
            {
                "before": float(pressure_mmhg[at]),
                "after": float(pressure_mmhg[at + 1]),
                "step": float(step_s[at]),
            },
        )
        start, end = float(time_s[first]), float(time_s[last + 1])
        found.append(Artefact(ArtefactKind.JUMP, start, end, words))
    return found


def _negative(time_s: Array, pressure_mmhg: Array) -> list[Artefact]:
    below = pressure_mmhg < -ZERO_ERROR_MMHG
    return [
        Artefact(ArtefactKind.NEGATIVE, float(time_s[first]), float(time_s[last]),
                 Said(
                     "down to {lowest:.1f} mmHg, more than a zero error of {error:g} mmHg: was the "
                     "sensor zeroed?",
                     {
                         "lowest": float(np.nanmin(pressure_mmhg[first : last + 1])),
                         "error": ZERO_ERROR_MMHG,
                     },
                 ))
        for first, last in _joined_runs(below)
    ]  # fmt: skip


def _joined_runs(mask: Mask) -> list[tuple[int, int]]:
    """First and last index of every run of true, close ones joined."""
    at = np.flatnonzero(mask)
    if at.size == 0:
        return []
    breaks = np.flatnonzero(np.diff(at) > JOINED_SAMPLES)
    firsts = at[np.concatenate(([0], breaks + 1))]
    lasts = at[np.append(breaks, at.size - 1)]
    return [(int(first), int(last)) for first, last in zip(firsts, lasts, strict=True)]
