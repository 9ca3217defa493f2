"""How a leg is seen: directions by hand, and the outline of a cylinder."""

import numpy as np
import pytest

from gaiter.core.draw.view import Direction, View
from gaiter.core.landmark import Side
from tests.core.bandage.test_path import cylinder

FORWARD, MEDIAL, UP = np.eye(3)


def seen(direction: Direction, side: Side, point) -> list[float]:
    return [float(value) for value in View(direction, side).project(np.asarray(point))]


@pytest.mark.parametrize(("side", "sign"), [(Side.RIGHT, 1), (Side.LEFT, -1)])
def test_from_the_inner_side_a_right_foot_points_left(side: Side, sign: int) -> None:
    """Screen coordinates count to the right and down."""
    assert seen(Direction.INNER_SIDE, side, FORWARD) == pytest.approx([-sign, 0])
    assert seen(Direction.INNER_SIDE, side, UP) == pytest.approx([0, -1])
    assert seen(Direction.INNER_SIDE, side, MEDIAL) == pytest.approx([0, 0])


@pytest.mark.parametrize(("side", "sign"), [(Side.RIGHT, 1), (Side.LEFT, -1)])
def test_from_the_front_the_inner_side_of_a_right_leg_is_on_the_right(side, sign) -> None:
    """The camera is raised by 25 degrees: cos 25 = 0.906, sin 25 = 0.423."""
    assert seen(Direction.FRONT, side, MEDIAL) == pytest.approx([sign, 0])
    assert seen(Direction.FRONT, side, UP) == pytest.approx([0, -0.9063], abs=1e-4)
    # What stands forward is seen lower down, as a foot before its leg.
    assert seen(Direction.FRONT, side, FORWARD) == pytest.approx([0, 0.4226], abs=1e-4)


def test_what_faces_the_viewer_is_seen() -> None:
    inner, front = (View(direction, Side.RIGHT) for direction in reversed(Direction))
    assert list(inner.visible(np.array([MEDIAL, -MEDIAL, FORWARD]))) == [True, False, False]
    assert list(front.visible(np.array([FORWARD, UP, -FORWARD, MEDIAL]))) == [
        True, True, False, False,
    ]  # fmt: skip
    for view in (inner, front):
        assert np.linalg.norm(view.towards_viewer) == pytest.approx(1)


def test_the_outline_of_a_cylinder_is_its_two_sides_and_its_ends() -> None:
    """Radius 4, 40 cm high: 4 cm to either side, up on one and down on the other."""
    outline = View(Direction.INNER_SIDE, Side.RIGHT).outline(cylinder(4.0))
    right, end, left, start = np.split(outline, [300, 347, 647])
    assert np.abs(right[:, 0]) == pytest.approx(4.0)
    assert left[:, 0] == pytest.approx(-right[:, 0])
    assert right[[0, -1], 1] == pytest.approx([0, -40])
    assert left[[0, -1], 1] == pytest.approx([-40, 0])
    # Rims are seen edge-on.
    assert end[:, 1] == pytest.approx(-40)
    assert start[:, 1] == pytest.approx(0)
    assert np.ptp(end[:, 0]) == pytest.approx(8, abs=0.1)


def test_from_the_front_both_rims_show_as_high_as_the_camera_is_raised() -> None:
    """Radius 4 seen from 25 degrees above: rims are ellipses 4 sin 25 high; sides stay 4 cm off."""
    outline = View(Direction.FRONT, Side.RIGHT).outline(cylinder(4.0))
    x, down = outline.T
    high = 40 * np.cos(np.deg2rad(25)) + 4 * np.sin(np.deg2rad(25))
    assert down.min() == pytest.approx(-high)
    assert down.max() == pytest.approx(4 * np.sin(np.deg2rad(25)), abs=0.2)
    at_the_sides = (down > -35) & (down < -5)
    assert np.abs(x[at_the_sides]) == pytest.approx(4.0, abs=0.01)
    # 1 cm above the end's middle the upper rim is 4 sqrt(1 - (1 / 4 sin 25)^2) to either side.
    above = -40 * np.cos(np.deg2rad(25)) - 1
    there = np.abs(x[np.abs(down - above) < 0.1])
    assert there == pytest.approx(
        4 * np.sqrt(1 - (1 / (4 * np.sin(np.deg2rad(25)))) ** 2), abs=0.25
    )
