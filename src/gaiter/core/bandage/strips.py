"""Strips: where the fabric of one layer lies, turn by turn.

One record serves coverage, pressure, length, drawing, guide and what was applied. Its edges are
stepped perpendicular to the middle line *on the surface* (along geodesics), not along the chart.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.bandage.path import WINDING, Path
from gaiter.core.leg.surface import Surface

# Geodesic steps from the middle line to an edge; each is one lane of the strip.
_STEPS_TO_EDGE = 4
# Steps within a lane: the chart stretches quickly where the bend of the ankle begins.
_SUBSTEPS = 2


@dataclass(frozen=True)
class Strips:
    """One layer laid on the surface.

    Attributes
    ----------
    surface : Surface
        What it lies on.
    path : Path
        Its middle line.
    width_cm : float or ndarray, shape (samples,)
        Width of the fabric [cm].
    lane_s_cm, lane_angle : ndarray, shape (lanes, samples)
        Chart position [cm] and unwrapped angle [rad] of lines along the strip, from the edge
        nearer the toes to the edge nearer the knee; the middle lane is the path.

    Examples
    --------
    >>> from gaiter.core.bandage.path import faired_path
    >>> from gaiter.core.bandage.pattern import Waypoint
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> level = (Waypoint(0.0, 20.25, 0.1), Waypoint(2.0, 20.25, 0.1))
    >>> band = lay(tube, faired_path(tube, level), 10.0)
    >>> band.turns, band.lane_s_cm.shape
    (2, (9, 97))
    """

    surface: Surface
    path: Path
    width_cm: Array | float
    lane_s_cm: Array
    lane_angle: Array

    @cached_property
    def bands(self) -> "TurnBands":
        """The strip cut into turns over the surface's columns.

        Returns
        -------
        TurnBands

        Examples
        --------
        >>> from gaiter.core.bandage.path import faired_path
        >>> from gaiter.core.bandage.pattern import Waypoint
        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> level = (Waypoint(0.0, 20.25, 0.1), Waypoint(2.0, 20.25, 0.1))
        >>> band = lay(tube, faired_path(tube, level), 10.0)
        >>> bands = band.bands
        >>> round(float(bands.low_s_cm[1, 10]), 2), round(float(bands.high_s_cm[1, 10]), 2)
        (15.25, 25.25)
        """
        return _turn_bands(self)

    @property
    def turns(self) -> int:
        """Number of turns round the leg, a part turn counted whole.

        Returns
        -------
        int

        Examples
        --------
        >>> from gaiter.core.bandage.path import faired_path
        >>> from gaiter.core.bandage.pattern import Waypoint
        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> rising = (Waypoint(0.0, 10.0, 0.1), Waypoint(2.5, 20.0, 0.1))
        >>> lay(tube, faired_path(tube, rising), 10.0).turns
        3
        """
        return int(np.ceil(self.path.turn[-1] - self.path.turn[0]))


@dataclass(frozen=True)
class TurnBands:
    """What each turn covers on each column of the surface.

    Attributes
    ----------
    low_s_cm, high_s_cm : ndarray, shape (turns, angles)
        The band between its edges [cm]; NaN where the turn does not pass the column.
    low_slope, high_slope : ndarray, shape (turns, angles)
        ds/dangle of the fabric at those edges [cm/rad].

    Examples
    --------
    >>> edge = np.zeros((1, 4))
    >>> TurnBands(edge, edge + 10, edge, edge).high_s_cm.shape
    (1, 4)
    """

    low_s_cm: Array
    high_s_cm: Array
    low_slope: Array
    high_slope: Array

    def share_of_ring(self, turn: int, s_cm: Array, shift_cm: float | Array = 0.0) -> Array:
        """Share of each ring's band of the chart that a turn covers.

        Parameters
        ----------
        turn : int
            Which turn, from 0.
        s_cm : ndarray, shape (rings,)
            Rings, equally far apart [cm].
        shift_cm : float or ndarray, shape (rings, angles)
            How far the turn is shifted up the leg [cm].

        Returns
        -------
        ndarray, shape (rings, angles)
            0 to 1.

        Examples
        --------
        Rings reach half their distance to both sides; the band ends at 1.25 cm.

        >>> edge = np.zeros((1, 1))
        >>> TurnBands(edge, edge + 1.25, edge, edge).share_of_ring(0, np.array([0.0, 1.0, 2.0]))
        array([[0.5 ],
               [0.75],
               [0.  ]])
        """
        step = s_cm[1] - s_cm[0]
        top = np.minimum(self.high_s_cm[turn] + shift_cm, s_cm[:, None] + step / 2)
        bottom = np.maximum(self.low_s_cm[turn] + shift_cm, s_cm[:, None] - step / 2)
        share: Array = np.nan_to_num(np.maximum(top - bottom, 0) / step)
        return share


def lay(surface: Surface, path: Path, width_cm: Array | float) -> Strips:
    """Strips of a bandage of this width whose middle follows the path.

    Parameters
    ----------
    surface : Surface
        The leg, padding included.
    path : Path
        As :func:`gaiter.core.bandage.path.faired_path` gives it.
    width_cm : float or ndarray, shape (samples,)
        Width of the fabric [cm]; an array where another width is used up the leg.

    Returns
    -------
    Strips

    References
    ----------
    do Carmo M. Differential Geometry of Curves and Surfaces, chapters 2-4 (geodesics; from memory).

    Examples
    --------
    On a tube the edges of a level turn lie half the width from its middle.

    >>> from gaiter.core.bandage.path import faired_path
    >>> from gaiter.core.bandage.pattern import Waypoint
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> level = (Waypoint(0.0, 20.25, 0.1), Waypoint(2.0, 20.25, 0.1))
    >>> band = lay(tube, faired_path(tube, level), 10.0)
    >>> round(float(band.lane_s_cm[0, 0]), 2), round(float(band.lane_s_cm[-1, 0]), 2)
    (15.25, 25.25)
    """
    low = _edge(surface, path, width_cm, side=-1)
    high = _edge(surface, path, width_cm, side=1)
    lanes = [*low[::-1], (path.s_cm, path.angle), *high]
    return Strips(
        surface,
        path,
        width_cm,
        np.stack([lane[0] for lane in lanes]),
        np.stack([lane[1] for lane in lanes]),
    )


def _edge(
    surface: Surface, path: Path, width_cm: Array | float, *, side: int
) -> list[tuple[Array, Array]]:
    """Lanes from the middle (left out) to one edge, by geodesics perpendicular to the path."""
    place = np.stack([path.s_cm, path.angle])
    e, f, g = _at(surface, surface.forms.metric, *place)
    heading = side * np.stack([f * path.slope + g, -(e * path.slope + f)])
    heading = heading / _size(surface, place, heading)
    step = width_cm / 2 / _STEPS_TO_EDGE / _SUBSTEPS
    lanes = []
    for _turn in range(_STEPS_TO_EDGE):
        for _turn in range(_SUBSTEPS):
            place, heading = _geodesic_step(surface, place, heading, step)
            heading = heading / _size(surface, place, heading)
        lanes.append((place[0], place[1]))
    return lanes


def _size(surface: Surface, place: Array, heading: Array) -> Array:
    """Length of a chart direction on the surface; a geodesic keeps it, its numbers drift."""
    e, f, g = _at(surface, surface.forms.metric, *place)
    size: Array = np.sqrt((e * heading[0] + 2 * f * heading[1]) * heading[0] + g * heading[1] ** 2)
    return size


def _geodesic_step(
    surface: Surface, place: Array, heading: Array, step: Array | float
) -> tuple[Array, Array]:
    """One classical Runge-Kutta step of the geodesic equation."""

    def turn(at: Array, along: Array) -> Array:
        s_ss, s_st, s_tt, t_ss, t_st, t_tt = _at(surface, surface.forms.christoffel, *at)
        a, b = along
        return -np.stack(
            [
                (s_ss * a + 2 * s_st * b) * a + s_tt * b * b,
                (t_ss * a + 2 * t_st * b) * a + t_tt * b * b,
            ]
        )

    v1, a1 = heading, turn(place, heading)
    v2 = heading + step / 2 * a1
    a2 = turn(place + step / 2 * v1, v2)
    v3 = heading + step / 2 * a2
    a3 = turn(place + step / 2 * v2, v3)
    v4 = heading + step * a3
    a4 = turn(place + step * v3, v4)
    return (
        place + step / 6 * (v1 + 2 * v2 + 2 * v3 + v4),
        heading + step / 6 * (a1 + 2 * a2 + 2 * a3 + a4),
    )


def _at(surface: Surface, fields: Array, s: Array, angle: Array) -> Array:
    """Fields (fields, rings, angles) interpolated at places; past the ends the end's values."""
    rings, angles = fields.shape[1:]
    first, last = surface.s_cm[[0, -1]]
    ring = np.clip((s - first) / (last - first) * (rings - 1), 0, rings - 1.001)
    column = angle / (2 * np.pi) * angles
    below, left = ring.astype(int), np.floor(column).astype(int)
    up, right = ring - below, column - left
    left %= angles
    flat = fields.reshape(len(fields), rings * angles)
    corner = below * angles + left
    across = below * angles + (left + 1) % angles
    lower = flat[:, corner] * (1 - right) + flat[:, across] * right
    upper = flat[:, corner + angles] * (1 - right) + flat[:, across + angles] * right
    mixed: Array = lower + up * (upper - lower)
    return mixed


def _turn_bands(strips: Strips) -> TurnBands:
    """Lanes read off at every column of every turn; a band reaches from lowest to highest lane."""
    angles = strips.surface.section_cm.shape[2]
    turns = strips.turns
    first = strips.path.turn[0]
    turn_at = first + np.arange(turns * angles + 1) / angles
    lanes = []
    for s, angle in zip(strips.lane_s_cm, strips.lane_angle, strict=True):
        # Where a strip is bent so hard that a lane runs back, its furthest advance counts.
        along = np.maximum.accumulate(WINDING * angle / (2 * np.pi))
        lanes.append(np.interp(turn_at, along, s, left=np.nan, right=np.nan))
    lane_s = np.stack(lanes)
    ahead, behind = np.diff(lane_s, append=np.nan), np.diff(lane_s, prepend=np.nan)
    # Half-way between both neighbours; at a cut end there is one, and none beside a lone column,
    # where the fabric is taken as level.
    rise = np.where(
        np.isnan(ahead), behind, np.where(np.isnan(behind), ahead, (ahead + behind) / 2)
    )
    slope = WINDING * np.nan_to_num(rise) / (2 * np.pi / angles)
    # At a cut end only some lanes pass a column: the fabric there is that part of the width.
    there = ~np.isnan(lane_s)
    low = np.where(there, lane_s, np.inf).min(axis=0)
    high = np.where(there, lane_s, -np.inf).max(axis=0)
    passed = there.any(axis=0)
    low[~passed] = high[~passed] = np.nan
    lowest = np.where(there, lane_s, np.inf).argmin(axis=0)[None]
    highest = np.where(there, lane_s, -np.inf).argmax(axis=0)[None]
    low_slope = np.take_along_axis(slope, lowest, axis=0)[0]
    high_slope = np.take_along_axis(slope, highest, axis=0)[0]

    # Column c of the grid is passed when the unwrapped angle is WINDING * 2 pi * turn.
    column = (WINDING * np.arange(turns * angles) + round(WINDING * first * angles)) % angles
    order = column.reshape(turns, angles).argsort(axis=1)

    def on_columns(values: Array) -> Array:
        return np.take_along_axis(values[:-1].reshape(turns, angles), order, axis=1)

    return TurnBands(
        on_columns(low), on_columns(high), on_columns(low_slope), on_columns(high_slope)
    )
