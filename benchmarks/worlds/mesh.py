"""A mesh cut by planes: closed curves, their convex hulls, girth and curvature of a hull."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import ConvexHull

from gaiter.core.arrays import Array

Whole = npt.NDArray[np.intp]
# About half a facet of the bodies.
_CORNER_CM = 0.4


@dataclass(frozen=True)
class Mesh:
    """Triangles in the frame (forward, medial, up) [cm]."""

    vertices_cm: Array
    faces: Whole

    @cached_property
    def _edges(self) -> tuple[Whole, Whole]:
        """Ends of every edge, and the three edges of every face."""
        sides = np.sort(self.faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
        ends, of_face = np.unique(sides, axis=0, return_inverse=True)
        return ends, of_face.reshape(-1, 3)

    def section(self, point_cm: Array, normal: Array) -> Array:
        """Places where a plane through a point cuts the skin, of the closed curve nearest to it.

        Parameters
        ----------
        point_cm : ndarray, shape (3,)
            On or near the skin.
        normal : ndarray, shape (3,)
            Of the plane.

        Returns
        -------
        ndarray, shape (places, 3)
            In no order; empty where the plane misses the mesh.
        """
        ends, of_face = self._edges
        off = (self.vertices_cm - point_cm) @ normal
        first, last = off[ends[:, 0]], off[ends[:, 1]]
        cut = np.flatnonzero((first > 0) != (last > 0))
        if not len(cut):
            return np.empty((0, 3))
        way = (first[cut] / (first[cut] - last[cut]))[:, None]
        a, b = self.vertices_cm[ends[cut, 0]], self.vertices_cm[ends[cut, 1]]
        places = a + way * (b - a)
        # Each face that is cut joins two of its sides: curves are what hangs together.
        number = np.full(len(ends), -1)
        number[cut] = np.arange(len(cut))
        joined = np.sort(number[of_face], axis=1)[:, 1:]
        joined = joined[joined[:, 0] >= 0]
        size = (len(cut), len(cut))
        graph = coo_matrix((np.ones(len(joined)), joined.T), shape=size)
        _, curve = connected_components(graph, directed=False)
        nearest = int(np.argmin(((places - point_cm) ** 2).sum(axis=1)))
        found: Array = places[curve == curve[nearest]]
        return found


@dataclass(frozen=True)
class Hull:
    """Convex hull of a plane curve, as a tape or a bandage lies round it.

    Attributes
    ----------
    places : ndarray, shape (corners, 2)
        Its corners in the plane, anticlockwise [cm].
    """

    places: Array

    @cached_property
    def sides_cm(self) -> Array:
        """Length of each side, from its corner on."""
        return np.linalg.norm(np.roll(self.places, -1, axis=0) - self.places, axis=1)

    @property
    def girth_cm(self) -> float:
        """What a tape reads."""
        return float(self.sides_cm.sum())

    @cached_property
    def way_cm(self) -> Array:
        """Way along the hull to each corner, and at the end the girth."""
        return np.concatenate([[0], np.cumsum(self.sides_cm)])

    @cached_property
    def _tangent(self) -> tuple[Array, Array]:
        """Direction of the tangent over the way, three times round.

        A corner turns over half of the sides beside it, as the smooth skin does for which it
        stands, but of a long side, over a hollow, only over its end.
        """
        step = np.roll(self.places, -1, axis=0) - self.places
        angle = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
        reach = np.minimum(self.sides_cm / 2, _CORNER_CM)
        ways = np.column_stack([self.way_cm[:-1] + reach, self.way_cm[1:] - reach]).ravel()
        angles = np.repeat(angle, 2)
        girth = self.girth_cm
        return (
            np.concatenate([ways - girth, ways, ways + girth]),
            np.concatenate([angles - 2 * np.pi, angles, angles + 2 * np.pi]),
        )

    def at(self, way_cm: Array) -> Array:
        """Places on the hull at these ways along it, shape (ways, 2) [cm]."""
        closed = np.vstack([self.places, self.places[:1]])
        way = np.mod(way_cm, self.girth_cm)
        return np.stack([np.interp(way, self.way_cm, one) for one in closed.T], axis=-1)

    def curvature(self, way_cm: Array, window_cm: float) -> Array:
        """How far the tangent turns over a window about these ways, over its length [1/cm]."""
        ways, angles = self._tangent
        way = np.mod(way_cm, self.girth_cm)
        half = window_cm / 2
        turned = np.interp(way + half, ways, angles) - np.interp(way - half, ways, angles)
        found: Array = turned / window_cm
        return found

    def nearest_way_cm(self, place: Array) -> float:
        """Way along the hull to the place on it that is nearest to this [cm]."""
        start, side = self.places, np.roll(self.places, -1, axis=0) - self.places
        share = np.clip(((place - start) * side).sum(axis=1) / self.sides_cm**2, 0, 1)
        off = ((start + share[:, None] * side - place) ** 2).sum(axis=1)
        corner = int(np.argmin(off))
        return float(self.way_cm[corner] + share[corner] * self.sides_cm[corner])


def hull_of(places: Array) -> Hull:
    """The hull of places in a plane, shape (places, 2) [cm]."""
    corners = places[ConvexHull(places).vertices]
    # A corner that two facets share to a billionth is one corner.
    apart = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1) > 1e-9
    return Hull(corners[apart])
