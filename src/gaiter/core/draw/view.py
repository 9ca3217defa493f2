"""Looking at a leg: projection of the surface, its outline and what can be seen."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from gaiter.core.arrays import Array, Mask
from gaiter.core.landmark import Side
from gaiter.core.leg.surface import Surface


class Direction(StrEnum):
    """From where the leg is seen."""

    FRONT = "front"
    INNER_SIDE = "inner side"


# Seen from the front the camera is raised, so that the top of the foot shows.
_FRONT_ELEVATION = np.deg2rad(25)


@dataclass(frozen=True)
class View:
    """An orthographic view; screen coordinates in cm, right and down positive.

    A right leg's inner side is on the right when seen from the front, and its toes point left
    when seen from the inner side; a left leg is the mirror image of both.
    """

    direction: Direction
    side: Side

    @property
    def _mirror(self) -> int:
        return 1 if self.side is Side.RIGHT else -1

    @property
    def towards_viewer(self) -> Array:
        """Unit vector in the frame (forward, medial, up)."""
        if self.direction is Direction.INNER_SIDE:
            return np.array([0.0, 1.0, 0.0])
        return np.array([np.cos(_FRONT_ELEVATION), 0.0, np.sin(_FRONT_ELEVATION)])

    def project(self, points_cm: Array) -> Array:
        """Screen coordinates of points, shape (..., 2)."""
        forward, medial, up = np.moveaxis(points_cm, -1, 0)
        if self.direction is Direction.INNER_SIDE:
            return np.stack([-self._mirror * forward, -up], axis=-1)
        height = up * np.cos(_FRONT_ELEVATION) - forward * np.sin(_FRONT_ELEVATION)
        return np.stack([self._mirror * medial, -height], axis=-1)

    def visible(self, normals: Array) -> Mask:
        """Whether skin with these outward normals faces the viewer."""
        facing: Mask = normals @ self.towards_viewer > 0
        return facing

    def outline(self, surface: Surface) -> Array:
        """The leg's edge from one end round to the other, shape (points, 2).

        On every ring the two points that reach farthest across the projected middle line.
        """
        rings = self.project(surface.points_cm)
        middle = rings.mean(axis=1)
        along = np.gradient(middle, axis=0)
        along /= np.linalg.norm(along, axis=1, keepdims=True)
        across = np.stack([-along[:, 1], along[:, 0]], axis=-1)
        reach = ((rings - middle[:, None]) * across[:, None]).sum(axis=-1)
        index = np.arange(len(rings))
        one, other = (
            rings[index, reach.argmax(axis=1)],
            rings[index, reach.argmin(axis=1)],
        )
        return np.concatenate([one, other[::-1]])
