"""Turns laid so that foot, heel and ankle are covered."""

import numpy as np

from gaiter.core.bandage.coverage import cell_area_cm2, thicknesses
from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import ANKLE_TURN, FIGURES_OF_EIGHT, Pattern, waypoints
from gaiter.core.bandage.strips import Strips, lay
from gaiter.core.landmark import Landmark
from gaiter.core.leg.surface import Surface

# As of gaps; and a strip whose edges differ in length by more than twice the usual largest of
# 0.25 / cm times its half width is not laid by anybody (our choices).
_BARE_CM2, _LARGEST_BEND = 0.5, 0.5


def covering_strips(
    surface: Surface,
    pattern: Pattern,
    width_cm: float,
    overlap: float,
    leg_width_cm: float | None = None,
) -> Strips:
    """One layer by the first figure-of-eight that leaves no gap below the ankle.

    Parameters
    ----------
    surface : Surface
        The leg, padding included.
    pattern : Pattern
        How the layer goes up the leg.
    width_cm : float
        Width of the bandage [cm].
    overlap : float
        Share of the width on the previous turn, 0 up to 0.9.
    leg_width_cm : float or None
        Width from the ankle up, where it differs [cm].

    Returns
    -------
    Strips
        With the least bare skin below the ankle, where no way covers it all.

    Raises
    ------
    ValueError
        If the overlap is outside 0..0.9.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> covering_strips(round_limb(4), Pattern.SPIRAL, 10.0, 0.5).turns > 5
    True
    """
    found = []
    for eight in FIGURES_OF_EIGHT:
        points = waypoints(surface, pattern, width_cm, overlap, leg_width_cm, eight)
        path = faired_path(surface, points)
        on_leg = path.turn >= ANKLE_TURN
        strips = lay(surface, path, np.where(on_leg, leg_width_cm or width_cm, width_cm))
        bare = _bare_below_the_ankle_cm2(surface, strips)
        wrinkles = bool(np.abs(path.sideways_bend).max() > _LARGEST_BEND)
        if bare < _BARE_CM2 and not wrinkles:
            return strips
        found.append((wrinkles, bare, strips))
    return min(found, key=lambda one: one[:2])[2]


def _bare_below_the_ankle_cm2(surface: Surface, strips: Strips) -> float:
    below = (surface.s_cm >= surface.start_s_cm) & (
        surface.s_cm <= surface.landmark_s_cm[Landmark.ANKLE]
    )
    bare = (thicknesses(strips) < 0.5) & below[:, None]
    return float(cell_area_cm2(surface)[bare].sum())
