"""How much of a roll a layer takes, and where one roll ends and the next begins."""

from dataclasses import dataclass

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.bandage.path import SAMPLES_PER_TURN
from gaiter.core.bandage.strips import Strips
from gaiter.core.leg.places import name_at
from gaiter.core.leg.surface import points_at
from gaiter.core.words import Said

# A join is moved down the roll until it lies this far off the shin edge [degrees round the leg].
_CLEAR_OF_SHIN_DEG = 45
_CLEAR_OF_WOUND_CM = 5.0
# New rolls start this far before the old one ends, so that the join holds [cm].
_JOIN_OVERLAP_CM = 5.0


@dataclass(frozen=True)
class Rolls:
    """The fabric of one layer.

    Attributes
    ----------
    length_cm : float
        Length on the leg [cm].
    relaxed_length_cm : float
        Length cut from relaxed rolls, joins included [cm].
    count : int
        Whole rolls taken.
    joins : tuple[Said, ...]
        Where a new roll starts, in words.
    spare_cm : float
        What is left on the last roll, relaxed [cm].

    Examples
    --------
    >>> Rolls(600.0, 400.0, 2, ("turn 9, calf",), 100.0).count
    2
    """

    length_cm: float
    relaxed_length_cm: float
    count: int
    joins: tuple[Said, ...]
    spare_cm: float


def rolls_for(
    strips: Strips,
    stretch: Array | float,
    roll_length_cm: float,
    *,
    cut_turn: float | None = None,
    keep_off_cm: Array | None = None,
) -> Rolls:
    """Rolls that one layer takes at a stretch.

    Parameters
    ----------
    strips : Strips
        The layer.
    stretch : float or ndarray, shape (samples,)
        Stretch as a fraction, 0 or more.
    roll_length_cm : float
        Relaxed length of one roll [cm], longer than a join.
    cut_turn : float or None
        Where a roll of another width must begin.
    keep_off_cm : ndarray, shape (3,) or None
        A point, such as the wound, that joins keep away from [cm].

    Returns
    -------
    Rolls
        Joins overlap by 5 cm (our choice).

    Raises
    ------
    ValueError
        If the stretch is below 0 or the roll no longer than two joins.

    Notes
    -----
    How far joins keep off the shin's edge (45 degrees) and the wound (5 cm) is our choice.

    Examples
    --------
    Two turns on a girth of 8 pi cm at a stretch of one half take 50.3 / 1.5 cm.

    >>> from gaiter.core.bandage.path import Waypoint, faired_path
    >>> from gaiter.core.bandage.strips import lay
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> level = (Waypoint(0.0, 20.25, 0.1), Waypoint(2.0, 20.25, 0.1))
    >>> band = lay(tube, faired_path(tube, level), 10.0)
    >>> found = rolls_for(band, 0.5, 300.0)
    >>> round(found.relaxed_length_cm, 1), found.count
    (33.5, 1)
    """
    least = float(np.min(stretch))
    if least < 0 or roll_length_cm <= 2 * _JOIN_OVERLAP_CM:
        raise ValueError(
            f"stretch must be 0 or more and a relaxed roll longer than "
            f"{2 * _JOIN_OVERLAP_CM:g} cm; received {least:g} and {roll_length_cm:g} cm: "
            f"check the material's record"
        )
    covered = np.cumsum(strips.path.step_cm / (1 + np.asarray(stretch)))
    relaxed = float(covered[-1])
    cut = None if cut_turn is None else int(np.searchsorted(strips.path.turn, cut_turn))
    joins: list[Said] = []
    start = 0.0
    while True:
        ends = relaxed - start <= roll_length_cm
        latest = (
            len(covered) - 1 if ends else int(np.searchsorted(covered, start + roll_length_cm)) - 1
        )
        # A join further back would start a roll that adds nothing to the one before.
        earliest = int(np.searchsorted(covered, start + _JOIN_OVERLAP_CM, side="right"))
        if cut is not None and earliest <= cut <= latest:
            sample, cut = cut, None
        elif ends:
            break
        else:
            sample = _last_clear(strips, earliest, latest, keep_off_cm)
        joins.append(_join_words(strips, sample))
        start = float(covered[sample]) - _JOIN_OVERLAP_CM
    taken = relaxed + len(joins) * _JOIN_OVERLAP_CM
    return Rolls(
        strips.path.length_cm,
        taken,
        len(joins) + 1,
        tuple(joins),
        start + roll_length_cm - relaxed,
    )


def _last_clear(strips: Strips, earliest: int, latest: int, keep_off_cm: Array | None) -> int:
    """The last sample clear of shin edge, ankle, heel and wound, going back at most a turn.

    Joins are thick, and there they press. The latest sample where none is clear.
    """
    path = strips.path
    window = np.arange(max(latest - SAMPLES_PER_TURN, earliest), latest + 1)[::-1]
    degrees = np.rad2deg(path.angle[window] + np.pi) % 360 - 180
    # A sample stands at 45 degrees, which rounding must not take for clear.
    clear = np.abs(degrees) > _CLEAR_OF_SHIN_DEG + 1e-6
    if keep_off_cm is not None:
        points = points_at(strips.surface, path.s_cm[window], path.angle[window])
        clear &= np.linalg.norm(points - keep_off_cm, axis=-1) > _CLEAR_OF_WOUND_CM
    for sample in window[clear]:
        place = name_at(strips.surface, path.s_cm[sample], path.angle[sample])
        if "ankle" not in place and place != "heel":
            return int(sample)
    return latest


def _join_words(strips: Strips, sample: int) -> Said:
    place = name_at(strips.surface, strips.path.s_cm[sample], strips.path.angle[sample])
    return at_turn(int(strips.path.turn[sample]) + 1, place)


def at_turn(turn: int, place: str) -> Said:
    """A place on a turn, in words.

    Parameters
    ----------
    turn : int
        From 1, distal first.
    place : str
        Name of the place on the leg.

    Returns
    -------
    Said

    Examples
    --------
    >>> at_turn(3, "back of the calf").text
    'turn 3, back of the calf'
    """
    return Said("turn {turn}, {place}", {"turn": turn, "place": Said(place)})
