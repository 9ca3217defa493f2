"""The middle line on a cone with a skewed chart, which unrolls to a plane."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from gaiter.core.arrays import Array
from gaiter.core.bandage.path import SAMPLES_PER_TURN, faired_path
from gaiter.core.bandage.pattern import Waypoint
from tests.core.bandage.skewed_cone import skewed_cone, unrolled
from tests.core.bandage.test_path import cylinder

STEP = 1 / SAMPLES_PER_TURN


@pytest.mark.parametrize("angles", [96, 192])
def test_bend_length_and_slope_are_those_of_the_unrolled_path(angles: int) -> None:
    """A swing of 2 cm round a climb of 4 cm a turn, begun and ended within a turn."""
    points = tuple(
        Waypoint(t, 6 + 4 * t + 2 * np.sin(2 * np.pi * t), 0.05) for t in np.arange(0.75, 4.6, 0.25)
    )
    path = faired_path(skewed_cone(angles), points)
    place = unrolled(path.s_cm, path.angle)
    ahead = np.gradient(place, STEP)
    bend = (np.conj(ahead) * np.gradient(ahead, STEP)).imag / np.abs(ahead) ** 3
    assert np.ptp(bend) > 0.1
    # Both are differences over a forty-eighth of a turn, right to (2 pi / 48)^2 / 6 = 0.3 % of a
    # swing; at the ends over half of that.
    assert path.sideways_bend[3:-3] == pytest.approx(bend[3:-3], abs=0.0015)
    length_cm = np.abs(ahead) * STEP
    length_cm[[0, -1]] /= 2
    assert path.step_cm == pytest.approx(length_cm, rel=0.006)
    assert path.length_cm == pytest.approx(np.abs(np.diff(place)).sum(), rel=1e-4)


def bend_and_straying(
    s_cm: Array, turn: Array, points: tuple[Waypoint, ...], speed_cm: Array
) -> Array:
    """What a path is to have least of, in units of a waypoint's tolerance, from its chords.

    A bend of 0.05 / cm over 5 cm counts as much as straying by the whole tolerance.
    """
    place = unrolled(s_cm, -2 * np.pi * turn)
    ahead = (place[2:] - place[:-2]) / (2 * STEP)
    onward = (place[2:] - 2 * place[1:-1] + place[:-2]) / STEP**2
    bend = (np.conj(ahead) * onward).imag / np.abs(ahead) ** 3
    index = [round((point.turn - turn[0]) * SAMPLES_PER_TURN) for point in points]
    strayed = s_cm[index] - [point.s_cm for point in points]
    return np.concatenate(
        [
            bend / 0.05 * np.sqrt(speed_cm * STEP / 5),
            strayed / [point.tolerance_cm for point in points],
        ]
    )


@pytest.mark.parametrize(
    ("first", "heights_cm", "tolerances_cm"),
    [
        (0.0, (12.0, 15.5, 13.0, 18.5, 18.0), (0.3, 1.0, 0.5, 2.0, 0.3)),
        (1.25, (12.0, 18.5, 10.0, 21.5, 18.0), (1.0, 1.0, 1.0, 1.0, 1.0)),
        # Here a whole first step leads nowhere: it is taken back and a smaller one tried.
        (0.0, (22.5, 18.5, 24.5, 20.5, 26.5), (2.0, 2.0, 2.0, 2.0, 2.0)),
    ],
)
def test_no_path_beside_it_bends_and_strays_less(first, heights_cm, tolerances_cm) -> None:
    """Bend and straying of the unrolled path, made least by a general method from here on.

    Every sample's bend counts by its length on the path found.
    """
    turns = first + np.arange(5) / 4
    points = tuple(map(Waypoint, turns.tolist(), heights_cm, tolerances_cm))
    path = faired_path(skewed_cone(), points)
    place = unrolled(path.s_cm, path.angle)
    speed_cm = np.abs(place[2:] - place[:-2]) / (2 * STEP)
    best = least_squares(
        bend_and_straying, path.s_cm, args=(path.turn, points, speed_cm), ftol=1e-6
    )
    least = 2 * best.cost
    assert least > 5
    found = bend_and_straying(path.s_cm, path.turn, points, speed_cm)
    # The search stops at a step of 0.1 mm; near its least a sum hardly changes.
    assert found @ found == pytest.approx(least, rel=5e-5)
    assert path.s_cm == pytest.approx(best.x, abs=0.1)


@pytest.mark.parametrize("tolerance_cm", [0.5, 1.0, 2.0])
def test_three_waypoints_bend_the_path_as_springs_bend_a_beam(tolerance_cm: float) -> None:
    """Nearly level on a cylinder the path is a beam 4 pi cm = h to either side, its middle 1 cm up.

    The sum to be least is 80 cm (bend, squared, over the length: 1 / (0.05^2 5 cm)) of a beam of
    length 2 h with its middle d over its ends: 80 (6 d^2 / h^3); and strays squared over the
    tolerance's square. The ends stray up half of what the middle strays down, x, so that
    d = 1 - 1.5 x, and x = tolerance^2 80 (6 d / h^3).
    """
    h = np.pi * 4
    pull = 480 * tolerance_cm**2 / h**3
    x = pull / (1 + 1.5 * pull)
    points = tuple(map(Waypoint, (0.0, 0.5, 1.0), (20.0, 21.0, 20.0), [tolerance_cm] * 3))
    path = faired_path(cylinder(), points)
    # A slope of 1 in 2 pi makes the beam 1 % longer than its h.
    assert path.s_cm[[0, 24, 48]] == pytest.approx([20 + x / 2, 21 - x, 20 + x / 2], abs=0.002)


@pytest.mark.parametrize(
    ("s_cm", "radius_cm"), [(0.05, 4.0075), (39.95, 9.9925), (-0.5, 4.0), (40.5, 10.0)]
)
def test_up_to_its_ends_and_beyond_a_cone_is_read_where_it_is(s_cm, radius_cm) -> None:
    """Level turns on a cone of 4 to 10 cm; beyond its ends it goes on as thick as they are."""
    level = tuple(Waypoint(n * STEP, s_cm, 1e-3) for n in range(2 * SAMPLES_PER_TURN + 1))
    path = faired_path(cylinder(slope=0.15), level)
    # The topmost thousandth of a ring's distance is left out, 0.02 mm of radius at most.
    assert path.length_cm == pytest.approx(2 * 2 * np.pi * radius_cm, rel=5e-5)
