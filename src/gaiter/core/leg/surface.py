"""The surface of one leg as plane sections on a chart.

The chart is (s, angle): s runs along the leg from the metatarsal heads (0) upwards, the angle
round it from the front over the medial side. Points live in the frame (forward, medial, up)
with the origin on the floor under the back of the heel, so a left leg is the same surface as
the right leg with the same measurements; only a drawing has to mirror it.

========================  =====================================================================
Assumption                Consequence
========================  =====================================================================
plane sections            no twist of the leg about its axis
shape learnt from bodies  only girths are exact; depth and width are the most probable ones
rigid                     tissue give is part of the theory remainder, not of the surface
========================  =====================================================================

The angle counts the way round: equal steps of it are equal lengths of skin on a bare section,
and plus 90 degrees is a quarter of the girth from the front over the inner side.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy.interpolate import CubicSpline

from gaiter.core.arrays import Array
from gaiter.core.landmark import Landmark
from gaiter.core.leg.body_model import DEFAULT_BODY_MODEL, BodyModel, BonyPlace
from gaiter.core.leg.forms import Forms, fundamental_forms


@dataclass(frozen=True)
class Surface:
    """Sections of one leg on a grid of rings and angles.

    Attributes
    ----------
    s_cm : ndarray, shape (rings,)
        Chart positions [cm].
    landmark_s_cm : Mapping[Landmark, float]
        Chart position of each landmark [cm].
    section_cm : ndarray, shape (2, rings, angles)
        In-plane coordinates of the skin: towards the front or dorsum, and medial [cm].
    origin_cm, front : ndarray, shape (rings, 3)
        Centre of each section [cm] and unit vector towards its front.
    start, end : Landmark
        Where the bandage starts and ends.
    padding_cm : ndarray, shape (rings,), or 0
        Padding that the sections already include [cm].
    body : BodyModel
        The body model it was built with.

    Examples
    --------
    A tube of radius 4 cm in place of a leg:

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> round(tube.girth_at_cm(Landmark.CALF), 2)  # 8 pi
    25.13
    """

    s_cm: Array
    landmark_s_cm: Mapping[Landmark, float]
    section_cm: Array
    origin_cm: Array
    front: Array
    start: Landmark = Landmark.METATARSAL_HEADS
    end: Landmark = Landmark.BELOW_KNEE
    padding_cm: Array | float = 0.0
    body: BodyModel = DEFAULT_BODY_MODEL

    @cached_property
    def points_cm(self) -> Array:
        """Points in the frame (forward, medial, up) [cm].

        Returns
        -------
        ndarray, shape (rings, angles, 3)

        Examples
        --------
        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> tube.points_cm[40, 0].tolist()
        [4.0, 0.0, 20.0]
        """
        towards_front, medial = self.section_cm
        points = self.origin_cm[:, None] + towards_front[..., None] * self.front[:, None]
        points[..., 1] += medial
        return points

    @cached_property
    def forms(self) -> Forms:
        """Fundamental forms on the grid.

        Returns
        -------
        Forms

        References
        ----------
        do Carmo M. Differential Geometry of Curves and Surfaces, chapters 2-4 (from memory).

        Examples
        --------
        The metric round a tube is its radius squared:

        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> round(float(tube.forms.metric[2, 40, 10]), 6)
        16.0
        """
        return fundamental_forms(self.s_cm, self.points_cm)

    @cached_property
    def girth_cm(self) -> Array:
        """What a tape reads at each ring [cm].

        Returns
        -------
        ndarray, shape (rings,)

        Examples
        --------
        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> round(float(tube.girth_cm[0]), 2)
        25.13
        """
        return taped_girth_cm(self.section_cm)

    @cached_property
    def angle(self) -> Array:
        """Angles of the grid [rad], 0 at the front, growing to the inner side.

        Returns
        -------
        ndarray, shape (angles,)

        Examples
        --------
        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> round(float(np.rad2deg(tube.angle[24])), 6)
        90.0
        """
        angles: Array = np.linspace(0, 2 * np.pi, self.section_cm.shape[2], endpoint=False)
        return angles

    @property
    def start_s_cm(self) -> float:
        """Chart position where the bandage starts [cm].

        Returns
        -------
        float

        Examples
        --------
        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> tube.start_s_cm
        0.0
        """
        return float(self.landmark_s_cm[self.start])

    @property
    def end_s_cm(self) -> float:
        """Chart position where the bandage ends [cm].

        Returns
        -------
        float

        Examples
        --------
        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> tube.end_s_cm
        40.0
        """
        return float(self.landmark_s_cm[self.end])

    def girth_at_cm(self, landmark: Landmark) -> float:
        """What a tape reads at a landmark, padding included [cm].

        Parameters
        ----------
        landmark : Landmark
            Where.

        Returns
        -------
        float
            [cm].

        Examples
        --------
        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(5)
        >>> round(tube.girth_at_cm(Landmark.ANKLE), 2)  # 10 pi
        31.41
        """
        return float(CubicSpline(self.s_cm, self.girth_cm)(self.landmark_s_cm[landmark]))

    def bony_place(self, place: BonyPlace) -> tuple[float, float]:
        """Chart position and angle of a bony place.

        Parameters
        ----------
        place : BonyPlace
            One of the body model's.

        Returns
        -------
        s_cm : float
            [cm].
        angle : float
            [rad].

        Examples
        --------
        >>> from gaiter.core.leg.body_model import BONY_PLACES
        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> s_cm, angle = tube.bony_place(BONY_PLACES[0])  # inner ankle bone, 4 cm under the ankle
        >>> s_cm, round(float(np.rad2deg(angle)), 6)
        (8.0, 100.0)
        """
        return self.landmark_s_cm[place.landmark] + place.offset_cm, np.deg2rad(place.angle_deg)

    def between(self, start: Landmark, end: Landmark) -> "Surface":
        """The same surface, bandaged from another start to another end.

        Parameters
        ----------
        start, end : Landmark
            The most distal and the most proximal place to be bandaged.

        Returns
        -------
        Surface

        Examples
        --------
        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> short = tube.between(Landmark.INSTEP, Landmark.CALF)
        >>> short.start_s_cm, short.end_s_cm
        (5.0, 30.0)
        """
        other = replace(self, start=start, end=end)
        # Its shape is the same, so what was worked out of it stays.
        for name in ("points_cm", "forms", "girth_cm", "angle"):
            if name in self.__dict__:
                other.__dict__[name] = self.__dict__[name]
        return other

    def padded(self, thickness_cm: Array | float) -> "Surface":
        """The surface outside a padding, even or of one thickness for each ring.

        Each section is offset in its own plane, so its girth grows by exactly 2 pi thickness; bumps
        grow rounder by the same thickness.

        Parameters
        ----------
        thickness_cm : float or ndarray, shape (rings,)
            Thickness [cm], 0 or more.

        Returns
        -------
        Surface

        Raises
        ------
        ValueError
            If a thickness is below 0.

        Examples
        --------
        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> round(tube.padded(0.5).girth_at_cm(Landmark.CALF) - tube.girth_at_cm(Landmark.CALF), 2)
        3.14
        """
        thickness = np.broadcast_to(thickness_cm, self.s_cm.shape)
        if (thickness < 0).any():
            raise ValueError(
                f"padding must be 0 cm or thicker; received {thickness.min():g} cm: give its "
                f"thickness"
            )
        along = np.fft.rfftfreq(len(self.angle), 1 / len(self.angle)) * 1j
        along[-1] = 0
        d_front, d_medial = np.fft.irfft(
            np.fft.rfft(self.section_cm, axis=-1) * along, len(self.angle), axis=-1
        )
        length = np.hypot(d_front, d_medial)
        offset = thickness[:, None] * np.stack([d_medial, -d_front]) / length
        return replace(
            self,
            section_cm=self.section_cm + offset,
            padding_cm=self.padding_cm + thickness,
        )


def taped_girth_cm(section_cm: Array) -> Array:
    """Perimeter of the convex hull of each section [cm]: a tape does not dip into hollows.

    Parameters
    ----------
    section_cm : ndarray, shape (2, rings, angles)
        In-plane coordinates [cm].

    Returns
    -------
    ndarray, shape (rings,)

    References
    ----------
    Cauchy's formula for hollow sections: the perimeter of a hull is pi times its mean width.

    Examples
    --------
    A rectangle of 3 by 4 cm:

    >>> taped_girth_cm(np.array([[[0.0, 3, 3, 0]], [[0.0, 0, 4, 4]]])).tolist()
    [14.0]
    """
    edges = np.roll(section_cm, -1, axis=2) - section_cm
    girth: Array = np.hypot(*edges).sum(axis=1)
    following = np.roll(edges, -1, axis=2)
    turns_in = edges[0] * following[1] - edges[1] * following[0]
    hollow = (turns_in < 0).any(axis=1)
    if hollow.any():
        girth[hollow] = _hull_girth_cm(section_cm[:, hollow])
    return girth


def _hull_girth_cm(section_cm: Array) -> Array:
    """Cauchy's formula: the perimeter of a hull is pi times its mean width."""
    directions = np.linspace(0, np.pi, section_cm.shape[2] // 2, endpoint=False)
    towards_front, medial = section_cm
    width = np.empty((len(towards_front), len(directions)))
    for column, direction in enumerate(directions):
        reach = towards_front * np.cos(direction) + medial * np.sin(direction)
        width[:, column] = reach.max(axis=1) - reach.min(axis=1)
    return np.pi * width.mean(axis=1)


def nearest_cells(surface: Surface, s_cm: Array, angle: Array) -> tuple[Array, Array, Array]:
    """Cells of the grid that places on the chart lie in.

    Parameters
    ----------
    surface : Surface
        The leg.
    s_cm, angle : ndarray, shape (places,)
        Chart positions [cm] and angles [rad].

    Returns
    -------
    below : ndarray of int, shape (places,)
        Ring below.
    share : ndarray, shape (places,)
        Share of the way to the next ring, 0 to 1.
    column : ndarray of int, shape (places,)
        Nearest column.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> below, share, column = nearest_cells(tube, np.array([20.125]), np.array([np.pi / 2]))
    >>> int(below[0]), round(float(share[0]), 6), int(column[0])
    (40, 0.25, 24)
    """
    rings, angles = surface.section_cm.shape[1:]
    first, last = surface.s_cm[[0, -1]]
    ring = np.clip((s_cm - first) / (last - first) * (rings - 1), 0, rings - 1.001)
    below = ring.astype(int)
    column = np.round(angle / (2 * np.pi) * angles).astype(int) % angles
    return below, ring - below, column


def points_at(surface: Surface, s_cm: Array, angle: Array) -> Array:
    """Points at chart places, by nearest angle and linear s [cm].

    Parameters
    ----------
    surface : Surface
        The leg.
    s_cm, angle : ndarray, shape (places,)
        Chart positions [cm] and angles [rad].

    Returns
    -------
    ndarray, shape (places, 3)
        Forward, medial, up [cm].

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> points_at(tube, np.array([20.125]), np.array([np.pi / 2]))[0].round(6).tolist()
    [0.0, 4.0, 20.125]
    """
    below, share, column = nearest_cells(surface, s_cm, angle)
    points = surface.points_cm
    lower, upper = points[below, column], points[below + 1, column]
    between: Array = lower + share[:, None] * (upper - lower)
    return between


def normals_at(surface: Surface, s_cm: Array, angle: Array) -> Array:
    """Outward unit normals at chart places, of the nearest cell.

    Parameters
    ----------
    surface : Surface
        The leg.
    s_cm, angle : ndarray, shape (places,)
        Chart positions [cm] and angles [rad].

    Returns
    -------
    ndarray, shape (places, 3)
        Forward, medial, up.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> abs(normals_at(tube, np.array([20.0]), np.array([np.pi / 2]))[0].round(6)).tolist()
    [0.0, 1.0, 0.0]
    """
    below, _middle, column = nearest_cells(surface, s_cm, angle)
    normals: Array = surface.forms.outward[below, column]
    return normals
