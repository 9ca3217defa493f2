"""Strips on cones of every chart: unrolled they are straight-sided bands of their width."""

from collections.abc import Callable

import numpy as np
import pytest

from gaiter.core.arrays import Array
from gaiter.core.bandage.path import SAMPLES_PER_TURN, Path
from gaiter.core.bandage.strips import Strips, TurnBands, lay
from gaiter.core.leg.surface import Surface
from tests.core.bandage import skewed_cone
from tests.core.bandage.test_path import cylinder

# Lanes from the edge at the toes to the edge at the knee, in shares of half the width.
LANES = np.arange(-4, 5)[:, None] / 4


def offsets(strips: Strips, unrolled: Callable[[Array, Array], Array] = skewed_cone.unrolled):
    """Every lane's distance from the path, unrolled: ahead is real, to the left imaginary [cm]."""
    path, tiny = strips.path, 1e-4
    before, after = (
        unrolled(path.s_cm - way * path.slope, path.angle - way) for way in (-tiny, tiny)
    )
    ahead = (after - before) / np.abs(after - before)
    return (unrolled(strips.lane_s_cm, strips.lane_angle) - (before + after) / 2) / ahead


def helix(first: float, turns: float, pitch_cm: float, start_cm: float) -> Path:
    """A path that climbs evenly, of which only places and slopes are asked for."""
    turn = first + np.arange(round(turns * SAMPLES_PER_TURN) + 1) / SAMPLES_PER_TURN
    slope = np.full_like(turn, -pitch_cm / (2 * np.pi))
    return Path(turn, start_cm + pitch_cm * (turn - first), slope, 0 * turn, 0 * turn)


@pytest.mark.parametrize("pitch", [0.0, 4.0])
def test_every_lane_lies_square_to_the_path_on_a_skewed_chart(pitch: float) -> None:
    """A geodesic of the cone is a straight line of the plane: lane k lies k/4 of 12 cm beside it.

    The roll goes clockwise seen from above, so that up is at its left.
    """
    strips = lay(skewed_cone.skewed_cone(192), helix(0, 2, pitch, 18.0), 24.0)
    off = offsets(strips)
    # Between columns 2 degrees apart the metric bends by (pi/96)^2 / 8 = 0.01 % of itself.
    assert off.imag == pytest.approx(np.broadcast_to(12 * LANES, off.shape), abs=5e-4)
    assert off.real == pytest.approx(np.zeros(off.shape), abs=2e-4)


def coarse_cone(slope: float, radius_cm: float) -> tuple[Surface, Callable[[Array, Array], Array]]:
    """A cone by 66 rings 0.535 cm apart from 5.22 to 40 cm, and the plane it unrolls to."""
    fine = cylinder(radius_cm, slope=slope)
    few = slice(39, None, 4)
    surface = Surface(
        fine.s_cm[few], {}, fine.section_cm[:, few], fine.origin_cm[few], fine.front[few]
    )
    along, sine = np.hypot(1, slope), slope / np.hypot(1, slope)
    return surface, lambda s, angle: (s + radius_cm / slope) * along * np.exp(1j * angle * sine)


@pytest.mark.parametrize(
    ("slope", "radius_cm", "start_cm", "lanes"),
    # From just over the lowest ring upwards, and up to just under the topmost one.
    [(0.2, 0.0, 5.22, slice(4, 9)), (-0.2, 9.0, 32.0, slice(5))],
)
def test_both_ends_of_the_chart_are_read_at_their_own_places(
    slope: float, radius_cm: float, start_cm: float, lanes: slice
) -> None:
    """There the cone has a radius of 1 cm, and the lanes that stay on it lie as everywhere."""
    surface, unrolled = coarse_cone(slope, radius_cm)
    strips = lay(surface, helix(0, 2, 4.0, start_cm), 4.0)
    off = offsets(strips, unrolled)[lanes]
    # Between rings G = r^2 is read off up to (0.2 x 0.535)^2 / 4 = 0.29 % too large.
    assert off.imag == pytest.approx(np.broadcast_to(2 * LANES[lanes], off.shape), abs=1e-3)
    assert off.real == pytest.approx(np.zeros(off.shape), abs=0.004)


def test_a_turn_begun_anywhere_is_read_at_its_own_columns() -> None:
    """From turn 2.3125 on: column c, at c/96 of a turn against the winding, is passed in its time.

    The helix climbs 5 cm a turn from 12 cm; 8 cm across, tilted.
    """
    bands = lay(cylinder(), helix(2.3125, 2, 5.0, 12.0), 8.0).bands
    passed = 3 + (1 - np.arange(96) / 96)
    passed = np.where(passed >= 3.3125, passed - 1, passed)
    tilted = 8 * np.hypot(1, 5 / (8 * np.pi))
    inner = np.abs(passed - 2.8125) < 0.4
    for turn in (0, 1):
        low, high = bands.low_s_cm[turn, inner], bands.high_s_cm[turn, inner]
        middle = 12 + 5 * (passed[inner] + turn - 2.3125)
        assert (low + high) / 2 == pytest.approx(middle, abs=1e-3)
        assert high - low == pytest.approx(np.full_like(low, tilted), abs=1e-3)


def test_a_cut_end_is_square_and_nothing_lies_beyond_it() -> None:
    """A quarter of a third turn, climbing 5 cm: square to it the lower edge lies ahead.

    By 4 sin(tilt) cm, that is 0.031 of a turn: 2.98 columns after the 24 of the quarter, and each
    lane three quarters of a column less. On the 26th column only the lowest two lanes lie.
    """
    surface = cylinder()
    bands = lay(surface, helix(0, 2.25, 5.0, 12.0), 8.0).bands
    assert bands.low_s_cm.shape == (3, 96)
    after = -np.arange(96) % 96
    assert np.flatnonzero(~np.isnan(bands.low_s_cm[2, after])).tolist() == list(range(27))
    last = after[26]
    between_lanes = np.hypot(1, 5 / (8 * np.pi))
    assert bands.high_s_cm[2, last] - bands.low_s_cm[2, last] == pytest.approx(
        between_lanes, abs=1e-3
    )
    share = bands.share_of_ring(2, surface.s_cm)
    assert not share[:, after[27:]].any()
    # Before the quarter's middle the whole width lies there: 8 cm across, tilted.
    assert share[:, after[12]].sum() * 40 / 299 == pytest.approx(8 * between_lanes, abs=1e-3)


@pytest.mark.parametrize(("first", "samples", "counted"), [(0, 96, 2), (0, 97, 3), (1.5, 97, 3)])
def test_one_sample_more_begins_another_turn(first: float, samples: int, counted: int) -> None:
    path = helix(first, samples / SAMPLES_PER_TURN, 1.0, 12.0)
    assert lay(cylinder(), path, 8.0).turns == counted


def test_a_ring_is_half_its_distance_wide_to_both_sides() -> None:
    """A band from 16 to 24 cm over rings 1 cm apart, the first a quarter of the way on it."""
    edge = np.zeros((1, 1))
    band = TurnBands(edge + 16, edge + 24, edge, edge)
    share = band.share_of_ring(0, 14.75 + np.arange(11.0))[:, 0]
    assert share.tolist() == [0, 0.25, *[1] * 7, 0.75, 0]
