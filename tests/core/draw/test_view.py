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


def test_the_outline_of_a_cylinder_is_its_two_sides() -> None:
    """Radius 4, 40 cm high: 4 cm to either side, up on one and down on the other."""
    outline = View(Direction.INNER_SIDE, Side.RIGHT).outline(cylinder(4.0))
    assert outline.shape == (600, 2)
    assert np.abs(outline[:, 0]) == pytest.approx(4.0)
    assert outline[0, 0] == pytest.approx(-outline[-1, 0])
    assert outline[[0, 299, 300, 599], 1] == pytest.approx([0, -40, -40, 0])
