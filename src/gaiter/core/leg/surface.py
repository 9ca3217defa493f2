"""The surface of one leg as plane sections on a chart.

The chart is (s, angle): s runs along the leg from the metatarsal heads (0) upwards, the angle
round it from the front over the medial side. Points live in the frame (forward, medial, up)
with the origin on the floor under the back of the heel, so a left leg is the same surface as
the right leg with the same measurements; only a drawing has to mirror it.

========================  =====================================================================
Assumption                Consequence
========================  =====================================================================
plane sections            no twist of the leg about its axis
depth from a body model   only girths are exact; the width takes what the depth leaves
rigid                     tissue give is part of the theory remainder, not of the surface
========================  =====================================================================
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
        """Points in the frame (forward, medial, up) [cm], shape (rings, angles, 3)."""
        towards_front, medial = self.section_cm
        points = self.origin_cm[:, None] + towards_front[..., None] * self.front[:, None]
        points[..., 1] += medial
        return points

    @cached_property
    def forms(self) -> Forms:
        """Fundamental forms on the grid."""
        return fundamental_forms(self.s_cm, self.points_cm)

    @cached_property
    def girth_cm(self) -> Array:
        """What a tape reads at each ring [cm], shape (rings,)."""
        return taped_girth_cm(self.section_cm)

    @cached_property
    def angle(self) -> Array:
        """Angles of the grid [rad], shape (angles,)."""
        angles: Array = np.linspace(0, 2 * np.pi, self.section_cm.shape[2], endpoint=False)
        return angles

    @property
    def start_s_cm(self) -> float:
        """Chart position where the bandage starts [cm]."""
        return float(self.landmark_s_cm[self.start])

    @property
    def end_s_cm(self) -> float:
        """Chart position where it ends [cm]."""
        return float(self.landmark_s_cm[self.end])

    def girth_at_cm(self, landmark: Landmark) -> float:
        """What a tape reads at a landmark [cm], padding included."""
        return float(CubicSpline(self.s_cm, self.girth_cm)(self.landmark_s_cm[landmark]))

    def bony_place(self, place: BonyPlace) -> tuple[float, float]:
        """Chart position [cm] and angle [rad] of a bony place."""
        return self.landmark_s_cm[place.landmark] + place.offset_cm, np.deg2rad(place.angle_deg)

    def between(self, start: Landmark, end: Landmark) -> "Surface":
        """The same surface, bandaged from another start to another end."""
        other = replace(self, start=start, end=end)
        # Its shape is the same, so what was worked out of it stays.
        for name in ("points_cm", "forms", "girth_cm", "angle"):
            if name in self.__dict__:
                other.__dict__[name] = self.__dict__[name]
        return other

    def padded(self, thickness_cm: Array | float) -> "Surface":
        """The surface outside a padding, even or of one thickness for each ring.

        Each section is offset in its own plane, so its girth grows by exactly
        2 pi thickness; bumps grow rounder by the same thickness.
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
    """Ring below, share of the way to the next, and nearest column, for places on the chart."""
    rings, angles = surface.section_cm.shape[1:]
    first, last = surface.s_cm[[0, -1]]
    ring = np.clip((s_cm - first) / (last - first) * (rings - 1), 0, rings - 1.001)
    below = ring.astype(int)
    column = np.round(angle / (2 * np.pi) * angles).astype(int) % angles
    return below, ring - below, column


def points_at(surface: Surface, s_cm: Array, angle: Array) -> Array:
    """Points [cm] at chart places, by nearest angle and linear s, shape (places, 3)."""
    below, share, column = nearest_cells(surface, s_cm, angle)
    points = surface.points_cm
    lower, upper = points[below, column], points[below + 1, column]
    between: Array = lower + share[:, None] * (upper - lower)
    return between


def normals_at(surface: Surface, s_cm: Array, angle: Array) -> Array:
    """Outward unit normals at chart places, of the nearest cell, shape (places, 3)."""
    below, _middle, column = nearest_cells(surface, s_cm, angle)
    normals: Array = surface.forms.outward[below, column]
    return normals
