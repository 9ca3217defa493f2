"""The middle line of a bandage: the smooth curve near its waypoints with the least sideways bend.

Fabric lies flat only along a line without geodesic curvature; where that cannot be, one edge is
stretched more than the other and the bandage wrinkles.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.linalg import solveh_banded

from gaiter.core.arrays import Array
from gaiter.core.bandage.pattern import Waypoint
from gaiter.core.leg.surface import Surface

SAMPLES_PER_TURN = 48
# The roll goes over the front from the inner (90 degrees) to the outer side (-90 degrees).
WINDING = -1
# A sideways bend of this size [1/cm] over this length [cm] weighs as much as straying from a
# waypoint by its whole tolerance.
_BEND_SCALE, _BEND_LENGTH_CM = 0.05, 5.0
_TRIALS, _SETTLED_CM, _LARGEST_STEP_CM = 30, 0.01, 1.0
_FIRST_DAMPING, _DAMPING_FACTOR = 1e-3, 5.0


@dataclass(frozen=True)
class Path:
    """The middle line of one layer, sampled at equal steps of the turn count.

    Attributes
    ----------
    turn : ndarray, shape (samples,)
        Turns from the start of the layer, counted at the front.
    s_cm : ndarray, shape (samples,)
        Chart position [cm].
    slope : ndarray, shape (samples,)
        ds/dangle [cm/rad] with the winding's sign.
    sideways_bend : ndarray, shape (samples,)
        Geodesic curvature [1/cm]; times half the width it is the stretch difference of an edge.
    step_cm : ndarray, shape (samples,)
        Arc length that each sample stands for [cm].

    Examples
    --------
    >>> half = np.array([0.0, 0.5])
    >>> Path(half, 20 + half, half, 0 * half, np.array([6.0, 6.0])).length_cm
    12.0
    """

    turn: Array
    s_cm: Array
    slope: Array
    sideways_bend: Array
    step_cm: Array

    @property
    def angle(self) -> Array:
        """Angle round the leg, unwrapped [rad].

        Returns
        -------
        ndarray, shape (samples,)
            [rad]; it falls, for the roll goes over the front from the inner to the outer side.

        Examples
        --------
        >>> one = np.array([1.0])
        >>> (Path(one, one, one, one, one).angle / np.pi).tolist()
        [-2.0]
        """
        return WINDING * 2 * np.pi * self.turn

    @property
    def length_cm(self) -> float:
        """Arc length of the middle line [cm].

        Returns
        -------
        float
            [cm].

        Examples
        --------
        >>> one = np.array([1.0])
        >>> Path(one, one, one, one, np.array([2.5])).length_cm
        2.5
        """
        return float(self.step_cm.sum())


class _Columns:
    """Metric and Christoffel symbols where the path's samples cross the surface's columns."""

    def __init__(self, surface: Surface, turn: Array) -> None:
        angles = surface.section_cm.shape[2]
        if angles % SAMPLES_PER_TURN:
            raise ValueError(
                f"the surface must have a multiple of {SAMPLES_PER_TURN} angles; received {angles}"
            )
        stride = angles // SAMPLES_PER_TURN
        sample = np.round(turn * SAMPLES_PER_TURN).astype(int)
        self._column = (WINDING * stride * sample) % angles
        self._fields = np.concatenate([surface.forms.metric, surface.forms.christoffel])
        self._first, self._step = surface.s_cm[0], surface.s_cm[1] - surface.s_cm[0]
        self._rings = len(surface.s_cm)

    def at(self, s: Array) -> Array:
        """Fields at chart positions, one per sample; beyond the ends the end's own values."""
        ring = np.clip((s - self._first) / self._step, 0, self._rings - 1.001)
        below = ring.astype(int)
        share = ring - below
        fields = self._fields
        lower = fields[:, below, self._column]
        return lower + share * (fields[:, below + 1, self._column] - lower)


def _sideways_bend(fields: Array, slope: Array, second: Array) -> tuple[Array, Array]:
    """Geodesic curvature of (s, angle) with angle' = WINDING, and its slope in s''."""
    e, f, g, s_ss, s_st, s_tt, t_ss, t_st, t_tt = fields
    w = WINDING
    along_s = second + (s_ss * slope + 2 * w * s_st) * slope + s_tt
    along_t = (t_ss * slope + 2 * w * t_st) * slope + t_tt
    speed = np.sqrt((e * slope + 2 * w * f) * slope + g)
    scale = np.sqrt(e * g - f * f) / speed**3
    return scale * (slope * along_t - w * along_s), -w * scale


def faired_path(surface: Surface, points: tuple[Waypoint, ...]) -> Path:
    """Path near the waypoints with the least sideways bend.

    Minimises the sum of squares of sideways bend along the path and of straying from the
    waypoints in units of their tolerance, by Levenberg-Marquardt steps on a banded system.

    Parameters
    ----------
    surface : Surface
        The leg, padding included.
    points : tuple[Waypoint, ...]
        Waypoints in order of turn, at least two.

    Returns
    -------
    Path

    Raises
    ------
    ValueError
        If the surface's angles are no multiple of the samples of a turn.

    Notes
    -----
    Each step takes the length that a sample stands for as it lies: what is found is the least for
    the lengths of the path found. Letting the lengths change too moves a herringbone on the leg of
    a median woman by up to 0.33 cm; on the legs of men it leads to another least round the ankle,
    1 to 3 cm away and now lower, now higher.

    References
    ----------
    do Carmo M. Differential Geometry of Curves and Surfaces, chapters 2-4 (geodesic curvature; from
    memory). Waypoints' tolerances and the weight of the bend are our choice.

    Examples
    --------
    Two level turns on a girth of 8 pi cm:

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> level = (Waypoint(0.0, 20.0, 0.1), Waypoint(2.0, 20.0, 0.1))
    >>> round(faired_path(tube, level).length_cm, 1)
    50.3
    """
    first, last = points[0].turn, points[-1].turn
    count = round((last - first) * SAMPLES_PER_TURN) + 1
    turn = first + np.arange(count) / SAMPLES_PER_TURN
    at_turn = np.array([point.turn for point in points])
    wanted = np.array([point.s_cm for point in points])
    strictness = np.array([1 / point.tolerance_cm**2 for point in points])
    index = np.round((at_turn - first) * SAMPLES_PER_TURN).astype(int)
    columns = _Columns(surface, turn)
    s = PchipInterpolator(at_turn, wanted)(turn)
    step = 2 * np.pi / SAMPLES_PER_TURN

    damping = _FIRST_DAMPING
    terms = _bend_residuals(columns, s, step)
    cost = _cost(terms.residual, s[index] - wanted, strictness)
    for _turn in range(_TRIALS):
        band, gradient = _normal_equations(terms, count)
        gradient[index] += strictness * (s[index] - wanted)
        band[2, index] += strictness
        band[2] *= 1 + damping
        move = np.clip(-solveh_banded(band, gradient), -_LARGEST_STEP_CM, _LARGEST_STEP_CM)
        tried = _bend_residuals(columns, s + move, step)
        tried_cost = _cost(tried.residual, s[index] + move[index] - wanted, strictness)
        if tried_cost > cost:
            damping *= _DAMPING_FACTOR
            continue
        s, terms, cost = s + move, tried, tried_cost
        damping /= _DAMPING_FACTOR
        if np.abs(move).max() < _SETTLED_CM:
            break
    return _path(columns, turn, s, step)


class _BendTerms(NamedTuple):
    """Weighted sideways bend at inner samples and its slopes in s before, here and after."""

    residual: Array
    by_before: Array
    by_here: Array
    by_after: Array


def _bend_residuals(columns: _Columns, s: Array, step: float) -> _BendTerms:
    slope = (s[2:] - s[:-2]) / (2 * step)
    second = (s[2:] - 2 * s[1:-1] + s[:-2]) / step**2
    nudge = 1e-3
    fields = columns.at(s)[:, 1:-1]
    bend, by_second = _sideways_bend(fields, slope, second)
    by_slope = (_sideways_bend(fields, slope + nudge, second)[0] - bend) / nudge
    nudged = columns.at(s + nudge)[:, 1:-1]
    by_place = (_sideways_bend(nudged, slope, second)[0] - bend) / nudge
    weight = np.sqrt(_speed(fields, slope) * step / _BEND_LENGTH_CM) / _BEND_SCALE
    sharp = by_second / step**2
    return _BendTerms(
        weight * bend,
        weight * (sharp - by_slope / (2 * step)),
        weight * (by_place - 2 * sharp),
        weight * (sharp + by_slope / (2 * step)),
    )


def _cost(residual: Array, stray_cm: Array, strictness: Array) -> float:
    return float(residual @ residual + strictness @ stray_cm**2)


def _normal_equations(terms: _BendTerms, count: int) -> tuple[Array, Array]:
    """Upper banded form (diagonal last) of the Gauss-Newton matrix, and the gradient."""
    band, gradient = np.zeros((3, count)), np.zeros(count)
    inner = np.arange(1, count - 1)
    slopes = (terms.by_before, terms.by_here, terms.by_after)
    for offset, slope in zip((-1, 0, 1), slopes, strict=True):
        gradient[inner + offset] += slope * terms.residual
        band[2, inner + offset] += slope**2
    band[1, inner] += terms.by_before * terms.by_here
    band[1, inner + 1] += terms.by_here * terms.by_after
    band[0, inner + 1] += terms.by_before * terms.by_after
    return band, gradient


def _speed(fields: Array, slope: Array) -> Array:
    e, f, g = fields[:3]
    speed: Array = np.sqrt((e * slope + 2 * WINDING * f) * slope + g)
    return speed


def _path(columns: _Columns, turn: Array, s: Array, step: float) -> Path:
    fields = columns.at(s)
    slope = np.gradient(s, step)
    second = np.gradient(slope, step)
    bend, _rest = _sideways_bend(fields, slope, second)
    length = _speed(fields, slope) * step
    length[[0, -1]] /= 2
    return Path(turn, s, WINDING * slope, bend, length)
