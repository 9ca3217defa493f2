"""What padding does to pressure over a bony place, and how much of it is enough."""

import numpy as np
import numpy.typing as npt

from gaiter.core.leg.surface import Surface
from gaiter.core.pressure.discs import Disc, spread_through

Array = npt.NDArray[np.float64]

# Padding is laid in steps of this thickness [cm]; beyond the last, more padding is no answer.
PADDING_STEPS_CM = tuple(step / 10 for step in range(2, 21, 2))


def under_padding(
    surface: Surface, pressure: Array, curvature: float, thickness_cm: float
) -> Array:
    """A pressure map as it arrives under an even padding over a place [mmHg].

    An even padding over a convex place of curvature kappa lowers the pressure by
    1 / (1 + kappa thickness), exactly so along a principal direction, and spreads what is left.

    Parameters
    ----------
    surface : Surface
        The leg.
    pressure : ndarray, shape (rings, angles)
        Pressure map [mmHg].
    curvature : float
        Mean normal curvature at the place [1/cm].
    thickness_cm : float
        Thickness of the padding, 0 or more [cm].

    Returns
    -------
    ndarray, shape (rings, angles)
        Meant for the place only; elsewhere the curvature is another.
    """
    spread = spread_through(surface, pressure, thickness_cm)
    arriving: Array = spread / (1 + max(curvature, 0.0) * thickness_cm)
    return arriving


def padding_that_answers(
    surface: Surface,
    pressure: Array,
    curvature: float,
    where: Disc,
    maximum_mmhg: float,
) -> float | None:
    """Least extra thickness of padding that brings a disc under its maximum [cm].

    See :func:`under_padding` for what a padding does.

    Parameters
    ----------
    surface : Surface
        The leg.
    pressure : ndarray, shape (rings, angles)
        Pressure map [mmHg].
    curvature : float
        Mean normal curvature under the disc [1/cm].
    where : Disc
        The bony place.
    maximum_mmhg : float
        Its own maximum [mmHg].

    Returns
    -------
    float or None
        0 where nothing is needed; None where padding alone is no answer.
    """
    if where.mean(pressure) <= maximum_mmhg:
        return 0.0
    for thickness in PADDING_STEPS_CM:
        if where.mean(under_padding(surface, pressure, curvature, thickness)) <= maximum_mmhg:
            return thickness
    return None
