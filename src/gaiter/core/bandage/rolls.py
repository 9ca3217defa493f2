"""How much of a roll a layer takes, and where one roll ends and the next begins."""

from dataclasses import dataclass

import numpy as np

from gaiter.core.bandage.strips import Strips
from gaiter.core.leg.places import name_at

# A join is moved down the roll until it lies this far off the shin edge [degrees round the leg].
_CLEAR_OF_SHIN_DEG = 45
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
    joins : tuple[str, ...]
        Where a new roll starts, in words.
    spare_cm : float
        What is left on the last roll, relaxed [cm].
    """

    length_cm: float
    relaxed_length_cm: float
    count: int
    joins: tuple[str, ...]
    spare_cm: float


def rolls_for(strips: Strips, stretch: float, roll_length_cm: float) -> Rolls:
    """Rolls that one layer takes at a stretch.

    Parameters
    ----------
    strips : Strips
        The layer.
    stretch : float
        Stretch as a fraction, 0 or more.
    roll_length_cm : float
        Relaxed length of one roll [cm], longer than a join.

    Returns
    -------
    Rolls
    """
    if stretch < 0 or roll_length_cm <= 2 * _JOIN_OVERLAP_CM:
        raise ValueError(
            f"stretch must be 0 or more and a relaxed roll longer than "
            f"{2 * _JOIN_OVERLAP_CM:g} cm; received {stretch:g} and {roll_length_cm:g} cm: "
            f"check the material's record"
        )
    on_leg = strips.path.length_cm
    relaxed = on_leg / (1 + stretch)
    covered = np.cumsum(strips.path.step_cm) / (1 + stretch)
    joins: list[str] = []
    start = 0.0
    while relaxed - start > roll_length_cm:
        sample = _clear_sample(strips, int(np.searchsorted(covered, start + roll_length_cm)) - 1)
        joins.append(_join_words(strips, sample))
        start = float(covered[sample]) - _JOIN_OVERLAP_CM
    taken = relaxed + len(joins) * _JOIN_OVERLAP_CM
    return Rolls(on_leg, taken, len(joins) + 1, tuple(joins), start + roll_length_cm - relaxed)


def _clear_sample(strips: Strips, latest: int) -> int:
    """The last sample, going back at most a turn, that lies clear of the shin and the ankle.

    Joins are thick; over a bony edge, the ankle or a wound they press.
    """
    degrees = np.rad2deg(strips.path.angle + np.pi) % 360 - 180
    for sample in range(latest, max(latest - 48, 0), -1):
        place = name_at(strips.surface, strips.path.s_cm[sample], strips.path.angle[sample])
        if abs(degrees[sample]) > _CLEAR_OF_SHIN_DEG and "ankle" not in place and place != "heel":
            return sample
    return latest


def _join_words(strips: Strips, sample: int) -> str:
    place = name_at(strips.surface, strips.path.s_cm[sample], strips.path.angle[sample])
    return f"turn {int(strips.path.turn[sample]) + 1}, {place}"
