"""Small round parts of the skin where pressure is read or judged.

Reading sites lie on the inner side at each landmark, where sensors are placed and published
values were read. Two kinds of place differ, because a disc there would tell something else: in
the foot the inner side is the bony edge of the first metatarsal, so the site lies half-way to
the top of the foot; and at both ends the disc lies wholly under the bandage, not half off it.

What is judged is the reading site, but at the ankle the mean round the limb: its range is one of
rings, and its inner side is the flattest place of the ring.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import numpy.typing as npt
from scipy.special import erfc

from gaiter.core.arrays import Array
from gaiter.core.landmark import FOOT_SITES, Landmark
from gaiter.core.leg.forms import normal_curvature
from gaiter.core.leg.surface import Surface

# Sensors and judgements look at a disc of this radius [cm] (2.5 cm across).
DISC_RADIUS_CM = 1.25
# Landmarks that are judged by the mean round the limb.
JUDGED_ROUND = (Landmark.ANKLE,)
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
    s_cm, angle : float
        Its middle on the chart [cm], [rad].
    arrives : float
        Share of what lies over it that arrives at the skin; below 1 under a pad.
    is_ring : bool
        Whether it is the band round the whole limb, which no pad covers.

    Examples
    --------
    >>> rings, angles, weights = np.array([0, 0]), np.array([0, 1]), np.array([0.25, 0.75])
    >>> pair = Disc("two cells", rings, angles, weights, 0.0, 0.0)
    >>> pair.mean(np.array([[40.0, 20.0]]))
    25.0
    """

    name: str
    rings: npt.NDArray[np.intp]
    angles: npt.NDArray[np.intp]
    weights: Array
    s_cm: float
    angle: float
    arrives: float = 1.0
    is_ring: bool = False

    def under_pad(self, surface: Surface, pad_cm: float) -> "Disc":
        """The same place under a pad over it alone.

        Parameters
        ----------
        surface : Surface
            The leg, padding included.
        pad_cm : float
            Thickness of the pad [cm], 0 or more.

        Returns
        -------
        Disc

        Examples
        --------
        On a radius of 4 cm a pad of 1 cm lets 1 / (1 + 1/4) arrive.

        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> round(disc(tube, "inner calf", 30.0, np.pi / 2).under_pad(tube, 1.0).arrives, 3)
        0.8
        """
        if self.is_ring:
            return self
        return disc(surface, self.name, self.s_cm, self.angle, pad_cm=pad_cm)

    def mean(self, cells: Array) -> float:
        """Mean of a map over the disc, as it arrives at the skin.

        Parameters
        ----------
        cells : ndarray, shape (rings, angles)
            The map, in any unit.

        Returns
        -------
        float
            In the map's unit.

        Examples
        --------
        >>> here = np.array([0])
        >>> padded = Disc("under a pad", here, here, np.array([1.0]), 0.0, 0.0, arrives=0.8)
        >>> padded.mean(np.array([[50.0]]))
        40.0
        """
        return self.arrives * float(self.weights @ cells[self.rings, self.angles])


def disc(
    surface: Surface,
    name: str,
    s_cm: float,
    angle: float,
    radius_cm: float = DISC_RADIUS_CM,
    pad_cm: float = 0.0,
) -> Disc:
    """The disc of this radius [cm] about a place on the skin, read through the padding.

    A pad over a convex place of curvature kappa lowers the pressure by 1 / (1 + kappa thickness),
    exactly so along a principal direction, and spreads what is left over about its thickness.

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
    pad_cm : float
        Thickness of a pad over this place alone, beside the padding, 0 or more [cm].

    Returns
    -------
    Disc

    Notes
    -----
    What a pad does is derived, no published source; see docs/design/0006-what-fits.md.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> place = disc(tube, "inner calf", 30.0, np.pi / 2)
    >>> round(place.mean(np.full((81, 96), 40.0)), 6)
    40.0
    """
    nearest_ring = int(np.argmin(np.abs(surface.s_cm - s_cm)))
    steps = surface.section_cm.shape[2]
    nearest_angle = round(angle / (2 * np.pi) * steps) % steps
    centre = surface.points_cm[nearest_ring, nearest_angle]
    off = surface.points_cm - centre
    squared = np.einsum("...i,...i->...", off, off)
    # A disc smeared by a Gaussian as wide as the padding; without padding its rim is one cell.
    padding = np.broadcast_to(surface.padding_cm, surface.s_cm.shape)[nearest_ring]
    rim = float(np.hypot(max(float(padding), _RIM_CM), pad_cm))
    # Farther out the smear is under a billionth, whatever the cells' areas.
    rings, angles = np.nonzero(squared < (radius_cm + 6 * rim) ** 2)
    distance = np.sqrt(squared[rings, angles])
    smear = erfc((distance - radius_cm) / (np.sqrt(2) * rim))
    read = smear * surface.forms.area_element[rings, angles]
    enough = read > _LEAST_SHARE * read.max()
    rings, angles, weights = rings[enough], angles[enough], read[enough]
    arrives = 1.0
    if pad_cm > 0:
        bare = disc(surface, name, s_cm, angle, radius_cm)
        arrives = 1 / (1 + bare.mean(hoop_curvature(surface)) * pad_cm)
    return Disc(name, rings, angles, weights / weights.sum(), s_cm, angle, arrives)


def ring(surface: Surface, name: str, s_cm: float) -> Disc:
    """The band round the limb as wide as a disc [2.5 cm], whose mean is the ring mean.

    Parameters
    ----------
    surface : Surface
        The leg, padding included.
    name : str
        What to call it.
    s_cm : float
        Chart position of its middle [cm].

    Returns
    -------
    Disc
        Its angle is the inner side's.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> band = ring(tube, "ankle", 12.0)
    >>> sorted(set(tube.s_cm[band.rings].tolist()))
    [11.0, 11.5, 12.0, 12.5, 13.0]
    """
    near = np.abs(surface.s_cm - s_cm) <= DISC_RADIUS_CM
    rings, angles = np.nonzero(np.broadcast_to(near[:, None], surface.forms.area_element.shape))
    weights = surface.forms.area_element[rings, angles]
    return Disc(name, rings, angles, weights / weights.sum(), s_cm, _INNER_SIDE, is_ring=True)


def hoop_curvature(surface: Surface) -> Array:
    """Normal curvature round the leg on every cell, 0 where hollow [1/cm].

    Parameters
    ----------
    surface : Surface
        The leg.

    Returns
    -------
    ndarray, shape (rings, angles)
        [1/cm], 0 or more.

    References
    ----------
    do Carmo M. Differential Geometry of Curves and Surfaces, chapters 2-4 (from memory).

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> bool(np.allclose(hoop_curvature(tube), 1 / 4))
    True
    """
    forms = surface.forms
    return np.maximum(normal_curvature(forms.metric, forms.second, 0.0), 0)


_NO_PADS: Mapping[str, float] = MappingProxyType({})


def reading_sites(
    surface: Surface, pads_cm: Mapping[str, float] = _NO_PADS
) -> Mapping[Landmark, Disc]:
    """The disc at which each landmark's pressure is read; none at the heel.

    Parameters
    ----------
    surface : Surface
        The leg, padding included.
    pads_cm : Mapping[str, float]
        Thickness of pads by the label of their landmark [cm], 0 or more.

    Returns
    -------
    Mapping[Landmark, Disc]
        Landmarks between start and end of the bandage, distal to proximal.

    References
    ----------
    Veraart, Pronk & Neumann, Dermatol Surg 1997 (sensors at the smallest girth: the inner side
    reads 74 % of the mean round the limb).

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> sites = reading_sites(tube, {"calf": 1.0})
    >>> len(sites), Landmark.HEEL_INSTEP in sites, round(sites[Landmark.CALF].arrives, 3)
    (6, False, 0.8)
    """
    sites: dict[Landmark, Disc] = {}
    for landmark, s in surface.landmark_s_cm.items():
        outside = s < surface.start_s_cm or s > surface.end_s_cm
        if landmark is Landmark.HEEL_INSTEP or outside:
            continue
        inside = np.clip(
            s,
            surface.start_s_cm + _IN_FROM_THE_END_CM,
            surface.end_s_cm - _IN_FROM_THE_END_CM,
        )
        in_foot = landmark in FOOT_SITES
        angle = _INNER_TOP if in_foot else _INNER_SIDE
        pad_cm = pads_cm.get(landmark.label, 0.0)
        sites[landmark] = disc(surface, landmark.value, float(inside), angle, pad_cm=pad_cm)
    return sites


def judged_sites(
    surface: Surface, pads_cm: Mapping[str, float] = _NO_PADS
) -> Mapping[Landmark, Disc]:
    """What is judged at each landmark: the reading site, at the ankle the mean round the limb.

    Parameters
    ----------
    surface : Surface
        The leg, padding included.
    pads_cm : Mapping[str, float]
        Thickness of pads by the label of their landmark [cm], 0 or more.

    Returns
    -------
    Mapping[Landmark, Disc]
        Landmarks between start and end of the bandage, distal to proximal.

    References
    ----------
    RAL-GZ 387 (from memory): the profile of hosiery, from which the ankle's range comes, is one
    of girths, so of means round the limb. Partsch et al. 2006, J Vasc Surg, doi
    10.1016/j.jvs.2006.06.024: the gaiter's range was read at a point of the inner side.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> [site.value for site, one in judged_sites(round_limb(4)).items() if one.is_ring]
    ['ankle']
    """
    return {
        site: ring(surface, site.value, surface.landmark_s_cm[site])
        if site in JUDGED_ROUND
        else one
        for site, one in reading_sites(surface, pads_cm).items()
    }


def bony_places(surface: Surface, pads_cm: Mapping[str, float] = _NO_PADS) -> tuple[Disc, ...]:
    """The disc at every bony place between start and end of the bandage.

    Parameters
    ----------
    surface : Surface
        The leg, padding included; its body model names the places.
    pads_cm : Mapping[str, float]
        Thickness of pads by the place's name [cm], 0 or more.

    Returns
    -------
    tuple[Disc, ...]
        As the body model lists them.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> [place.name for place in bony_places(tube)][:2]
    ['inner ankle bone', 'outer ankle bone']
    """
    discs = []
    for place in surface.body.bony_places:
        s, angle = surface.bony_place(place)
        if surface.start_s_cm <= s <= surface.end_s_cm:
            pad_cm = pads_cm.get(place.name, 0.0)
            discs.append(disc(surface, place.name, s, angle, pad_cm=pad_cm))
    return tuple(discs)


def inner_line(surface: Surface, step_cm: float) -> tuple[Array, tuple[Disc, ...]]:
    """Discs every step up the line through the reading sites.

    Parameters
    ----------
    surface : Surface
        The leg, padding included.
    step_cm : float
        Distance of one disc to the next along the chart [cm], above 0.

    Returns
    -------
    s_cm : ndarray, shape (discs,)
        Chart positions [cm], the first a disc's radius in from the start.
    discs : tuple[Disc, ...]
        One for each.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> inner_line(tube, 10.0)[0]
    array([ 1.25, 11.25, 21.25, 31.25])
    """
    first, last = surface.start_s_cm, surface.end_s_cm
    s = np.arange(first + DISC_RADIUS_CM, last - DISC_RADIUS_CM + 1e-9, step_cm)
    heel, ankle = (surface.landmark_s_cm[m] for m in (Landmark.HEEL_INSTEP, Landmark.ANKLE))
    angles = np.interp(s, [heel, ankle], [_INNER_TOP, _INNER_SIDE])
    discs = (disc(surface, "", place, angle) for place, angle in zip(s, angles, strict=True))
    return s, tuple(discs)
