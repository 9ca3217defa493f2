from collections.abc import Mapping

import numpy as np
import pytest

from gaiter.core.bandage.path import SAMPLES_PER_TURN, faired_path
from gaiter.core.bandage.pattern import FIGURES_OF_EIGHT, Pattern, Waypoint, waypoints
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.surface import Surface
from tests.strategies import random_leg


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


def test_a_grid_that_does_not_fit_is_refused() -> None:
    odd = leg_like_surface(50)
    with pytest.raises(ValueError, match="multiple of 48 angles; received 50"):
        faired_path(odd, climb(2, 5.0))


def leg_like_surface(angles: int) -> Surface:
    surface = cylinder()
    return Surface(
        surface.s_cm, {}, surface.section_cm[:, :, :angles], surface.origin_cm, surface.front
    )


def test_sideways_bend_on_a_cone_is_the_curvature_of_the_unrolled_path() -> None:
    """A cone unrolls to a plane without stretching, so that geodesic curvature is plain curvature.

    Unrolled with the angle counted to the left, a bend to the left is positive.
    """
    slope = 0.15
    surface = cylinder(slope=slope)
    points = tuple(
        Waypoint(t, 10 + 4 * t + 2 * np.sin(2 * np.pi * t), 0.05) for t in np.arange(0, 4.1, 0.25)
    )
    path = faired_path(surface, points)
    along, sine = np.hypot(1, slope), slope / np.hypot(1, slope)
    place = (path.s_cm + 4.0 / slope) * along * np.exp(1j * path.angle * sine)
    step = 1 / SAMPLES_PER_TURN
    speed = np.gradient(place, step)
    bend = (np.conj(speed) * np.gradient(speed, step)).imag / np.abs(speed) ** 3
    inner = slice(8, -8)
    assert np.abs(bend[inner]).max() > 0.05
    assert path.sideways_bend[inner] == pytest.approx(bend[inner], abs=0.004)
    # Arc length of the same unrolled path.
    assert path.length_cm == pytest.approx(np.abs(np.diff(place)).sum(), rel=1e-3)
    assert path.slope[inner] == pytest.approx(np.gradient(path.s_cm, path.angle)[inner], abs=1e-9)


def test_a_path_meets_strict_waypoints_and_starts_on_any_turn() -> None:
    """The same helix begun on the third turn lies at the same heights, on later turns."""
    late = tuple(Waypoint(p.turn + 2, p.s_cm, 1e-3) for p in climb(3, 5.0))
    path = faired_path(cylinder(), late)
    assert path.turn[[0, -1]] == pytest.approx([2, 5])
    assert path.s_cm[::12] == pytest.approx([point.s_cm for point in late], abs=2e-3)
    first = faired_path(cylinder(), tuple(Waypoint(p.turn, p.s_cm, 1e-3) for p in climb(3, 5.0)))
    assert path.s_cm == pytest.approx(first.s_cm, abs=1e-6)
    assert path.length_cm == pytest.approx(first.length_cm)


def test_a_grid_that_does_not_start_at_zero_is_read_at_its_own_places() -> None:
    """A cone whose chart starts at 5 cm has there the fields of 5 cm."""
    whole = cylinder(slope=0.15)
    cut = Surface(
        whole.s_cm[40:], {}, whole.section_cm[:, 40:], whole.origin_cm[40:], whole.front[40:]
    )
    level = tuple(Waypoint(t, 20.0, 1e-3) for t in np.arange(0, 2.1, 0.25))
    assert faired_path(cut, level).length_cm == pytest.approx(
        faired_path(whole, level).length_cm, rel=1e-6
    )
    # A circle of radius 4 + 0.15 x 20, twice.
    assert faired_path(cut, level).length_cm == pytest.approx(2 * 2 * np.pi * 7, rel=1e-3)


def test_fairing_lowers_the_bend_and_stays_near_the_waypoints() -> None:
    """Herringbones on twenty legs of the published population, by either way round the ankle."""
    rng = np.random.default_rng(7)
    for number in range(20):
        leg = random_leg(rng, list(Sex)[number % 2])
        surface = leg_surface(leg).padded(0.28)
        bends = []
        for eight in FIGURES_OF_EIGHT:
            points = waypoints(surface, Pattern.HERRINGBONE, 10.0, 0.5, eight=eight)
            path = faired_path(surface, points)
            index = [round(point.turn * SAMPLES_PER_TURN) for point in points]
            strayed = np.abs(path.s_cm[index] - [point.s_cm for point in points])
            # Fairing may use the tolerance, rarely more than half as much again.
            assert (strayed / [point.tolerance_cm for point in points]).max() < 3
            bends.append(np.abs(path.sideways_bend).max())
        # An edge 5 cm off the middle is then stretched by less than its own length.
        assert min(bends) < 0.2
