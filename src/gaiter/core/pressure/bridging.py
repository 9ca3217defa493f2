"""Skin that the fabric spans without touching, and how deep the hollow under it is."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull

from gaiter.core.arrays import Array
from gaiter.core.bandage.coverage import Patch, patches
from gaiter.core.leg.surface import Surface

# The skin gives more than this under any bandage; a shallower hollow needs no padding [cm].
_LEAST_DEPTH_CM = 0.1


@dataclass(frozen=True)
class BridgedArea:
    """A hollow under the fabric.

    Attributes
    ----------
    patch : Patch
        Where it is.
    depth_cm : float
        Largest distance from the skin to the taut fabric: the padding that fills it [cm].

    Examples
    --------
    >>> BridgedArea(Patch("hollow", 2.0, np.ones((1, 1), bool)), 0.4).depth_cm
    0.4
    """

    patch: Patch
    depth_cm: float


def bridged_areas(surface: Surface, covered: Array, pressure: Array) -> tuple[BridgedArea, ...]:
    """Covered skin that no turn presses, with the depth of each hollow.

    Parameters
    ----------
    surface : Surface
        The leg, padding included.
    covered : ndarray, shape (rings, angles)
        Thicknesses of compressive layers.
    pressure : ndarray, shape (rings, angles)
        Their pressure, in any unit.

    Returns
    -------
    tuple[BridgedArea, ...]
        Largest first. The depth is taken round the leg, in the plane of each section.

    Notes
    -----
    Hollows shallower than 0.1 cm are left out: our choice, the skin gives more than that.

    Examples
    --------
    A round tube dented by a fifth over nine columns: at the edges of the dent
    the chord lies 4 cos(18.75 degrees) - 3.2 cos(15 degrees) off it.

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> tube.section_cm[:, 30:50, 20:29] *= 0.8
    >>> pressure = np.ones((81, 96))
    >>> pressure[30:50, 20:29] = 0
    >>> [round(area.depth_cm, 2) for area in bridged_areas(tube, np.ones((81, 96)), pressure)]
    [0.7]
    """
    on_leg = (surface.s_cm >= surface.start_s_cm) & (surface.s_cm <= surface.end_s_cm)
    bridged = (covered > 0.5) & (pressure <= 0) & on_leg[:, None]
    areas = (BridgedArea(patch, _deepest_cm(surface, patch)) for patch in patches(surface, bridged))
    return tuple(area for area in areas if area.depth_cm >= _LEAST_DEPTH_CM)


def _deepest_cm(surface: Surface, patch: Patch) -> float:
    rings = np.flatnonzero(patch.cells.any(axis=1))
    return max(
        hollow_depth_cm(surface.section_cm[:, ring], np.flatnonzero(patch.cells[ring]))
        for ring in rings
    )


def hollow_depth_cm(section_cm: Array, columns: npt.NDArray[np.intp]) -> float:
    """Largest distance from a hollow of a section to the line that spans it [cm].

    Parameters
    ----------
    section_cm : ndarray, shape (2, angles)
        The section.
    columns : ndarray of int
        Angles in the hollow.

    Returns
    -------
    float
        0 where the section is convex.

    Examples
    --------
    A notch of 1 cm in the side of a square:

    >>> square = np.array([[0.0, 4, 4, 2, 0], [0, 0, 4, 3, 4]])
    >>> round(hollow_depth_cm(square, np.array([3])), 6)
    1.0
    """
    # Each row of the hull's equations is an outward unit normal and an offset.
    equations = ConvexHull(section_cm.T).equations
    outside = equations[:, :2] @ section_cm[:, columns] + equations[:, 2:]
    return max(0.0, float(-outside.max(axis=0).min()))
