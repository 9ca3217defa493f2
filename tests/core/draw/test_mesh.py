"""Meshes read back by another program and held against the tape and the surface's own numbers."""

import io

import numpy as np
import pytest
import trimesh
from scipy.spatial import KDTree
from shapely import MultiPoint

from gaiter.core.bandage.coverage import cell_area_cm2
from gaiter.core.bandage.pattern import Pattern
from gaiter.core.draw.mesh import Mesh, leg_mesh, obj, strip_mesh
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.completion import with_every_leg_site
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.plan.laying import Geometry, LaidLayer
from gaiter.core.plan.padded_leg import BandagedLeg, Padding

# One leg as the tape read it [cm].
GIRTHS = {
    Landmark.METATARSAL_HEADS: 23.0,
    Landmark.INSTEP: 24.0,
    Landmark.HEEL_INSTEP: 31.5,
    Landmark.ANKLE: 22.5,
    Landmark.GAITER: 27.0,
    Landmark.CALF: 37.0,
    Landmark.BELOW_KNEE: 33.5,
}
POSITIONS = {
    Landmark.METATARSAL_HEADS: 18.4,
    Landmark.INSTEP: 13.6,
    Landmark.ANKLE: 11.5,
    Landmark.GAITER: 19.0,
    Landmark.CALF: 29.5,
    Landmark.BELOW_KNEE: 38.0,
}
MEASURED = with_every_leg_site(LegMeasurements(24.8, GIRTHS, POSITIONS))


@pytest.fixture(scope="module")
def leg() -> BandagedLeg:
    return BandagedLeg(MEASURED)


@pytest.fixture(scope="module")
def laid(leg: BandagedLeg) -> LaidLayer:
    return leg.under(Padding(even_cm=0.3)).laid(Geometry(Pattern.SPIRAL, 0.5, 10.0))


def read_back(mesh: Mesh, kind: str, unit: str = "mm") -> trimesh.Trimesh:
    return trimesh.load(io.BytesIO(getattr(mesh, kind)(unit)), file_type=kind)


@pytest.mark.parametrize("kind", ["ply", "stl"])
@pytest.mark.parametrize("side", list(Side))
def test_a_closed_leg_is_watertight_and_faces_outwards(
    leg: BandagedLeg, kind: str, side: Side
) -> None:
    read = read_back(leg_mesh(leg.bare, side, closed=True), kind)
    assert read.is_watertight
    assert read.is_winding_consistent
    assert read.volume > 0


@pytest.mark.parametrize("kind", ["ply", "stl"])
def test_an_open_leg_is_a_tube_with_two_ends(leg: BandagedLeg, kind: str) -> None:
    read = read_back(leg_mesh(leg.bare, Side.RIGHT), kind)
    assert not read.is_watertight
    assert read.euler_number == 0  # of a tube


@pytest.mark.parametrize(("unit", "per_cm"), [("mm", 10), ("cm", 1)])
@pytest.mark.parametrize("kind", ["ply", "stl"])
def test_points_arrive_in_the_unit_that_the_head_names(
    leg: BandagedLeg, kind: str, unit: str, per_cm: int
) -> None:
    mesh = leg_mesh(leg.bare, Side.RIGHT)
    assert f"unit {unit}".encode() in getattr(mesh, kind)(unit)[:200]
    # Single precision of a length of 40 cm keeps well under a micrometre.
    assert read_back(mesh, kind, unit).bounds / per_cm == pytest.approx(
        np.stack([mesh.points_cm.min(axis=0), mesh.points_cm.max(axis=0)]), abs=1e-4
    )
    with pytest.raises(InputError, match="unit must be mm or cm; received inch"):
        getattr(mesh, kind)("inch")


@pytest.mark.parametrize("landmark", [Landmark.ANKLE, Landmark.GAITER, Landmark.CALF])
def test_a_level_section_has_the_girth_that_the_tape_read(
    leg: BandagedLeg, landmark: Landmark
) -> None:
    read = read_back(leg_mesh(leg.bare, Side.LEFT), "ply")
    cut = read.section([0, 0, 1], [0, 0, 10 * POSITIONS[landmark]])
    girth_mm = MultiPoint(cut.vertices[:, :2]).convex_hull.length
    assert girth_mm == pytest.approx(10 * GIRTHS[landmark], abs=0.2)


def test_the_area_is_the_surfaces_own(leg: BandagedLeg) -> None:
    cells = cell_area_cm2(leg.bare)
    # Half of the first and the last ring's band lies past the ends of the grid.
    own = cells[1:-1].sum() + cells[[0, -1]].sum() / 2
    read = read_back(leg_mesh(leg.bare, Side.RIGHT), "stl")
    # Flat triangles cut the corners of a round leg: 1 - (pi/96)^2/6 of its girth, 0.02 %.
    assert read.area / 100 == pytest.approx(own, rel=5e-4)
    assert leg_mesh(leg.bare, Side.RIGHT).area_cm2 == pytest.approx(read.area / 100, rel=1e-6)


def test_a_left_leg_is_the_mirror_image_with_its_inner_side_to_the_right() -> None:
    surface = leg_surface(MEASURED, rings=60, angles=48)
    right, left = (leg_mesh(surface, side) for side in Side)
    assert np.array_equal(left.points_cm * [1, -1, 1], right.points_cm)
    inner = surface.points_cm.reshape(-1, 3)[:, 1].argmax()
    assert right.points_cm[inner, 1] > 0 > left.points_cm[inner, 1]
    # Toes forward, knee up: corners in the frame that the module describes.
    assert right.points_cm[0, 0] == pytest.approx(POSITIONS[Landmark.METATARSAL_HEADS], abs=0.5)
    assert right.points_cm[-1, 2] == pytest.approx(POSITIONS[Landmark.BELOW_KNEE], abs=0.5)


@pytest.mark.parametrize("side", list(Side))
def test_a_strip_is_as_wide_and_as_long_as_its_fabric(laid: LaidLayer, side: Side) -> None:
    strips = laid.strips
    mesh = strip_mesh(strips, side, "ten centimetres wide")
    # On a flat ribbon area is width times length. Where the ankle bends, one edge is longer and
    # the other shorter; together within 3 % here.
    assert mesh.area_cm2 == pytest.approx(10.0 * strips.path.length_cm, rel=0.03)
    read = read_back(mesh, "stl")
    assert read.is_winding_consistent
    assert read.area / 100 == pytest.approx(mesh.area_cm2, rel=1e-4)


@pytest.mark.parametrize("side", list(Side))
def test_a_strip_lies_on_the_padded_leg_and_faces_outwards(laid: LaidLayer, side: Side) -> None:
    surface = laid.strips.surface
    mesh = strip_mesh(laid.strips, side, "layer")
    skin = read_back(leg_mesh(surface, side, closed=True), "ply")
    corners = 10 * mesh.points_cm[mesh.triangles]
    middle = corners.mean(axis=1)[::20]
    off_mm, nearest = KDTree(skin.vertices).query(middle)
    outwards = skin.vertex_normals[nearest]
    # Off the plane that touches the leg at the nearest corner. A strip's triangles are up to 15 mm
    # long: round a heel with a radius of 25 mm such a chord sinks by 15^2 / (8 x 25) = 1.1 mm.
    height_mm = ((middle - skin.vertices[nearest]) * outwards).sum(axis=1)
    assert np.percentile(np.abs(height_mm), 99) < 1.1
    assert np.percentile(off_mm, 99) < 3  # half the diagonal of a cell
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[::20]
    assert ((normals * outwards).sum(axis=1) > 0).mean() > 0.999


def test_a_title_beyond_ascii_still_makes_files_that_can_be_read() -> None:
    mesh = Mesh(np.eye(3), np.array([[0, 1, 2]]), "turns – half overlap ½")
    assert len(read_back(mesh, "ply").faces) == len(read_back(mesh, "stl").faces) == 1


@pytest.mark.parametrize(("unit", "per_cm"), [("mm", 10), ("cm", 1)])
def test_an_obj_holds_every_mesh_as_an_object_of_its_own(
    leg: BandagedLeg, laid: LaidLayer, unit: str, per_cm: int
) -> None:
    skin = leg_mesh(leg.bare, Side.LEFT, closed=True)
    strip = strip_mesh(laid.strips, Side.LEFT, "left leg, layer 2: Short stretch")
    text = obj([skin, strip], unit)
    assert f"unit {unit}".encode() in text.splitlines()[0]
    scene = trimesh.load(io.BytesIO(text), file_type="obj", split_objects=True)
    by_name = {name.split(":")[0]: mesh for name, mesh in scene.geometry.items()}
    assert set(by_name) == {"left_leg", "left_leg,_layer_2"}
    # Coordinates have five digits behind the point: areas agree to far less than a cell.
    for name, mesh in (("left_leg", skin), ("left_leg,_layer_2", strip)):
        assert by_name[name].area / per_cm**2 == pytest.approx(mesh.area_cm2, rel=1e-4)
    assert by_name["left_leg"].is_watertight
    assert by_name["left_leg"].volume > 0


def test_an_obj_of_another_unit_is_refused() -> None:
    with pytest.raises(InputError, match="unit must be mm or cm; received inch"):
        obj([], "inch")
