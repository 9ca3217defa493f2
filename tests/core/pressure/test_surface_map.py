from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import Pattern, Waypoint
from gaiter.core.bandage.strips import lay
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.surface import Surface
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.padded_leg import BandagedLeg, Padding
from gaiter.core.pressure.discs import disc
from gaiter.core.pressure.laplace import ring_mean_mmhg
from gaiter.core.pressure.surface_map import (
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
    """One level turn at each place: 0.58 on the mean leg of ANSUR II."""
    low, mean, high = GORDON["calf_over_ankle_pressure_at_constant_tension"][
        {Sex.MALE: "men", Sex.FEMALE: "women"}[sex]
    ]
    surface = leg_surface(percentile_leg(sex, 1))
    found = {}
    for landmark in (Landmark.CALF, Landmark.ANKLE):
        s = surface.landmark_s_cm[landmark]
        level = tuple(Waypoint(t, s, 1e-3) for t in np.arange(0, 1.01, 0.25))
        strips = lay(surface, faired_path(surface, level), 4.0)
        ring = int(np.argmin(np.abs(surface.s_cm - s)))
        found[landmark] = ring_mean(surface, unit_map(strips))[ring]
    ratio = found[Landmark.CALF] / found[Landmark.ANKLE]
    assert low < ratio < high
    # Median girths stand for the mean leg, and between its waypoints the turn sags a little.
    assert ratio == pytest.approx(mean, rel=0.05)


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

MMHG_CM2_PER_N = 75.0062


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


def test_a_turn_off_the_grid_is_none() -> None:
    strips = level(cylinder(4.0), 20.0)
    assert turn_pressure(strips, 0) is not None
    beyond = replace(strips, lane_s_cm=strips.lane_s_cm + 60)
    part = turn_pressure(beyond, 0)
    assert part is None or not part.unit_mmhg[:-1].size


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
