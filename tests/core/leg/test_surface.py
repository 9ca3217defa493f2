"""Surfaces on cylinders, cones and squares, in closed form."""

from dataclasses import replace

import numpy as np
import pytest

from gaiter.core.landmark import Landmark
from gaiter.core.leg.surface import nearest_cells, normals_at, points_at, taped_girth_cm
from tests.core.bandage.test_path import cylinder

PLACES = {Landmark.METATARSAL_HEADS: 2.0, Landmark.CALF: 30.0, Landmark.BELOW_KNEE: 38.0}
# Rings of the test cylinder, 40 cm high.
STEP_CM = 40 / 299


def test_a_tape_round_a_circle_and_a_square() -> None:
    angle = np.linspace(0, 2 * np.pi, 96, endpoint=False)
    circle = 5 * np.stack([np.cos(angle), np.sin(angle)])[:, None]
    # 96 edges of 2 r sin(pi / 96).
    assert taped_girth_cm(circle)[0] == pytest.approx(96 * 2 * 5 * np.sin(np.pi / 96))
    side = np.array([[1, 1], [0, 1], [-1, 1], [-1, 0], [-1, -1], [0, -1], [1, -1], [1, 0]]).T
    assert taped_girth_cm(4.0 * side[:, None])[0] == pytest.approx(32)


def test_a_tape_spans_a_hollow() -> None:
    """A disc with a notch: the tape goes straight over it, 2 r sin(half) instead of the arc."""
    angle = np.linspace(0, 2 * np.pi, 960, endpoint=False)
    radius = np.where(np.abs(angle - np.pi) < 0.2, 3.0, 5.0)
    notched = radius * np.stack([np.cos(angle), np.sin(angle)])
    expected = 5 * (2 * np.pi - 0.4) + 2 * 5 * np.sin(0.2)
    # Cauchy's formula over 480 directions: a tenth of a per cent.
    assert taped_girth_cm(notched[:, None])[0] == pytest.approx(expected, rel=1e-3)


def test_a_girth_at_a_landmark_lies_between_its_rings() -> None:
    surface = cylinder(4.0, 0.1, PLACES)
    assert surface.girth_at_cm(Landmark.CALF) == pytest.approx(2 * np.pi * 7, rel=5e-4)
    assert (surface.start_s_cm, surface.end_s_cm) == (2, 38)
    other = surface.between(Landmark.CALF, Landmark.BELOW_KNEE)
    assert (other.start_s_cm, other.end_s_cm) == (30, 38)
    np.testing.assert_array_equal(other.points_cm, surface.points_cm)


def test_points_stand_forward_medial_and_up() -> None:
    """Angle 0 is the front, a quarter is the inner side."""
    surface = cylinder(4.0, landmarks=PLACES)
    assert surface.points_cm[0, 0] == pytest.approx([4, 0, 0])
    assert surface.points_cm[-1, 24] == pytest.approx([0, 4, 40], abs=1e-9)
    assert surface.angle[24] == pytest.approx(np.pi / 2)


def test_padding_adds_two_pi_times_its_thickness_and_adds_up() -> None:
    surface = cylinder(4.0, landmarks=PLACES)
    padded = surface.padded(0.5).padded(0.25)
    assert np.hypot(*padded.section_cm) == pytest.approx(4.75)
    assert np.broadcast_to(padded.padding_cm, padded.s_cm.shape) == pytest.approx(0.75)
    by_ring = surface.padded(np.linspace(0, 1, 300))
    assert np.hypot(*by_ring.section_cm)[:, 7] == pytest.approx(np.linspace(4, 5, 300))


def test_a_negative_padding_is_refused() -> None:
    with pytest.raises(ValueError, match="padding must be 0 cm or thicker; received -0.1 cm"):
        cylinder().padded(-0.1)


def test_padding_rounds_an_ellipse_by_its_normals() -> None:
    """Offset by t along the normal at the ends of the axes: each half axis grows by t."""
    surface = cylinder(1.0, landmarks=PLACES)
    stretched = np.array([5.0, 3.0])[:, None, None]
    ellipse = replace(surface, section_cm=surface.section_cm * stretched)
    padded = ellipse.padded(0.5)
    assert padded.section_cm[0, 9, 0] == pytest.approx(5.5)
    assert padded.section_cm[1, 9, 24] == pytest.approx(3.5)
    # A convex curve's length grows by exactly 2 pi t.
    assert padded.girth_cm[9] - ellipse.girth_cm[9] == pytest.approx(np.pi, rel=2e-3)


def test_places_on_the_chart_find_their_cells() -> None:
    surface = cylinder(4.0)
    s = np.array([10.5 * STEP_CM, -1.0, 99.0])
    below, share, column = nearest_cells(surface, s, np.array([0.01, -np.pi / 2, 2 * np.pi]))
    assert list(below) == [10, 0, 298]
    assert share == pytest.approx([0.5, 0, 0.999])
    assert list(column) == [0, 72, 0]


def test_points_and_normals_at_places() -> None:
    surface = cylinder(4.0)
    s, angle = np.array([20.03]), np.array([np.pi / 2])
    assert points_at(surface, s, angle)[0] == pytest.approx([0, 4, 20.03], abs=1e-6)
    assert normals_at(surface, s, angle)[0] == pytest.approx([0, 1, 0], abs=1e-6)
