from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import Pattern, Waypoint
from gaiter.core.bandage.strips import TurnBands, lay
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.surface import Surface
from gaiter.core.leg.tube import round_limb
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.padded_leg import BandagedLeg, Padding
from gaiter.core.pressure.discs import Disc, disc
from gaiter.core.pressure.laplace import ring_mean_mmhg
from gaiter.core.pressure.surface_map import (
    highest_on_ring,
    ring_mean,
    ring_mean_at,
    shifted_unit_table,
    turn_pressure,
    unit_map,
)
from gaiter.core.spread.sampling import SHIFTS_CM
from tests.conftest import reference
from tests.core.bandage.test_path import climb, cylinder
from tests.strategies import legs, percentile_leg

GORDON = reference("gordon2014")


def wound(surface, pitch: float = 5.0, width: float = 10.0):
    return lay(surface, faired_path(surface, climb(4, pitch)), width)


@given(st.floats(2.5, 7.0))
@settings(max_examples=10)
def test_a_cylinder_gives_the_closed_form(radius: float) -> None:
    """On the rings that every turn passes the map is Laplace's law, tilted by the pitch."""
    strips = wound(cylinder(radius))
    s = strips.surface.s_cm
    middle = (s > 18) & (s < 20)
    tilt = np.arctan(5.0 / (2 * np.pi * radius))
    # cos^2 from the curvature along a helix, 1 / cos from the wider track of a tilted strip.
    expected = ring_mean_mmhg(1.0, 2 * np.pi * radius, 2.0) * np.cos(tilt)
    assert ring_mean(strips.surface, unit_map(strips))[middle].mean() == pytest.approx(
        expected, rel=0.01
    )


def test_a_cone_presses_less_where_it_is_wider() -> None:
    strips = wound(cylinder(3.5, slope=0.05))
    rings = ring_mean(strips.surface, unit_map(strips))
    s = strips.surface.s_cm
    low, high = rings[(s > 15) & (s < 17)].mean(), rings[(s > 21) & (s < 23)].mean()
    # Two thicknesses at both places: pressure as one over radius, to the ripple of the overlap.
    assert high / low == pytest.approx((3.5 + 0.05 * 16) / (3.5 + 0.05 * 22), rel=0.02)


@pytest.mark.parametrize("sex", list(Sex))
def test_calf_over_ankle_at_constant_tension_is_the_published_ratio(sex: Sex) -> None:
    """A level turn between two others at each place: 0.58 on the mean leg of ANSUR II."""
    low, mean, high = GORDON["calf_over_ankle_pressure_at_constant_tension"][
        {Sex.MALE: "men", Sex.FEMALE: "women"}[sex]
    ]
    surface = leg_surface(percentile_leg(sex, 1))
    found = {}
    for landmark in (Landmark.CALF, Landmark.ANKLE):
        s = surface.landmark_s_cm[landmark]
        # A turn's ends miss a column or two at the front, where an ankle presses hardest.
        level = tuple(Waypoint(t, s, 1e-3) for t in np.arange(0, 3.01, 0.25))
        strips = lay(surface, faired_path(surface, level), 4.0)
        ring = int(np.argmin(np.abs(surface.s_cm - s)))
        found[landmark] = ring_mean(surface, unit_map(strips, range(1, 2)))[ring]
    ratio = found[Landmark.CALF] / found[Landmark.ANKLE]
    assert low < ratio < high
    # Median girths stand for the mean leg, and the skin leans more at the ankle than at the calf:
    # what leans by 10 degrees presses by its cosine, 1.5 % less.
    assert ratio == pytest.approx(mean, rel=0.03)


def test_herringbone_against_spiral_differs_by_thicknesses_not_by_weave() -> None:
    """At known equal tension the two patterns differ by at most 6 mmHg (limb model, Wounds)."""
    padded_leg = BandagedLeg(percentile_leg(Sex.MALE, 1)).under(Padding(0.28))
    s, places = padded_leg.surface.s_cm, padded_leg.surface.landmark_s_cm
    straight = (s > places[Landmark.GAITER]) & (s < places[Landmark.CALF] - 3)
    per_thickness = []
    for pattern in Pattern:
        laid = padded_leg.laid(Geometry(pattern, 0.5, 10.0))
        means = ring_mean(padded_leg.surface, laid.unit_map)[straight]
        per_thickness.append(
            (means / ring_mean(padded_leg.surface, laid.thicknesses)[straight]).mean()
        )
    assert per_thickness[0] == pytest.approx(per_thickness[1], rel=0.06)


@given(legs())
@settings(max_examples=8)
def test_ring_mean_on_a_convex_section_is_the_classical_calculation(measured) -> None:
    """2 pi * 75.0 * sum(t) / girth, whatever the section's shape, turns level."""
    padded_leg = BandagedLeg(measured).under(Padding(0.28))
    laid = padded_leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0))
    s, places = padded_leg.surface.s_cm, padded_leg.surface.landmark_s_cm
    row = int(np.argmin(np.abs(s - (places[Landmark.GAITER] + places[Landmark.CALF]) / 2)))
    n = ring_mean(padded_leg.surface, laid.thicknesses)[row]
    expected = ring_mean_mmhg(1.0, padded_leg.surface.girth_cm[row], n)
    # A spiral tilts by pitch over girth, about 9 degrees, and a calf widens like a cone of about
    # 10 degrees: together they take up to 8 %.
    found = ring_mean(padded_leg.surface, laid.unit_map)[row]
    assert 0.92 * expected < found < 1.01 * expected


def test_unshifted_table_sums_to_the_map() -> None:
    padded_leg = BandagedLeg(percentile_leg(Sex.FEMALE, 1)).under(Padding(0.28))
    laid = padded_leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0))
    unshifted = int(np.flatnonzero(SHIFTS_CM == 0)[0])
    for row, where in enumerate(padded_leg.discs):
        # Both count edges in part of a cell; hundredths of a mmHg are rounding.
        # The first turn only holds the end; it is in neither.
        assert laid.table[:, unshifted, row].sum() == pytest.approx(
            where.mean(laid.unit_map), abs=0.02
        )


def test_a_turn_shifted_away_presses_nothing() -> None:
    strips = wound(cylinder(4.0), width=4.0)
    where = disc(strips.surface, "middle", 10.5, 0.0)
    far = shifted_unit_table(strips, [where], np.array([-30.0, 0.0, 30.0]))
    assert far[:, 0].sum() == pytest.approx(0, abs=1e-9)
    assert far[:, 1].sum() > 1
    assert far[:, 2].sum() == pytest.approx(0, abs=1e-9)


# --- level turns on cylinders and cones, in closed form -------------------------------------

# 1 N/cm2 is 10 kPa, and 1 mmHg 133.322387415 Pa.
MMHG_CM2_PER_N = 1e4 / 133.322387415


def level(surface, s_cm: float, width: float = 8.0):
    points = tuple(Waypoint(t, s_cm, 1e-3) for t in (0, 0.25, 0.5, 0.75, 1.0))
    return lay(surface, faired_path(surface, points), width)


def test_a_level_turn_presses_tension_over_radius_where_it_lies_and_nothing_beyond() -> None:
    surface = cylinder(4.0)
    pressed = unit_map(level(surface, 20.0))
    inside = (surface.s_cm > 16.2) & (surface.s_cm < 23.8)
    outside = (surface.s_cm < 15.8) | (surface.s_cm > 24.2)
    assert pressed[inside] == pytest.approx(MMHG_CM2_PER_N / 4, rel=2e-3)
    assert (pressed[outside] == 0).all()


def test_only_the_turns_asked_for_are_added() -> None:
    strips = wound(cylinder(4.0))
    parts = [unit_map(strips, range(turn, turn + 1)) for turn in range(strips.turns)]
    assert sum(parts) == pytest.approx(unit_map(strips))
    assert not unit_map(strips, range(0)).any()


def test_on_a_cone_the_skins_own_tilt_counts() -> None:
    """Normal curvature round a cone of radius r is cos(half angle) / r."""
    slope = 0.3
    surface = cylinder(2.0, slope)
    pressed = unit_map(level(surface, 20.0, 4.0))
    at = int(np.argmin(np.abs(surface.s_cm - 20)))
    radius = 2 + slope * surface.s_cm[at]
    expected = MMHG_CM2_PER_N * np.cos(np.arctan(slope)) / radius
    # Away from the cut ends, which cover their columns in part.
    assert pressed[at, 12:84] == pytest.approx(expected, rel=3e-3)


def test_one_turn_is_worked_out_on_the_rows_that_it_can_reach() -> None:
    surface = cylinder(4.0)
    strips = level(surface, 20.0)
    near, far = (turn_pressure(strips, 0, reach) for reach in (0.0, 3.0))
    step = surface.s_cm[1]
    for part, low, high in ((near, 16.0, 24.0), (far, 13.0, 27.0)):
        assert surface.s_cm[part.rings.start] == pytest.approx(low, abs=1.5 * step)
        assert surface.s_cm[part.rings.stop - 1] == pytest.approx(high, abs=1.5 * step)
        # As if it covered all of them.
        assert part.unit_mmhg == pytest.approx(MMHG_CM2_PER_N / 4, rel=2e-3)
        assert part.unit_mmhg.shape == (part.rings.stop - part.rings.start, 96)


def test_a_turn_off_the_grid_presses_nothing_on_it() -> None:
    strips = level(cylinder(4.0), 20.0)
    assert unit_map(strips).any()
    for off in (60.0, -60.0):
        assert not unit_map(replace(strips, lane_s_cm=strips.lane_s_cm + off)).any()


def test_a_ring_mean_is_weighted_by_arc_length() -> None:
    """On an ellipse of half axes 6 and 3 a map that is 1 on the flat sides weighs their length."""
    surface = cylinder(1.0)
    ellipse = replace(surface, section_cm=surface.section_cm * np.array([6.0, 3.0])[:, None, None])
    flat = np.abs(np.sin(ellipse.angle)) > np.sin(np.pi / 4)
    found = ring_mean(ellipse, np.broadcast_to(flat * 1.0, (300, 96)))[100]
    t = np.linspace(0, 2 * np.pi, 100_001)
    length = np.hypot(6 * np.sin(t), 3 * np.cos(t))
    # Cells of 3.75 degrees lie whole on one side of the edge.
    assert found == pytest.approx(
        length[np.abs(np.sin(t)) > np.sin(np.pi / 4)].sum() / length.sum(), abs=0.02
    )


@pytest.mark.parametrize("s_cm", [10.0, 20.0])
def test_a_mean_at_a_place_is_over_a_band_as_high_as_a_disc(s_cm: float) -> None:
    """Of a map that is 1 from s on, half; of one that grows as s, the place itself."""
    surface = cylinder(4.0)
    ahead = np.broadcast_to((surface.s_cm >= s_cm)[:, None] * 1.0, (300, 96))
    assert ring_mean_at(surface, ahead, s_cm) == pytest.approx(0.5, abs=0.06)
    rising = np.broadcast_to(surface.s_cm[:, None], (300, 96))
    assert ring_mean_at(surface, rising, s_cm) == pytest.approx(s_cm, abs=0.07)
    # A ring 1.3 cm off is outside of the band of 1.25 to either side.
    off = np.zeros((300, 96))
    off[np.abs(surface.s_cm - s_cm) > 1.3] = 100
    assert ring_mean_at(surface, off, s_cm) == 0
    inside = np.zeros((300, 96))
    inside[np.abs(surface.s_cm - s_cm) > 1.1] = 100
    assert ring_mean_at(surface, inside, s_cm) > 0


def test_a_turn_shifted_over_a_disc_covers_it_as_a_trapezoid() -> None:
    """A level turn from 16 to 24 and a disc at 30: shifted by 6 its edge lies on the middle."""
    surface = cylinder(4.0)
    strips = level(surface, 20.0)
    where = disc(surface, "off", 30.0, 1.0)
    shifts = np.linspace(-12, 12, 49)
    table = shifted_unit_table(strips, [where], shifts)[0, :, 0]
    at = dict(zip(np.round(shifts, 2).tolist(), table.tolist(), strict=True))
    full = MMHG_CM2_PER_N / 4
    assert at[10.0] == pytest.approx(full, rel=5e-3)
    assert at[8.0] == pytest.approx(full, rel=5e-3)
    assert at[6.0] == pytest.approx(full / 2, rel=0.05)
    assert at[4.5] == pytest.approx(0, abs=0.01 * full)
    assert at[0.0] == at[-12.0] == pytest.approx(0, abs=1e-9)


def test_a_grid_that_starts_higher_up_gives_the_same_table() -> None:
    whole = cylinder(4.0)
    cut = Surface(
        whole.s_cm[60:], {}, whole.section_cm[:, 60:], whole.origin_cm[60:], whole.front[60:]
    )
    shifts = np.linspace(-3, 3, 13)
    tables = [
        shifted_unit_table(level(surface, 20.0), [disc(surface, "", 23.0, 1.0)], shifts)
        for surface in (whole, cut)
    ]
    assert tables[1] == pytest.approx(tables[0], abs=1e-3)
    assert tables[0].max() > 1


# --- turns set by hand on a tube of radius 4, a ring every half centimetre -------------------


def band(*edges: tuple[float, float, float, float], columns: int = 96):
    """Turns from low to high whose edges rise by so many cm a radian; NaN passes no column."""
    low, high, low_slope, high_slope = np.array(edges).T[:, :, None] * np.ones(columns)
    bands = TurnBands(low, high, low_slope, high_slope)
    return SimpleNamespace(bands=bands, surface=round_limb(4), turns=len(edges))


def pressed(slope) -> float:
    """On a radius of 4, rising by so many cm a radian: 1 / 4 turned by the square of a cosine."""
    return MMHG_CM2_PER_N * 4 / (16 + np.square(slope))


def test_between_its_edges_a_turn_rises_in_proportion() -> None:
    """2 cm a radian at 10 cm, 8 at 20; beyond its edges it rises as they do."""
    part = turn_pressure(band((10.0, 20.0, 2.0, 8.0)), 0, 4.0)
    s = np.arange(81)[part.rings] * 0.5
    assert (s[0], s[-1]) == (5.5, 24.0)
    expected = pressed(2 + 6 * np.clip((s - 10) / 10, 0, 1))
    assert part.unit_mmhg == pytest.approx(np.tile(expected[:, None], 96), rel=1e-9)


@pytest.mark.parametrize(
    ("low", "high", "first", "last"),
    [(15.02, 25.02, 15.0, 25.5), (-4.0, 6.0, 0.0, 6.0), (34.0, 44.0, 33.5, 40.0)],
)
def test_a_turn_reaches_one_ring_beyond_its_edges_and_no_farther_than_the_leg(
    low: float, high: float, first: float, last: float
) -> None:
    rings = turn_pressure(band((low, high, 0.0, 0.0)), 0).rings
    assert (0.5 * rings.start, 0.5 * (rings.stop - 1)) == (first, last)


def test_a_turn_just_beyond_the_last_ring_covers_the_half_step_it_reaches() -> None:
    """Rings reach a quarter of a centimetre: of the last, 40.1 to 40.25; of the first, likewise."""
    found = unit_map(band((40.1, 50.0, 0.0, 0.0), (-10.0, -0.1, 0.0, 0.0)))
    assert found[[0, -1]] == pytest.approx(0.3 * pressed(0))
    assert not found[1:-1].any()


def test_a_turn_that_passes_no_column_is_none_and_one_that_passes_some_counts_there() -> None:
    strips = band((np.nan, np.nan, 0.0, 0.0), (10.0, 20.0, 0.0, 0.0))
    assert turn_pressure(strips, 0) is None
    strips.bands.low_s_cm[1, 48:] = strips.bands.high_s_cm[1, 48:] = np.nan
    found = unit_map(strips)
    assert found[30, :48] == pytest.approx(pressed(0))
    assert not found[30, 48:].any()


def test_where_the_skin_is_hollow_a_turn_bridges_it() -> None:
    strips = band((10.0, 20.0, 0.0, 0.0))
    strips.surface.forms.second[:, :, 10] *= -1
    found = unit_map(strips)[30]
    assert found[10] == 0
    assert np.delete(found, 10) == pytest.approx(pressed(0))
    here = Disc("hollow", np.array([30]), np.array([10]), np.ones(1), 15.0, 0.0)
    assert not shifted_unit_table(strips, [here], np.array([-1.0, 0.0, 1.0])).any()


SHIFTS = np.linspace(-5, 5, 41)


def cell(s_cm: float, column: int = 0, arrives: float = 1.0) -> Disc:
    """A disc of one cell, which reaches a quarter of a centimetre to both sides."""
    ring = np.array([round(2 * s_cm)])
    return Disc("cell", ring, np.array([column]), np.ones(1), s_cm, 0.0, arrives)


def covered(s_cm: float, low: float, high: float):
    """Share of a cell under a band, at every shift."""
    top = np.minimum(high + SHIFTS, s_cm + 0.25)
    return np.maximum(top - np.maximum(low + SHIFTS, s_cm - 0.25), 0) / 0.5


# Edges that shifts of a quarter of a centimetre bring on, off and half over a cell.
@pytest.mark.parametrize("s_cm", [4.5, 5.0, 5.5, 9.5, 10.0, 15.0, 20.0, 24.5, 25.0, 25.5])
@pytest.mark.parametrize("beside", [0.0, 0.1, -0.1])
def test_a_shifted_turn_covers_a_cell_in_part(s_cm: float, beside: float) -> None:
    """What presses is the slope at the cell's own place between the edges, wherever they go."""
    low, high = 10 + beside, 20 + beside
    table = shifted_unit_table(band((low, high, 2.0, 8.0)), [cell(s_cm)], SHIFTS)
    assert table.shape == (1, 41, 1)
    unit = pressed(2 + 6 * np.clip((s_cm - low) / 10, 0, 1))
    assert table[0, :, 0] == pytest.approx(unit * covered(s_cm, low, high), abs=1e-9)


def test_every_turn_presses_its_own_discs() -> None:
    """Two turns, two discs, one of two cells and half under a pad; each pair by itself."""
    strips = band((10.0, 20.0, 0.0, 0.0), (15.0, 25.0, 4.0, 4.0))
    wide = Disc("two cells", np.array([26, 44]), np.array([3, 7]), np.array([0.25, 0.75]), 13.0,
                0.0, 0.5)  # fmt: skip
    table = shifted_unit_table(strips, [cell(12.0, 5), wide], SHIFTS)
    for turn, (low, slope) in enumerate(((10.0, 0.0), (15.0, 4.0))):
        one, low_cell, high_cell = (covered(s, low, low + 10) for s in (12.0, 13.0, 22.0))
        assert table[turn, :, 0] == pytest.approx(pressed(slope) * one, abs=1e-9)
        two = 0.5 * (0.25 * low_cell + 0.75 * high_cell)
        assert table[turn, :, 1] == pytest.approx(pressed(slope) * two, abs=1e-9)


def test_shifts_need_not_lie_evenly_about_none() -> None:
    """A turn from 10 to 20 moved up by 7 to 9 leaves 16 and covers 27 from its middle shift on."""
    strips = band((10.0, 20.0, 0.0, 0.0))
    table = shifted_unit_table(strips, [cell(16.0), cell(27.0)], np.array([5.0, 6.0, 7.0, 8.0]))
    assert table[0].T / pressed(0) == pytest.approx(
        np.array([[1, 0.5, 0, 0], [0, 0, 0.5, 1]]), abs=1e-9
    )


def test_both_rings_a_discs_radius_off_belong_to_the_mean() -> None:
    """20.25 lies 1.25 from rings at 19 and 21.5: six rings of which either is one."""
    tube = round_limb(4)
    for s in (19.0, 21.5):
        one = np.zeros((81, 96))
        one[round(2 * s)] = 6.0
        assert ring_mean_at(tube, one, 20.25) == pytest.approx(1)


# --- the highest disc of a ring ---------------------------------------------------------------


@pytest.mark.parametrize("column", [0, 24, 47, 95])
def test_the_highest_disc_is_found_wherever_it_lies(column: int) -> None:
    """A smooth hill of 60 over 20 mmHg, also across the front line: the disc on its top."""
    tube = round_limb(4)
    off = (tube.angle - tube.angle[column] + np.pi) % (2 * np.pi) - np.pi
    cells = (20 + 40 * np.exp(-0.5 * (off / 0.5) ** 2)) * np.ones((81, 1))
    on_top = disc(tube, "", 20.0, float(tube.angle[column])).mean(cells)
    assert highest_on_ring(tube, cells, 20.0) == pytest.approx(on_top)
    assert on_top > 55


def test_a_peak_narrower_than_a_disc_is_read_over_a_disc() -> None:
    """One column of 96 at 1,000: 0.26 cm of a disc whose chord there is 2.5 cm."""
    tube = round_limb(4)
    cells = np.zeros((81, 96))
    cells[:, 10] = 1000.0
    found = highest_on_ring(tube, cells, 20.0)
    # pi 1.25^2 = 4.91 cm2, of which a strip of 0.262 x 2.5 cm at most.
    assert 0 < found <= 1000 * 0.262 * 2.5 / 4.91 * 1.05


def test_an_even_ring_has_no_higher_place_and_other_heights_do_not_count() -> None:
    tube = round_limb(4)
    cells = np.full((81, 96), 30.0)
    cells[:30] = cells[51:] = 90.0
    assert highest_on_ring(tube, cells, 20.0) == pytest.approx(30)
