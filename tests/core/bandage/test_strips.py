import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaiter.core.bandage.coverage import cell_area_cm2, thicknesses
from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import Pattern, Waypoint
from gaiter.core.bandage.strips import lay
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.tube import round_limb
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.padded_leg import BandagedLeg, Padding
from gaiter.core.pressure.laplace import thicknesses_from_overlap
from gaiter.core.pressure.surface_map import unit_map
from tests.core.bandage.test_path import climb, cylinder
from tests.strategies import percentile_leg

# On the middle rings of a cylinder every turn passes; the ends are one width away.
MIDDLE = slice(120, 160)


@pytest.mark.parametrize("overlap", [0.5, 2 / 3, 1 / 3, 0.75])
def test_overlap_gives_the_thicknesses_of_the_closed_form(overlap: float) -> None:
    width = 8.0
    strips = lay(cylinder(), faired_path(cylinder(), climb(6, width * (1 - overlap))), width)
    covered = thicknesses(strips)
    low, high = strips.path.s_cm[[0, -1]]
    inside = (strips.surface.s_cm > low + width) & (strips.surface.s_cm < high - width)
    # A tilted strip covers width / cos(tilt) along the leg.
    tilt = np.arctan(width * (1 - overlap) / (2 * np.pi * 4))
    expected = thicknesses_from_overlap(overlap) / np.cos(tilt)
    if inside.any():
        assert covered[inside].mean() == pytest.approx(expected, rel=0.01)


@given(st.floats(3, 9), st.floats(4, 12))
@settings(max_examples=15)
def test_coverage_sums_to_the_area_of_the_fabric(pitch: float, width: float) -> None:
    surface = cylinder()
    turns = min(4.0, (30 - width) / pitch)
    path = faired_path(surface, climb(np.floor(4 * turns) / 4, pitch))
    strips = lay(surface, path, width)
    on_grid = float((thicknesses(strips) * cell_area_cm2(surface)).sum())
    if path.s_cm.min() - width / 2 > 0 and path.s_cm.max() + width / 2 < 40:
        # The cut ends are perpendicular to the path; cells count them to half a cell.
        assert on_grid == pytest.approx(path.length_cm * width, rel=0.02)


def test_edges_lie_half_a_width_from_the_middle_on_the_surface() -> None:
    width = 10.0
    strips = lay(cylinder(), faired_path(cylinder(), climb(4, 5.0)), width)
    # On the developed cylinder the distance is Pythagoras.
    for edge in (0, -1):
        off_s = strips.lane_s_cm[edge] - strips.path.s_cm
        off_round = 4.0 * (strips.lane_angle[edge] - strips.path.angle)
        assert np.hypot(off_s, off_round) == pytest.approx(width / 2, abs=0.01)


def test_herringbone_lies_about_twice_as_thick_as_a_spiral() -> None:
    """Up-passes and down-passes each cover: 2 / (1 - overlap) on the straight of the leg."""
    padded_leg = BandagedLeg(percentile_leg(Sex.MALE, 1)).under(Padding(0.28))
    s = padded_leg.surface.s_cm
    places = padded_leg.surface.landmark_s_cm
    straight = (s > places[Landmark.GAITER]) & (s < places[Landmark.CALF] - 3)
    spiral, herringbone = (
        padded_leg.laid(Geometry(pattern, 0.5, 10.0)).thicknesses[straight].mean()
        for pattern in Pattern
    )
    assert spiral == pytest.approx(2.0, abs=0.15)
    assert herringbone == pytest.approx(4.0, abs=0.5)


def test_on_a_cone_edges_lie_half_a_width_off_on_the_unrolled_cone() -> None:
    """A cone unrolls to a plane, where geodesics are straight lines perpendicular to the middle.

    Distance from the tip along the skin is rho, and its angle shrinks by the sine of the cone's.
    """
    slope, width = 0.15, 10.0
    surface = cylinder(slope=slope)
    strips = lay(surface, faired_path(surface, climb(4, 5.0)), width)
    along, sine = np.hypot(1, slope), slope / np.hypot(1, slope)

    def unrolled(s_cm, angle):
        rho = (s_cm + 4.0 / slope) * along
        return rho * np.exp(1j * angle * sine)

    middle = unrolled(strips.path.s_cm, strips.path.angle)
    inner = slice(30, -30)
    ahead = np.gradient(middle)
    for edge, side in ((0, -1), (-1, 1)):
        off = (unrolled(strips.lane_s_cm[edge], strips.lane_angle[edge]) - middle)[inner]
        # 0.01 cm: the metric is read off a grid of 1.3 mm by 4 degrees.
        assert np.abs(off) == pytest.approx(width / 2, abs=0.01)
        square = (off * np.conj(ahead[inner])).real / np.abs(off) / np.abs(ahead[inner])
        assert np.abs(square).max() < 0.01
        # The first lane is the edge towards the toes, the last the one towards the knee.
        assert (side * (strips.lane_s_cm[edge] - strips.path.s_cm) > 0).all()


def test_lanes_lie_evenly_from_edge_to_edge() -> None:
    strips = lay(cylinder(), faired_path(cylinder(), climb(3, 5.0)), 8.0)
    assert strips.lane_s_cm.shape == (9, len(strips.path.s_cm))
    np.testing.assert_array_equal(strips.lane_s_cm[4], strips.path.s_cm)
    off = np.hypot(
        strips.lane_s_cm - strips.path.s_cm, 4.0 * (strips.lane_angle - strips.path.angle)
    )
    for lane, distance in enumerate((4, 3, 2, 1, 0, 1, 2, 3, 4)):
        assert off[lane] == pytest.approx(distance, abs=0.01)


def test_another_width_up_the_leg_widens_there_alone() -> None:
    path = faired_path(cylinder(), climb(4, 5.0))
    width = np.where(path.turn < 2, 6.0, 10.0)
    strips = lay(cylinder(), path, width)
    off = np.hypot(strips.lane_s_cm[-1] - path.s_cm, 4.0 * (strips.lane_angle[-1] - path.angle))
    assert off[path.turn < 2] == pytest.approx(3.0, abs=0.01)
    assert off[path.turn >= 2] == pytest.approx(5.0, abs=0.01)


@pytest.mark.parametrize(("turns", "counted"), [(2.0, 2), (2.25, 3), (2.75, 3)])
def test_a_part_turn_counts_whole(turns: float, counted: int) -> None:
    assert lay(cylinder(), faired_path(cylinder(), climb(turns, 5.0)), 8.0).turns == counted


def test_a_level_turn_covers_its_width_and_half_of_a_cut_ring() -> None:
    """A level band 8 cm wide about 20 cm: from 16 to 24, a ring's cell counted in part."""
    level = tuple(Waypoint(t, 20.0, 1e-3) for t in np.arange(0, 2.1, 0.25))
    strips = lay(cylinder(), faired_path(cylinder(), level), 8.0)
    bands = strips.bands
    assert bands.low_s_cm[0] == pytest.approx(16.0, abs=0.01)
    assert bands.high_s_cm[0] == pytest.approx(24.0, abs=0.01)
    assert bands.low_slope[0] == pytest.approx(0, abs=1e-3)
    rings = np.array([15.0, 16.0, 17.0, 20.0, 23.0, 24.0, 25.0])
    share = bands.share_of_ring(0, rings)
    assert share[:, 0] == pytest.approx([0, 0.5, 1, 1, 1, 0.5, 0], abs=0.02)
    # Shifted by 1 cm towards the knee.
    assert bands.share_of_ring(0, rings, 1.0)[:, 0] == pytest.approx(
        [0, 0, 0.5, 1, 1, 1, 0.5], abs=0.02
    )


def test_a_spirals_band_rises_against_the_angle() -> None:
    """Five centimetres a turn, wound from the inner to the outer side: angle falls as s grows."""
    strips = lay(cylinder(), faired_path(cylinder(), climb(4, 5.0)), 8.0)
    slope = -5 / (2 * np.pi)
    assert strips.bands.low_slope[1] == pytest.approx(slope, abs=0.01)
    assert strips.bands.high_slope[1] == pytest.approx(slope, abs=0.01)
    # On the second turn the front is passed at its start, at 8 + 5 cm; 8 cm across, tilted.
    tilted = 8 / np.cos(np.arctan(5 / (8 * np.pi)))
    low, high = strips.bands.low_s_cm[1], strips.bands.high_s_cm[1]
    assert high - low == pytest.approx(tilted, abs=0.05)
    assert (low[0] + high[0]) / 2 == pytest.approx(13.0, abs=0.05)
    # A quarter turn later it is at the outer side, -90 degrees: column 72 of 96.
    assert (low[72] + high[72]) / 2 == pytest.approx(14.25, abs=0.05)


def test_on_a_steep_cone_wide_edges_still_lie_half_a_width_off() -> None:
    """Near the tip geodesics turn by half a radian on their way: each step has to follow them."""
    slope, width = 0.6, 16.0
    surface = cylinder(1.0, slope=slope)
    level = tuple(Waypoint(t, 16.0, 1e-3) for t in np.arange(0, 2.1, 0.25))
    path = faired_path(surface, level)
    strips = lay(surface, path, width)
    along, sine = np.hypot(1, slope), slope / np.hypot(1, slope)

    def unrolled(s_cm, angle):
        return (s_cm + 1.0 / slope) * along * np.exp(1j * angle * sine)

    middle = unrolled(path.s_cm, path.angle)
    tilted = lay(surface, faired_path(surface, climb(3, 6.0)), width)
    for one, at in ((strips, middle), (tilted, unrolled(tilted.path.s_cm, tilted.path.angle))):
        inner = slice(40, -40)
        ahead = np.gradient(at)[inner]
        for edge in (0, -1):
            off = (unrolled(one.lane_s_cm[edge], one.lane_angle[edge]) - at)[inner]
            assert np.abs(off) == pytest.approx(width / 2, abs=0.02)
            square = (off * np.conj(ahead)).real / np.abs(off) / np.abs(ahead)
            assert np.abs(square).max() < 0.01


def test_slopes_at_the_edges_are_those_of_the_edges() -> None:
    """Where the middle swings up and down, the outer edge of each bend swings less than the inner.

    Three swings in four turns, so that both edges are bent either way.
    """
    surface = cylinder(4.0, slope=0.1)
    swing = tuple(
        Waypoint(t, 12 + 4 * t + np.sin(1.5 * np.pi * t), 0.05) for t in np.arange(0, 4.1, 0.25)
    )
    strips = lay(surface, faired_path(surface, swing), 8.0)
    bands, step = strips.bands, 2 * np.pi / 96
    low, high = (np.gradient(edge[2], step)[8:-8] for edge in (bands.low_s_cm, bands.high_s_cm))
    assert bands.low_slope[2, 8:-8] == pytest.approx(low, abs=0.01)
    assert bands.high_slope[2, 8:-8] == pytest.approx(high, abs=0.01)
    assert np.abs(low - high).max() > 0.02


def test_the_cut_end_of_a_turn_presses_as_the_rest_of_it() -> None:
    """On a tube of 4 cm a turn that rises by 3 cm presses 1 / (1 + (3 / 8 pi)^2), 1.4 % less."""
    tube = round_limb(4)
    band = lay(tube, faired_path(tube, (Waypoint(0.0, 15.0, 0.1), Waypoint(3.3, 25.0, 0.1))), 10.0)
    laid = thicknesses(band)
    covered = laid > 0
    assert unit_map(band)[covered] / laid[covered] == pytest.approx(0.986 * 75.0062 / 4, rel=0.005)
