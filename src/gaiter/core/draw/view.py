"""Looking at a leg: projection of the surface, its outline and what can be seen."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from gaiter.core.arrays import Array, Mask
from gaiter.core.landmark import Side
from gaiter.core.leg.surface import Surface


class Direction(StrEnum):
    """From where the leg is seen.

    Examples
    --------
    >>> [direction.value for direction in Direction]
    ['front', 'inner side']
    """

    FRONT = "front"
    INNER_SIDE = "inner side"


# Level lines over the leg seen from the front stand so far apart [cm].
_LINES_CM = 0.2
# Seen from the front the camera is raised, so that the top of the foot shows.
_FRONT_ELEVATION = np.deg2rad(25)


@dataclass(frozen=True)
class View:
    """An orthographic view; screen coordinates in cm, right and down positive.

    A right leg's inner side is on the right when seen from the front, and its toes point left
    when seen from the inner side; a left leg is the mirror image of both.

    Attributes
    ----------
    direction : Direction
        From where.
    side : Side
        Which leg.

    Examples
    --------
    >>> View(Direction.INNER_SIDE, Side.RIGHT).towards_viewer.tolist()
    [0.0, 1.0, 0.0]
    """

    direction: Direction
    side: Side

    @property
    def _mirror(self) -> int:
        return 1 if self.side is Side.RIGHT else -1

    @property
    def towards_viewer(self) -> Array:
        """Unit vector towards the viewer in the frame (forward, medial, up).

        Returns
        -------
        ndarray, shape (3,)

        Examples
        --------
        >>> View(Direction.INNER_SIDE, Side.LEFT).towards_viewer.tolist()
        [0.0, 1.0, 0.0]
        """
        if self.direction is Direction.INNER_SIDE:
            return np.array([0.0, 1.0, 0.0])
        return np.array([np.cos(_FRONT_ELEVATION), 0.0, np.sin(_FRONT_ELEVATION)])

    def project(self, points_cm: Array) -> Array:
        """Screen coordinates of points [cm].

        Parameters
        ----------
        points_cm : ndarray, shape (..., 3)
            Forward, medial, up [cm].

        Returns
        -------
        ndarray, shape (..., 2)
            Right and down [cm].

        Examples
        --------
        The toes of a right leg point left when it is seen from the inner side.

        >>> View(Direction.INNER_SIDE, Side.RIGHT).project(np.array([20.0, 0.0, 5.0])).tolist()
        [-20.0, -5.0]
        """
        forward, medial, up = np.moveaxis(points_cm, -1, 0)
        if self.direction is Direction.INNER_SIDE:
            return np.stack([-self._mirror * forward, -up], axis=-1)
        height = up * np.cos(_FRONT_ELEVATION) - forward * np.sin(_FRONT_ELEVATION)
        return np.stack([self._mirror * medial, -height], axis=-1)

    def visible(self, normals: Array) -> Mask:
        """Whether skin with these outward normals faces the viewer.

        Parameters
        ----------
        normals : ndarray, shape (..., 3)
            Unit normals: forward, medial, up.

        Returns
        -------
        ndarray of bool, shape (...)

        Examples
        --------
        >>> normals = np.array([[0.0, 1.0, 0.0], [0.0, -1.0, 0.0]])
        >>> View(Direction.INNER_SIDE, Side.RIGHT).visible(normals).tolist()
        [True, False]
        """
        facing: Mask = normals @ self.towards_viewer > 0
        return facing

    def outline(self, surface: Surface) -> Array:
        """The leg's edge from one end round to the other.

        From the front the farthest points on level lines. From the side on every ring the two
        points that reach farthest across the projected middle line, and at both ends the half
        of the ring that reaches farther out.

        Parameters
        ----------
        surface : Surface
            The leg.

        Returns
        -------
        ndarray, shape (points, 2)
            Right and down [cm].

        Examples
        --------
        A tube of radius 4 cm is 8 cm wide.

        >>> from gaiter.core.leg.tube import round_limb
        >>> tube = round_limb(4)
        >>> outline = View(Direction.INNER_SIDE, Side.RIGHT).outline(tube)
        >>> float(np.ptp(outline[:, 0]).round(6))
        8.0
        """
        rings = self.project(surface.points_cm)
        if self.direction is Direction.FRONT:
            return _scanned(rings)
        middle = rings.mean(axis=1)
        along = np.gradient(middle, axis=0)
        along /= np.linalg.norm(along, axis=1, keepdims=True)
        across = np.stack([-along[:, 1], along[:, 0]], axis=-1)
        reach = ((rings - middle[:, None]) * across[:, None]).sum(axis=-1)
        index = np.arange(len(rings))
        far, near = reach.argmax(axis=1), reach.argmin(axis=1)
        end = _half_ring(rings[-1], far[-1], near[-1], along[-1])
        start = _half_ring(rings[0], near[0], far[0], -along[0])
        return np.concatenate([rings[index, far], end, rings[index, near][::-1], start])


def _scanned(points: Array) -> Array:
    """Farthest points to either side on level lines over the projected surface.

    Seen from a raised place the rings overlap over the hollow of the ankle, so that none of them
    alone tells where the leg ends.
    """
    closed = np.concatenate([points, points[:, :1]], axis=1)
    edges = ((closed[:, :-1], closed[:, 1:]), (closed[:-1], closed[1:]))
    start = np.concatenate([one.reshape(-1, 2) for one, _other in edges])
    stop = np.concatenate([other.reshape(-1, 2) for _one, other in edges])
    upper = np.where((start[:, 1] < stop[:, 1])[:, None], start, stop)
    lower = start + stop - upper
    top = points[..., 1].min()
    first = np.ceil((upper[:, 1] - top) / _LINES_CM).astype(int)
    last = np.floor((lower[:, 1] - top) / _LINES_CM).astype(int)
    lines = int(last.max()) + 1
    left, right = np.full(lines, np.inf), np.full(lines, -np.inf)
    for further in range(int((last - first).max()) + 1):
        line = first + further
        met = line <= last
        down = top + line[met] * _LINES_CM - upper[met, 1]
        slant = (lower - upper)[met]
        share = down / np.where(slant[:, 1] > 0, slant[:, 1], 1)
        x = upper[met, 0] + share * slant[:, 0]
        np.minimum.at(left, line[met], x)
        np.maximum.at(right, line[met], x)
    y = top + np.arange(lines) * _LINES_CM
    return np.concatenate([np.stack([right, y], axis=1)[::-1], np.stack([left, y], axis=1)])


def _half_ring(ring: Array, start: int, stop: int, outwards: Array) -> Array:
    """The points of a ring between two of them, on the side that reaches farther outwards."""
    count = len(ring)
    forth = ring[(start + np.arange(1, (stop - start) % count)) % count]
    back = ring[(start - np.arange(1, (start - stop) % count)) % count]
    return max(forth, back, key=lambda half: float((half @ outwards).sum() / max(len(half), 1)))
