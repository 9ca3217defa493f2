"""Closed forms (do Carmo): cylinder, cone, ellipsoid, torus bend; then a general mesh library."""

import numpy as np
import pytest
import trimesh

from gaiter.core.case.person import Sex
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.forms import fundamental_forms, normal_curvature
from tests.strategies import percentile_leg

S = np.linspace(0, 20, 200)
T = np.linspace(0, 2 * np.pi, 96, endpoint=False)
# A spiral of 10 cm width and half overlap climbs 5 cm a turn.
SLOPE = 5 / (2 * np.pi)
# At the ends the spline has fewer neighbours; the bandage does not end there.
INNER = slice(5, -5)


def ring(radius_forward, radius_medial):
    return np.stack(
        [
            np.broadcast_to(radius_forward * np.cos(T), (len(S), len(T))),
            np.broadcast_to(radius_medial * np.sin(T), (len(S), len(T))),
        ],
        axis=-1,
    )


def upright(sections, height):
    up = np.broadcast_to(np.asarray(height)[:, None, None], (*sections.shape[:2], 1))
    return np.concatenate([sections, up], axis=-1)


def test_cylinder() -> None:
    forms = fundamental_forms(S, upright(ring(4.0, 4.0), S))
    expected = 4.0 / (SLOPE**2 + 16.0)
    assert normal_curvature(forms.metric, forms.second, SLOPE) == pytest.approx(expected, rel=1e-9)


def test_cone() -> None:
    half_angle_slope = 0.12
    radius = 3.6 + half_angle_slope * S
    forms = fundamental_forms(S, upright(ring(radius[:, None], radius[:, None]), S))
    lean = np.sqrt(1 + half_angle_slope**2)
    expected = (radius / lean) / (SLOPE**2 * lean**2 + radius**2)
    found = normal_curvature(forms.metric, forms.second, SLOPE)[INNER]
    assert found == pytest.approx(np.broadcast_to(expected[INNER, None], found.shape), rel=1e-6)


def test_torus_bend() -> None:
    """A tube of radius 4 bent on a circle of radius 9: the inside of the bend is a saddle."""
    bend, tube = 9.0, 4.0
    psi = np.linspace(0, 1.5, len(S))
    centre = bend * np.stack([np.cos(psi), 0 * psi, np.sin(psi)], axis=-1)
    inwards = -np.stack([np.cos(psi), 0 * psi, np.sin(psi)], axis=-1)
    points = (
        centre[:, None]
        + tube * np.cos(T)[None, :, None] * inwards[:, None]
        - tube * np.sin(T)[None, :, None] * np.array([0, 1.0, 0])
    )
    forms = fundamental_forms(bend * psi, points)
    distance = bend - tube * np.cos(T)
    speed = distance / bend
    meridian = -np.cos(T) / distance
    expected = (meridian * speed**2 * SLOPE**2 + tube) / (speed**2 * SLOPE**2 + tube**2)
    found = normal_curvature(forms.metric, forms.second, SLOPE)[INNER]
    assert found == pytest.approx(np.broadcast_to(expected, found.shape), rel=1e-6)


def test_ellipsoid_gauss_curvature() -> None:
    a, b, c = 5.0, 4.0, 9.0
    height = np.linspace(-5, 5, len(S))
    scale = np.sqrt(1 - (height / c) ** 2)[:, None]
    points = upright(ring(a * scale, b * scale), height)
    forms = fundamental_forms(height, points)
    e, f, g = forms.metric
    bend, twist, hoop = forms.second
    x, y, z = np.moveaxis(points, -1, 0)
    expected = 1 / (a * b * c * (x**2 / a**4 + y**2 / b**4 + z**2 / c**4)) ** 2
    found = ((bend * hoop - twist**2) / (e * g - f * f))[INNER]
    assert found == pytest.approx(expected[INNER], rel=1e-5)


@pytest.fixture(scope="module")
def leg():
    return leg_surface(percentile_leg(Sex.FEMALE, 1))


@pytest.fixture(scope="module")
def mesh(leg) -> trimesh.Trimesh:
    rings, angles = leg.section_cm.shape[1:]
    corner = np.arange((rings - 1) * angles).reshape(rings - 1, angles)
    right = np.roll(corner, -1, axis=1)
    faces = np.concatenate(
        [
            np.stack([corner, right, right + angles], axis=-1).reshape(-1, 3),
            np.stack([corner, right + angles, corner + angles], axis=-1).reshape(-1, 3),
        ]
    )
    return trimesh.Trimesh(leg.points_cm.reshape(-1, 3), faces, process=False)


def test_area_agrees_with_a_mesh_library(leg, mesh) -> None:
    step = (leg.s_cm[1] - leg.s_cm[0]) * 2 * np.pi / leg.section_cm.shape[2]
    weights = np.full(len(leg.s_cm), step)
    weights[[0, -1]] /= 2
    area = float((leg.forms.area_element * weights[:, None]).sum())
    # Flat triangles lose about (2 pi / 96)^2 / 6 of a curved area.
    assert area == pytest.approx(mesh.area, rel=1e-3)


def test_gauss_curvature_agrees_with_a_mesh_library(leg, mesh) -> None:
    """The angle defect of a triangle mesh, summed over the calf, against the integral of K."""
    e, f, g = leg.forms.metric
    bend, twist, hoop = leg.forms.second
    gauss = (bend * hoop - twist**2) / (e * g - f * f)
    rows = slice(200, 280)
    step = (leg.s_cm[1] - leg.s_cm[0]) * 2 * np.pi / leg.section_cm.shape[2]
    total = float((gauss * leg.forms.area_element)[rows].sum() * step)
    defect = mesh.vertex_defects.reshape(leg.section_cm.shape[1:])[rows].sum()
    # Radians, of a total curvature that is small on a nearly cylindrical calf.
    assert total == pytest.approx(float(defect), abs=0.01)


def test_normals_point_away_from_the_leg(leg) -> None:
    outwards = leg.points_cm - leg.points_cm.mean(axis=1, keepdims=True)
    assert ((outwards * leg.forms.outward).sum(axis=-1) > 0).mean() > 0.99
