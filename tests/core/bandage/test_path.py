from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given, settings

from gaiter.core.bandage.path import SAMPLES_PER_TURN, faired_path
from gaiter.core.bandage.pattern import Pattern, Waypoint, waypoints
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.surface import Surface
from tests.strategies import legs


def cylinder(
    radius_cm: float = 4.0, slope: float = 0.0, landmarks: Mapping[Landmark, float] | None = None
) -> Surface:
    """A cylinder or cone as a Surface, with the leg's chart."""
    s = np.linspace(0, 40, 300)
    angle = np.linspace(0, 2 * np.pi, 96, endpoint=False)
    radius = radius_cm + slope * s
    section = np.stack([radius[:, None] * np.cos(angle), radius[:, None] * np.sin(angle)])
    up = np.stack([0 * s, 0 * s, s], axis=-1)
    front = np.broadcast_to([1.0, 0.0, 0.0], (len(s), 3))
    return Surface(s, landmarks or {}, section, up, front)


def climb(turns: float, pitch: float) -> tuple[Waypoint, ...]:
    return tuple(Waypoint(t, 8 + pitch * t, 0.3) for t in np.arange(0, turns + 0.1, 0.25))


def test_a_spiral_on_a_cylinder_is_a_geodesic_helix() -> None:
    path = faired_path(cylinder(), climb(4, 5.0))
    inner = slice(SAMPLES_PER_TURN // 2, -SAMPLES_PER_TURN // 2)
    # On a developed cylinder a helix is a straight line.
    assert np.abs(path.sideways_bend[inner]).max() < 1e-3
    helix = 4 * np.hypot(2 * np.pi * 4.0, 5.0)
    assert path.length_cm == pytest.approx(helix, rel=1e-3)


def test_a_level_turn_on_a_cone_bends_sideways_by_the_closed_form() -> None:
    """A circle of latitude of a cone has geodesic curvature sin(half angle) / radius."""
    rise = 0.15
    level = tuple(Waypoint(t, 20.0, 1e-3) for t in np.arange(0, 2.1, 0.25))
    path = faired_path(cylinder(slope=rise), level)
    half_angle = np.arctan(rise)
    middle = len(path.turn) // 2
    assert abs(path.sideways_bend[middle]) == pytest.approx(
        np.sin(half_angle) / (4 + rise * 20), rel=0.02
    )


def test_length_agrees_with_the_chords_of_the_points() -> None:
    surface = cylinder()
    path = faired_path(surface, climb(4, 5.0))
    points = np.stack([4 * np.cos(path.angle), 4 * np.sin(path.angle), path.s_cm], axis=-1)
    chords = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    # A chord of a forty-eighth of a turn is (2 pi / 48)^2 / 24 = 0.07 % short.
    assert path.length_cm == pytest.approx(chords, rel=2e-3)


@given(legs())
@settings(max_examples=15)
def test_fairing_lowers_the_bend_and_stays_near_the_waypoints(measured) -> None:
    surface = leg_surface(measured).padded(0.28)
    points = waypoints(surface, Pattern.HERRINGBONE, 10.0, 0.5)
    path = faired_path(surface, points)
    index = [round(point.turn * SAMPLES_PER_TURN) for point in points]
    strayed = np.abs(path.s_cm[index] - [point.s_cm for point in points])
    # Fairing may use the tolerance, rarely more than half as much again.
    assert (strayed / [point.tolerance_cm for point in points]).max() < 3
    # An edge 5 cm off the middle is then stretched by less than its own length.
    assert np.abs(path.sideways_bend).max() < 0.2


def test_a_grid_that_does_not_fit_is_refused() -> None:
    odd = leg_like_surface(50)
    with pytest.raises(ValueError, match="multiple of 48 angles; received 50"):
        faired_path(odd, climb(2, 5.0))


def leg_like_surface(angles: int) -> Surface:
    surface = cylinder()
    return Surface(
        surface.s_cm, {}, surface.section_cm[:, :, :angles], surface.origin_cm, surface.front
    )
