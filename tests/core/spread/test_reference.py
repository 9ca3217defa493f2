"""The plain sums, worked out by hand on one or two turns."""

import numpy as np
import pytest

from gaiter.core.spread.reference import cell_block, disc_block


def test_a_turn_between_two_shifts_presses_in_between() -> None:
    """Shifts of 10, 20 and 40 per tension: at 1.25 it is 25, at the last exactly 40."""
    table = np.array([[[10.0], [20.0], [40.0]]])
    out = np.zeros((1, 3, 1))
    tension, place = np.array([[1.0], [2.0], [0.5]]), np.array([[0.0], [1.25], [2.0]])
    disc_block(table, np.array([0]), tension, place, out)
    assert out[0, :, 0] == pytest.approx([10, 2 * 25, 0.5 * 40])


def test_turns_add_into_their_group_and_on_what_is_there() -> None:
    table = np.ones((3, 2, 1)) * np.array([1.0, 10.0, 100.0])[:, None, None]
    out = np.full((2, 1, 1), 0.5)
    disc_block(table, np.array([0, 1, 0]), np.ones((1, 3)), np.zeros((1, 3)), out)
    assert out[:, 0, 0] == pytest.approx([101.5, 10.5])


def cells(low: float, high: float, shift: float = 0.0, limit: float = 5.0, factor: float = 1.0):
    """One turn over three rows of two columns, 10 per tension, tension 2."""
    edges = np.array([[[low, low]], [[high, high]]])
    rings, sums = np.zeros((1, 3)), np.zeros((3, 3, 2))
    cell_block(
        edges, np.full((1, 3, 2), 10.0), np.array([[2.0]]), np.array([[shift]]),
        np.full((1, 3), factor), np.full((3, 2), 0.5), np.full((3, 2), limit), rings, sums,
    )  # fmt: skip
    return rings[0], sums


def test_a_row_is_pressed_by_the_share_that_is_covered() -> None:
    """From the middle of row 0 to a quarter of row 2."""
    rings, sums = cells(0.5, 2.25)
    assert sums[0, :, 0] == pytest.approx([10, 20, 5])
    assert sums[1, :, 1] == pytest.approx([100, 400, 25])
    # Above 5 mmHg, and 5 is not above it.
    assert sums[2, :, 0] == pytest.approx([1, 1, 0])
    assert rings == pytest.approx([10, 20, 5])


def test_a_shift_moves_the_turn_and_a_factor_scales_its_pressure() -> None:
    assert cells(0.0, 1.0, shift=1.0)[0] == pytest.approx([0, 20, 0])
    assert cells(0.0, 1.0, factor=0.5)[0] == pytest.approx([10, 0, 0])
    assert cells(0.0, 1.0, factor=0.5)[1][1, 0, 0] == pytest.approx(100)


def test_a_turn_that_does_not_pass_presses_nothing() -> None:
    assert cells(2.0, 1.0)[0] == pytest.approx([0, 0, 0])
