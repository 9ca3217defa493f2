"""Triangles of a leg and of the strips on it, and the files that other programs read them from.

Points are in a right-handed frame of the person, in cm: forward, to the person's left, up, with
the origin on the floor under the back of the heel. (The surface itself is kept as (forward,
medial, up), the same for both legs; here a left leg and a right leg are mirror images.) Every
triangle runs counterclockwise seen from outside.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import map_coordinates

from gaiter.core.arrays import Array
from gaiter.core.bandage.strips import Strips
from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.leg.surface import Surface
from gaiter.core.words import Said

Triangles = npt.NDArray[np.int64]

_PER_CM = {"mm": 10.0, "cm": 1.0}
# Below this a triangle is a line: what a strip has beyond the end of the surface [cm2].
_LEAST_TRIANGLE_CM2 = 1e-9


@dataclass(frozen=True)
class Mesh:
    """A surface of triangles.

    Attributes
    ----------
    points_cm : ndarray, shape (points, 3)
        Forward, to the person's left, up [cm].
    triangles : ndarray of int, shape (triangles, 3)
        Numbers of the corners, counterclockwise seen from outside.
    title : str
        What it shows; stands in the head of a file.

    Examples
    --------
    >>> one = Mesh(np.eye(3), np.array([[0, 1, 2]]), "one triangle")
    >>> round(one.area_cm2, 4)  # of an equilateral triangle with sides of the root of 2
    0.866
    >>> len(one.stl())  # head, count, one record
    134
    """

    points_cm: Array
    triangles: Triangles
    title: str

    @property
    def area_cm2(self) -> float:
        """Area of all triangles [cm2].

        Returns
        -------
        float
        """
        return float(_areas(self.points_cm, self.triangles).sum())

    def ply(self, unit: str = "mm") -> bytes:
        """The mesh as a binary PLY file; its head names the unit.

        Parameters
        ----------
        unit : str
            ``"mm"`` or ``"cm"``.

        Returns
        -------
        bytes

        Raises
        ------
        InputError
            For any other unit.

        Examples
        --------
        >>> Mesh(np.eye(3), np.array([[0, 1, 2]]), "one triangle").ply("cm").splitlines()[3]
        b'comment unit cm'
        """
        head = (
            "ply\nformat binary_little_endian 1.0\n"
            f"comment {self.title}\ncomment unit {unit}\n"
            "comment axes: forward, to the person's left, up\n"
            f"element vertex {len(self.points_cm)}\n"
            "property float x\nproperty float y\nproperty float z\n"
            f"element face {len(self.triangles)}\n"
            "property list uchar int vertex_indices\nend_header\n"
        )
        faces = np.zeros(len(self.triangles), [("corners", "u1"), ("numbers", "<i4", 3)])
        faces["corners"], faces["numbers"] = 3, self.triangles
        points = (self.points_cm * _per_cm(unit)).astype("<f4")
        return head.encode("ascii", "replace") + points.tobytes() + faces.tobytes()

    def stl(self, unit: str = "mm") -> bytes:
        """The mesh as a binary STL file; the format has no place for a unit but its free head.

        Parameters
        ----------
        unit : str
            ``"mm"``, which most programs take an STL to be in, or ``"cm"``.

        Returns
        -------
        bytes

        Raises
        ------
        InputError
            For any other unit.
        """
        corners = (self.points_cm * _per_cm(unit))[self.triangles]
        normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        length = np.linalg.norm(normals, axis=1, keepdims=True)
        records = np.zeros(
            len(corners), [("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")]
        )
        records["normal"] = np.divide(normals, length, where=length > 0, out=normals)
        records["corners"] = corners
        # A head that began with "solid" would be read as the text form.
        head = f"binary STL, unit {unit}; {self.title}".encode("ascii", "replace")
        count = len(corners).to_bytes(4, "little")
        return head[:80].ljust(80) + count + records.tobytes()


def obj(meshes: Sequence[Mesh], unit: str = "mm") -> bytes:
    """Several meshes as the objects of one OBJ file; its head names the unit.

    Parameters
    ----------
    meshes : sequence of Mesh
        What lies in the same frame; each becomes an object, named as its title without blanks.
    unit : str
        ``"mm"`` or ``"cm"``.

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        For any other unit.

    Examples
    --------
    >>> one = Mesh(np.eye(3), np.array([[0, 1, 2]]), "one triangle")
    >>> obj([one, one], "cm").splitlines()[2:]  # corners count from 1, through the whole file
    [b'o one_triangle', b'v 1.00000 0.00000 0.00000', b'v 0.00000 1.00000 0.00000', \
b'v 0.00000 0.00000 1.00000', b'f 1 2 3', b'o one_triangle', b'v 1.00000 0.00000 0.00000', \
b'v 0.00000 1.00000 0.00000', b'v 0.00000 0.00000 1.00000', b'f 4 5 6']
    """
    scale = _per_cm(unit)
    lines = [f"# unit {unit}", "# axes: forward, to the person's left, up"]
    corners = 1
    for mesh in meshes:
        lines.append("o " + "_".join(mesh.title.split()))
        lines += [f"v {x:.5f} {y:.5f} {z:.5f}" for x, y, z in (scale * mesh.points_cm).tolist()]
        lines += [f"f {a} {b} {c}" for a, b, c in (mesh.triangles + corners).tolist()]
        corners += len(mesh.points_cm)
    return ("\n".join(lines) + "\n").encode("ascii", "replace")


def leg_mesh(surface: Surface, side: Side, *, closed: bool = False) -> Mesh:
    """The skin of a leg, from the metatarsal heads to just below the knee.

    Parameters
    ----------
    surface : Surface
        The leg, bare or padded.
    side : Side
        Which leg.
    closed : bool
        With a flat cap on both ends: then it holds a volume. Else it is an open tube.

    Returns
    -------
    Mesh
        The corners of the tube are the cells of the surface, ring after ring.

    Examples
    --------
    A tube of radius 4 cm and length 40 cm, without and with two caps of 16 pi:

    >>> from gaiter.core.leg.tube import round_limb
    >>> open_cm2 = leg_mesh(round_limb(4), Side.RIGHT).area_cm2
    >>> abs(open_cm2 - 2 * np.pi * 4 * 40) < 1
    True
    >>> caps_cm2 = leg_mesh(round_limb(4), Side.RIGHT, closed=True).area_cm2 - open_cm2
    >>> abs(caps_cm2 - 2 * 16 * np.pi) < 0.1
    True
    """
    rings, angles = surface.section_cm.shape[1:]
    ring, column = np.meshgrid(np.arange(rings - 1), np.arange(angles), indexing="ij")
    here, beside = ring * angles + column, ring * angles + (column + 1) % angles
    triangles = _halved(here, beside, here + angles, beside + angles)
    points = surface.points_cm.reshape(-1, 3)
    if closed:
        first, last = np.arange(angles), (rings - 1) * angles + np.arange(angles)
        ends = surface.points_cm[[0, -1]].mean(axis=1)
        low = np.stack([np.full(angles, len(points)), np.roll(first, -1), first], axis=1)
        high = np.stack([np.full(angles, len(points) + 1), last, np.roll(last, -1)], axis=1)
        points, triangles = np.concatenate([points, ends]), np.concatenate([triangles, low, high])
    return _in_persons_frame(points, triangles, side, f"{side.value} leg")


def strip_mesh(strips: Strips, side: Side, title: str) -> Mesh:
    """The fabric of one layer where it lies, without thickness.

    Parameters
    ----------
    strips : Strips
        The layer, as laid on a padded leg.
    side : Side
        Which leg.
    title : str
        What the layer is called.

    Returns
    -------
    Mesh
        A ribbon with open edges; what lies beyond the ends of the surface is left out.

    Examples
    --------
    The elastic bandage of the example, 332 cm of 10 cm, a little of it beyond the ends:

    >>> from gaiter.files.example_bench import example_bench
    >>> layer = example_bench().legs["right"].made["one_elastic"].design.layers[0]
    >>> strips = layer.laid.strips
    >>> share = strip_mesh(strips, Side.RIGHT, "elastic").area_cm2 / (10 * strips.path.length_cm)
    >>> 0.9 < share < 1
    True
    """
    lanes, samples = strips.lane_s_cm.shape
    points = _points_between(strips.surface, strips.lane_s_cm.ravel(), strips.lane_angle.ravel())
    lane, along = np.meshgrid(np.arange(lanes - 1), np.arange(samples - 1), indexing="ij")
    here = lane * samples + along
    # The path winds against the angle: towards the knee, then back along it, is seen from outside.
    triangles = _halved(here + 1, here, here + samples + 1, here + samples)
    triangles = triangles[_areas(points, triangles) > _LEAST_TRIANGLE_CM2]
    used, renumbered = np.unique(triangles, return_inverse=True)
    return _in_persons_frame(points[used], renumbered.reshape(-1, 3), side, title)


def _points_between(surface: Surface, s_cm: Array, angle: Array) -> Array:
    """Points [cm] at chart places, linear between the cells; past an end, on it."""
    rings, angles = surface.section_cm.shape[1:]
    first, last = surface.s_cm[[0, -1]]
    ring = np.clip((s_cm - first) / (last - first) * (rings - 1), 0, rings - 1)
    place = np.stack([ring, angle / (2 * np.pi) * angles % angles])
    return np.stack(
        [
            map_coordinates(surface.points_cm[..., axis], place, order=1, mode="grid-wrap")
            for axis in range(3)
        ],
        axis=1,
    )


def _halved(here: Triangles, beside: Triangles, above: Triangles, corner: Triangles) -> Triangles:
    """Two triangles for every quadrilateral; ``beside`` is counterclockwise of ``here``."""
    lower = np.stack([here, beside, corner], axis=-1).reshape(-1, 3)
    upper = np.stack([here, corner, above], axis=-1).reshape(-1, 3)
    return np.concatenate([lower, upper])


def _areas(points: Array, triangles: Triangles) -> Array:
    corners = points[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area: Array = np.linalg.norm(normals, axis=1) / 2
    return area


def _in_persons_frame(points: Array, triangles: Triangles, side: Side, title: str) -> Mesh:
    """Medial is to the left of a right leg and to the right of a left one."""
    if side is Side.RIGHT:
        return Mesh(points, triangles, title)
    return Mesh(points * [1, -1, 1], triangles[:, ::-1], title)


def _per_cm(unit: str) -> float:
    if unit not in _PER_CM:
        raise InputError(
            Said("unit must be mm or cm; received {unit}: choose one of them", {"unit": str(unit)})
        )
    return _PER_CM[unit]
