"""Techniques as waypoints: where the middle of the bandage passes, and on which turn.

A turn is counted from the front or dorsum; the roll goes over the front from the inner to the
outer side, so turn n + 0.25 is at the outer side, n + 0.5 at the back or sole and n + 0.75 at
the inner side. Positions are chart positions s [cm].

Common practice, no source: two anchor turns at the metatarsal heads, then into the arch, a
figure-of-eight round the ankle, the heel covered on the following turn, then up the leg.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

import numpy as np
from scipy.interpolate import CubicSpline

from gaiter.core.landmark import Landmark
from gaiter.core.leg.surface import Surface


class Pattern(StrEnum):
    """How a layer goes up the leg above the ankle."""

    SPIRAL = "spiral"
    HERRINGBONE = "herringbone"


@dataclass(frozen=True)
class Waypoint:
    """A place the middle of the bandage passes, and how far from it the path may stray.

    Attributes
    ----------
    turn : float
        Turns from the start of the layer, counted at the front.
    s_cm : float
        Chart position [cm].
    tolerance_cm : float
        How far the path may stray [cm], above 0.

    Examples
    --------
    >>> Waypoint(2.5, 6.0, 1.0).turn % 1  # at the back or sole
    0.5
    """

    turn: float
    s_cm: float
    tolerance_cm: float


# How far up the leg the high turns of a herringbone lie above its low turns, in widths.
HERRINGBONE_RISE_WIDTHS = 0.6
# The distal edge of the first turn lies a finger's breadth over the metatarsal heads, and the
# last turn a little over the end, so that no sliver of skin stays bare when an edge strays.
_ANCHOR_CENTRE_WIDTHS = 0.40
_OVER_THE_END_CM = 0.3
_LEG_TOLERANCE_CM, _HERRINGBONE_TOLERANCE_CM = 0.3, 0.5
_ANCHOR_TOLERANCE_CM, _ANKLE_TOLERANCE_CM, _TOP_TOLERANCE_CM = 0.3, 0.6, 0.1
# The rise stops short of the last, level turn, so that the calf gets no third
# thickness; it takes half a turn to step up to it.
_STEP_TO_LEVEL, _TURN_TO_LEVEL = 0.8, 0.5


@dataclass(frozen=True)
class FigureOfEight:
    """The way round the ankle, between the anchor turns and the first turn up the leg.

    Attributes
    ----------
    shares : tuple[float, ...]
        At every half turn from 2.5: share of the way from instep to heel-instep (0..1) or from
        heel-instep to ankle (1..2).
    tolerance_cm : float
        How far the path may stray [cm].

    Examples
    --------
    Into the arch (turn 2.5), over the front of the ankle (4) and round the heel (4.5):

    >>> eight = FIGURES_OF_EIGHT[0]
    >>> eight.shares[0], eight.shares[3], eight.shares[4]
    (0.52, 1.99, 0.92)
    """

    shares: tuple[float, ...]
    tolerance_cm: float


# No leg has the ankle of another, so no single way covers every heel: tried in this order. Found
# by random search for no gap and little sideways bend on legs of the published regressions and on
# whole bodies; that the first goes into the arch, over the ankle and covers the heel on the
# following turn is common practice, no source.
FIGURES_OF_EIGHT = (
    FigureOfEight((0.52, 0.61, 0.99, 1.99, 0.92, 0.89), 0.86),
    FigureOfEight((0.50, 0.74, 1.39, 1.47, 0.94, 1.59), 0.30),
)
_FIRST_OF_EIGHT = 2.5
ANKLE_TURN = 5.5


def waypoints(
    surface: Surface,
    pattern: Pattern,
    width_cm: float,
    overlap: float,
    leg_width_cm: float | None = None,
    eight: FigureOfEight = FIGURES_OF_EIGHT[0],
) -> tuple[Waypoint, ...]:
    """Waypoints of one layer from the metatarsal heads to just below the knee.

    Parameters
    ----------
    surface : Surface
        The leg, padding included.
    pattern : Pattern
        How the layer goes up the leg.
    width_cm : float
        Width of the bandage [cm].
    leg_width_cm : float or None
        Width from the ankle up, where it differs from that on foot and ankle [cm].
    overlap : float
        Share of the width on the previous turn of the same pass, 0 up to below 1, measured
        along the inner side of the leg.
    eight : FigureOfEight
        The way round the ankle.

    Returns
    -------
    tuple[Waypoint, ...]

    Raises
    ------
    ValueError
        If the overlap is outside 0..0.9.

    Notes
    -----
    Two anchor turns, a figure-of-eight round the ankle, then up the leg: common practice, no
    source.

    Examples
    --------
    The first turn's middle lies 0.4 of the width up, the last turn's upper edge 0.3 cm past
    the end.

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> points = waypoints(tube, Pattern.SPIRAL, width_cm=10.0, overlap=0.5)
    >>> round(points[0].s_cm, 1), round(points[-1].s_cm, 1)
    (4.0, 35.3)
    """
    if not 0 <= overlap <= 0.9:
        raise ValueError(
            f"overlap must be 0 to 0.9 of the width; received {overlap:g}: 0.5 covers half"
        )
    height, place = _inner_side(surface)
    leg_width = leg_width_cm or width_cm
    pitch = leg_width * (1 - overlap)
    top = place(height(surface.end_s_cm) - leg_width / 2 + _OVER_THE_END_CM)
    foot = _foot_and_ankle(surface, width_cm, eight)
    if pattern is Pattern.SPIRAL:
        return foot + _spiral(height, place, foot[-1], top, pitch)
    rise = HERRINGBONE_RISE_WIDTHS * leg_width
    return foot + _herringbone(height, place, foot[-1], top, pitch, rise)


Along = Callable[[float], float]


def _inner_side(surface: Surface) -> tuple[Along, Along]:
    """Arc length along the inner side at a chart position, and the chart position at one."""
    column = round(surface.section_cm.shape[2] / 4)
    speed = np.sqrt(surface.forms.metric[0][:, column])
    arc = CubicSpline(surface.s_cm, speed).antiderivative()(surface.s_cm)

    def height(s: float) -> float:
        return float(np.interp(s, surface.s_cm, arc))

    def place(arc_cm: float) -> float:
        return float(np.interp(arc_cm, arc, surface.s_cm))

    return height, place


def _foot_and_ankle(
    surface: Surface, width_cm: float, eight: FigureOfEight
) -> tuple[Waypoint, ...]:
    stops = [surface.landmark_s_cm[m] for m in (Landmark.INSTEP, Landmark.HEEL_INSTEP)]
    ankle = surface.landmark_s_cm[Landmark.ANKLE]
    anchor = surface.start_s_cm + _ANCHOR_CENTRE_WIDTHS * width_cm
    points = [Waypoint(turn, anchor, _ANCHOR_TOLERANCE_CM) for turn in (0.0, 0.5, 1.0, 1.5, 2.0)]
    for half_turns, share in enumerate(eight.shares):
        place = float(np.interp(share, [0, 1, 2], [*stops, ankle]))
        points.append(Waypoint(_FIRST_OF_EIGHT + half_turns / 2, place, eight.tolerance_cm))
    return (*points, Waypoint(ANKLE_TURN, ankle, _ANKLE_TOLERANCE_CM))


def _spiral(
    height: Along, place: Along, start: Waypoint, top: float, pitch: float
) -> tuple[Waypoint, ...]:
    """One turn a pitch, then a last turn level under the knee."""
    first = height(start.s_cm)
    rise = height(top) - _STEP_TO_LEVEL * pitch - first
    quarters = np.arange(1, round(4 * rise / pitch) + 1) / 4
    rising = [
        Waypoint(start.turn + q, place(first + pitch * q), _LEG_TOLERANCE_CM) for q in quarters
    ]
    return (*rising, *_level_turn(start.turn + quarters[-1] + _TURN_TO_LEVEL, top))


def _herringbone(
    height: Along, place: Along, start: Waypoint, top: float, pitch: float, rise: float
) -> tuple[Waypoint, ...]:
    """Low and high at the back in turn, crossing at the front, each pair a pitch higher."""
    last = height(top) - _STEP_TO_LEVEL * pitch
    low, turn = height(start.s_cm), start.turn + 1.0
    crossings = []
    while low < last:
        crossings += [(turn, low), (turn + 1, min(low + rise, last))]
        low, turn = low + pitch, turn + 2
    points = []
    for (at, arc), (_after, beyond) in pairwise(crossings):
        points += [
            Waypoint(at, place(arc), _HERRINGBONE_TOLERANCE_CM),
            Waypoint(at + 0.5, place((arc + beyond) / 2), _HERRINGBONE_TOLERANCE_CM),
        ]
    points.append(Waypoint(crossings[-1][0], place(crossings[-1][1]), _HERRINGBONE_TOLERANCE_CM))
    return (*points, *_level_turn(turn - 1 + _TURN_TO_LEVEL, top))


def _level_turn(turn: float, top: float) -> tuple[Waypoint, ...]:
    return tuple(Waypoint(turn + q, top, _TOP_TOLERANCE_CM) for q in (0.0, 0.25, 0.5, 0.75, 1.0))
