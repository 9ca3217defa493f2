"""How many thicknesses lie where, and where none does."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import label
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from gaiter.core.arrays import Array, Mask
from gaiter.core.bandage.strips import Strips
from gaiter.core.leg.places import place_name
from gaiter.core.leg.surface import Surface

# Slivers smaller than this are within what the hand and the model can tell [cm2].
_LEAST_GAP_CM2 = 0.5


def thicknesses(strips: Strips) -> Array:
    """Thicknesses of one layer on every cell; edges count in part.

    Parameters
    ----------
    strips : Strips
        The layer.

    Returns
    -------
    ndarray, shape (rings, angles)

    Examples
    --------
    Two level turns on each other:

    >>> from gaiter.core.bandage.path import Waypoint, faired_path
    >>> from gaiter.core.bandage.strips import lay
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> level = (Waypoint(0.0, 20.25, 0.1), Waypoint(2.0, 20.25, 0.1))
    >>> band = lay(tube, faired_path(tube, level), 10.0)
    >>> on_it = thicknesses(band)[:, 0]
    >>> round(float(on_it[40]), 6), float(on_it[10])
    (2.0, 0.0)
    """
    s = strips.surface.s_cm
    total = np.zeros(strips.surface.section_cm.shape[1:])
    for turn in range(strips.turns):
        total += strips.bands.share_of_ring(turn, s)
    return total


def cell_area_cm2(surface: Surface) -> Array:
    """Area of every cell of the grid [cm2].

    Parameters
    ----------
    surface : Surface
        The leg.

    Returns
    -------
    ndarray, shape (rings, angles)
        [cm2].

    Examples
    --------
    81 rings of 0.5 cm on a girth of 8 pi cm:

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> round(float(cell_area_cm2(tube).sum()), 1)
    1017.9
    """
    step_s = surface.s_cm[1] - surface.s_cm[0]
    step_angle = 2 * np.pi / surface.section_cm.shape[2]
    area: Array = surface.forms.area_element * step_s * step_angle
    return area


@dataclass(frozen=True)
class Patch:
    """A connected part of the skin.

    Attributes
    ----------
    place : str
        The nearest named place.
    area_cm2 : float
        Its area [cm2].
    cells : ndarray of bool, shape (rings, angles)
        Which cells it takes.

    Examples
    --------
    >>> Patch("shin", 2.5, np.ones((1, 1), bool)).area_cm2
    2.5
    """

    place: str
    area_cm2: float
    cells: Mask


def patches(surface: Surface, cells: Mask, least_cm2: float = _LEAST_GAP_CM2) -> tuple[Patch, ...]:
    """Connected parts of marked skin, largest first, joined across the front line.

    Parameters
    ----------
    surface : Surface
        The leg.
    cells : ndarray of bool, shape (rings, angles)
        What is marked.
    least_cm2 : float
        Smaller parts are left out [cm2]; by default what hand and model cannot
        tell (our choice).

    Returns
    -------
    tuple[Patch, ...]

    Examples
    --------
    Ten rings of 0.5 cm by an eighth of a girth of 8 pi cm:

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> marked = np.zeros((81, 96), bool)
    >>> marked[42:52, 18:30] = True
    >>> [(patch.place, round(patch.area_cm2, 1)) for patch in patches(tube, marked)]
    [('inner side of the calf', 15.7)]
    """
    labels, count = label(cells)
    joined = cells[:, 0] & cells[:, -1]
    links = coo_matrix(
        (np.ones(joined.sum()), (labels[joined, 0], labels[joined, -1])), (count + 1, count + 1)
    )
    _first, group = connected_components(links, directed=False)
    area = cell_area_cm2(surface)
    found = []
    for number in np.unique(group[np.unique(labels[cells])]):
        part = cells & (group[labels] == number)
        size = float(area[part].sum())
        if size >= least_cm2:
            found.append(Patch(place_name(surface, part), size, part))
    return tuple(sorted(found, key=lambda patch: -patch.area_cm2))


def gaps(surface: Surface, compressive: tuple[Strips, ...]) -> tuple[Patch, ...]:
    """Skin between start and end that no compressive turn covers.

    Parameters
    ----------
    surface : Surface
        The leg, padding included.
    compressive : tuple[Strips, ...]
        Layers on it.

    Returns
    -------
    tuple[Patch, ...]
        Largest first.

    Notes
    -----
    Gaps below 0.5 cm2 are left out (our choice).

    Examples
    --------
    A band of 10 cm on 40 cm leaves skin bare below and above it.

    >>> from gaiter.core.bandage.path import Waypoint, faired_path
    >>> from gaiter.core.bandage.strips import lay
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> level = (Waypoint(0.0, 20.25, 0.1), Waypoint(2.0, 20.25, 0.1))
    >>> band = lay(tube, faired_path(tube, level), 10.0)
    >>> len(gaps(tube, (band,)))
    2
    """
    covered = sum((thicknesses(strips) for strips in compressive), np.zeros(1))
    between = (surface.s_cm >= surface.start_s_cm) & (surface.s_cm <= surface.end_s_cm)
    return patches(surface, (covered < 0.5) & between[:, None])
