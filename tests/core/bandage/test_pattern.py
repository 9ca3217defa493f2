from dataclasses import replace

import numpy as np
import pytest

from gaiter.core.bandage.pattern import Pattern, waypoints
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.surface import points_at
from tests.core.bandage.skewed_cone import skewed_cone, unrolled
from tests.core.bandage.test_path import cylinder
from tests.strategies import percentile_leg


@pytest.mark.parametrize("pattern", list(Pattern))
def test_from_the_metatarsal_heads_to_just_below_the_knee(pattern: Pattern) -> None:
    surface = leg_surface(percentile_leg(Sex.FEMALE, 1))
    points = waypoints(surface, pattern, 10.0, 0.5)
    turns = [point.turn for point in points]
    assert turns == sorted(turns)
    assert points[0].s_cm - 5 < surface.landmark_s_cm[Landmark.METATARSAL_HEADS]
    # The upper edge, 5 cm above the middle, passes the end by 0.3 cm of the inner side's skin.
    up = np.linspace(points[-1].s_cm, surface.end_s_cm, 40)
    skin = points_at(surface, up, np.full(40, np.pi / 2))
    left = np.linalg.norm(np.diff(skin, axis=0), axis=1).sum()
    assert left == pytest.approx(4.7, abs=0.05)  # rings stand 0.15 cm apart


@pytest.mark.parametrize("overlap", [-0.1, 0.95])
def test_impossible_overlap_is_refused(overlap: float) -> None:
    surface = leg_surface(percentile_leg(Sex.FEMALE, 1))
    with pytest.raises(ValueError, match="overlap must be 0 to 0.9 of the width; received"):
        waypoints(surface, Pattern.SPIRAL, 10.0, overlap)


# --- waypoints on a cylinder, where arc length and chart are one, worked out by hand ---------

L = Landmark
PLACES = {
    L.METATARSAL_HEADS: 2.0, L.INSTEP: 8.0, L.HEEL_INSTEP: 12.0, L.ANKLE: 16.0, L.GAITER: 22.0,
    L.CALF: 30.0, L.BELOW_KNEE: 38.0,
}  # fmt: skip
# Two turns 0.4 widths over the metatarsal heads; into the arch at 0.52 of the way from instep to
# heel-instep (8 to 12), over the front of the ankle at 0.99 of the next way (12 to 16), and so on.
FOOT = [
    (0.0, 6.0), (0.5, 6.0), (1.0, 6.0), (1.5, 6.0), (2.0, 6.0), (2.5, 10.08), (3.0, 10.44),
    (3.5, 11.96), (4.0, 15.96), (4.5, 11.68), (5.0, 11.56), (5.5, 16.0),
]  # fmt: skip
# Held loosely on the way round the ankle, less so where the leg begins.
FOOT_TOLERANCES = [0.3] * 5 + [0.86] * 6 + [0.6]


def laid(pattern: Pattern, leg_width_cm: float | None = None, overlap: float = 0.5):
    points = waypoints(cylinder(landmarks=PLACES), pattern, 10.0, overlap, leg_width_cm)
    return [(point.turn, point.s_cm) for point in points], [point.tolerance_cm for point in points]


def level(turn: float, s_cm: float) -> list[tuple[float, float]]:
    return [(turn + quarter, s_cm) for quarter in (0, 0.25, 0.5, 0.75, 1.0)]


def test_a_spiral_rises_by_what_is_not_overlapped_and_ends_level() -> None:
    """Pitch 5; the middle of the top turn at 38 - 5 + 0.3; it stops 0.8 of a pitch short of it."""
    points, tolerances = laid(Pattern.SPIRAL)
    # From 16 to 33.3 less 4: 13.3, 11 quarters of 1.25.
    rising = [(5.5 + n / 4, 16 + 1.25 * n) for n in range(1, 12)]
    expected = [*FOOT, *rising, *level(8.75, 33.3)]
    assert points == [pytest.approx(one, abs=1e-6) for one in expected]
    assert tolerances == [*FOOT_TOLERANCES, *[0.3] * 11, *[0.1] * 5]


def test_more_overlap_rises_less_with_every_turn() -> None:
    points, _ = laid(Pattern.SPIRAL, overlap=0.75)
    # Pitch 2.5: from 16 to 33.3 less 2 are 15.3, 24 quarters of 0.625.
    assert points[12] == pytest.approx((5.75, 16.625))
    assert points[-5:] == [pytest.approx(one) for one in level(5.5 + 6.0 + 0.5, 33.3)]


def test_a_wider_bandage_up_the_leg_leaves_the_foot_as_it_is() -> None:
    """Pitch 6, and the middle of the top turn 6 under its edge."""
    points, _ = laid(Pattern.SPIRAL, 12.0)
    assert points[:12] == [pytest.approx(one) for one in FOOT]
    assert points[12] == pytest.approx((5.75, 17.5))
    # From 16 to 32.3 less 4.8: 11.5, 8 quarters of 1.5.
    assert points[-5:] == [pytest.approx(one) for one in level(5.5 + 2.0 + 0.5, 32.3)]


def test_a_herringbone_goes_low_and_high_and_ends_level() -> None:
    """High turns lie 0.6 widths over low ones, each pair a pitch higher, none above 33.3 - 4; at
    the front they cross half-way.
    """
    points, tolerances = laid(Pattern.HERRINGBONE)
    crossing = [
        (6.5, 16.0), (7.0, 19.0), (7.5, 22.0), (8.0, 21.5), (8.5, 21.0), (9.0, 24.0), (9.5, 27.0),
        (10.0, 26.5), (10.5, 26.0), (11.0, 27.65), (11.5, 29.3),
    ]  # fmt: skip
    expected = [*FOOT, *crossing, *level(12.0, 33.3)]
    assert points == [pytest.approx(one, abs=1e-6) for one in expected]
    assert tolerances[12:] == [0.5] * 11 + [0.1] * 5


@pytest.mark.parametrize("overlap", [0.0, 0.9])
def test_overlap_may_be_none_or_nine_tenths(overlap: float) -> None:
    assert laid(Pattern.SPIRAL, overlap=overlap)[0]


def test_positions_up_the_leg_are_measured_along_the_skin() -> None:
    """On a cone that widens by 0.3 a centimetre of height is sqrt(1.09) of skin: the pitch too."""
    surface = cylinder(slope=0.3, landmarks=PLACES)
    points = waypoints(surface, Pattern.SPIRAL, 10.0, 0.5)
    steep = (1 + 0.3**2) ** 0.5
    assert points[12].s_cm == pytest.approx(16 + 1.25 / steep, abs=1e-3)
    assert points[-1].s_cm == pytest.approx(38 - 4.7 / steep, abs=1e-3)


def test_positions_up_the_leg_are_measured_at_its_inner_side() -> None:
    """On a skewed chart every side has its own length; along the inner one 4.7 cm are left free.

    Half the width less the 0.3 cm by which the top turn's edge passes the end.
    """
    surface = replace(skewed_cone(), landmark_s_cm=PLACES)
    top = waypoints(surface, Pattern.SPIRAL, 10.0, 0.5)[-1].s_cm
    free = {
        degrees: np.abs(np.diff(unrolled(np.linspace(top, 38.0, 100), np.deg2rad(degrees)))).sum()
        for degrees in (72, 90)
    }
    assert free[90] == pytest.approx(4.7, abs=0.002)
    assert free[72] != pytest.approx(4.7, abs=0.02)
