"""Small round parts of the skin where pressure is read or judged.

Reading sites lie on the inner side at each landmark, where sensors are placed and published
values were read. Two kinds of place differ, because a disc there would tell something else: in
the foot the inner side is the bony edge of the first metatarsal, so the site lies half-way to
the top of the foot; and at both ends the disc lies wholly under the bandage, not half off it.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d
from scipy.special import erfc

from gaiter.core.landmark import Landmark
from gaiter.core.leg.surface import Surface

Array = npt.NDArray[np.float64]

# Sensors and judgements look at a disc of this radius [cm] (2.5 cm across).
DISC_RADIUS_CM = 1.25
_INNER_SIDE, _INNER_TOP = np.pi / 2, np.pi / 4
_IN_FROM_THE_END_CM = 2 * DISC_RADIUS_CM
# Under padding a disc reads its surroundings too; shares smaller than this are left out.
_LEAST_SHARE, _RIM_CM = 1e-3, 0.05


@dataclass(frozen=True)
class Disc:
    """A small round part of the skin over which a pressure is averaged.

    Attributes
    ----------
    name : str
        What it is called.
    rings, angles : ndarray of int, shape (cells,)
        Its cells on the grid.
    weights : ndarray, shape (cells,)
        Share of the reading that each cell has; sums to 1.
    """

    name: str
    rings: npt.NDArray[np.intp]
    angles: npt.NDArray[np.intp]
    weights: Array

    def mean(self, cells: Array) -> float:
        """Mean of a map over the disc."""
        return float(self.weights @ cells[self.rings, self.angles])


def spread_through(surface: Surface, cells: Array, thickness_cm: float) -> Array:
    """A map as it arrives under a padding: peaks spread over about the padding's thickness.

    Parameters
    ----------
    surface : Surface
        The leg.
    cells : ndarray, shape (rings, angles)
        A map on the padding.
    thickness_cm : float
        Thickness of the padding, 0 or more [cm].

    Returns
    -------
    ndarray, shape (rings, angles)
    """
    if thickness_cm <= 0:
        return cells
    step_s = surface.s_cm[1] - surface.s_cm[0]
    step_round = surface.girth_cm.mean() / cells.shape[1]
    along = gaussian_filter1d(cells, thickness_cm / step_s, axis=0, mode="nearest")
    spread: Array = gaussian_filter1d(along, thickness_cm / step_round, axis=1, mode="wrap")
    return spread


def disc(
    surface: Surface,
    name: str,
    s_cm: float,
    angle: float,
    radius_cm: float = DISC_RADIUS_CM,
) -> Disc:
    """The disc of this radius [cm] about a place on the skin, read through the padding.

    Parameters
    ----------
    surface : Surface
        The leg, padding included.
    name : str
        What to call it.
    s_cm, angle : float
        Chart position [cm] and angle round the leg [rad].
    radius_cm : float
        Radius [cm].

    Returns
    -------
    Disc
    """
    nearest_ring = int(np.argmin(np.abs(surface.s_cm - s_cm)))
    steps = surface.section_cm.shape[2]
    nearest_angle = round(angle / (2 * np.pi) * steps) % steps
    centre = surface.points_cm[nearest_ring, nearest_angle]
    off = surface.points_cm - centre
    squared = np.einsum("...i,...i->...", off, off)
    # A disc smeared by a Gaussian as wide as the padding; without padding its rim is one cell.
    padding = np.broadcast_to(surface.padding_cm, surface.s_cm.shape)[nearest_ring]
    rim = max(float(padding), _RIM_CM)
    # Farther out the smear is under a billionth, whatever the cells' areas.
    rings, angles = np.nonzero(squared < (radius_cm + 6 * rim) ** 2)
    distance = np.sqrt(squared[rings, angles])
    smear = erfc((distance - radius_cm) / (np.sqrt(2) * rim))
    read = smear * surface.forms.area_element[rings, angles]
    enough = read > _LEAST_SHARE * read.max()
    rings, angles, weights = rings[enough], angles[enough], read[enough]
    return Disc(name, rings, angles, weights / weights.sum())


def reading_sites(surface: Surface) -> Mapping[Landmark, Disc]:
    """The disc at which each landmark's pressure is read; none at the heel."""
    sites: dict[Landmark, Disc] = {}
    for landmark in Landmark:
        s = surface.landmark_s_cm[landmark]
        outside = s < surface.start_s_cm or s > surface.end_s_cm
        if landmark is Landmark.HEEL_INSTEP or outside:
            continue
        s = np.clip(
            s,
            surface.start_s_cm + _IN_FROM_THE_END_CM,
            surface.end_s_cm - _IN_FROM_THE_END_CM,
        )
        in_foot = landmark in (Landmark.METATARSAL_HEADS, Landmark.INSTEP)
        angle = _INNER_TOP if in_foot else _INNER_SIDE
        sites[landmark] = disc(surface, landmark.value, float(s), angle)
    return sites


def bony_places(surface: Surface) -> tuple[Disc, ...]:
    """The disc at every bony place between start and end of the bandage."""
    discs = []
    for place in surface.body.bony_places:
        s, angle = surface.bony_place(place)
        if surface.start_s_cm <= s <= surface.end_s_cm:
            discs.append(disc(surface, place.name, s, angle))
    return tuple(discs)


def inner_line(surface: Surface, step_cm: float) -> tuple[Array, tuple[Disc, ...]]:
    """Discs every step up the line through the reading sites, and their chart positions [cm]."""
    first, last = surface.start_s_cm, surface.end_s_cm
    s = np.arange(first + DISC_RADIUS_CM, last - DISC_RADIUS_CM + 1e-9, step_cm)
    heel, ankle = (surface.landmark_s_cm[m] for m in (Landmark.HEEL_INSTEP, Landmark.ANKLE))
    angles = np.interp(s, [heel, ankle], [_INNER_TOP, _INNER_SIDE])
    discs = (disc(surface, "", place, angle) for place, angle in zip(s, angles, strict=True))
    return s, tuple(discs)
