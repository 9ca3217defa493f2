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
from gaiter.core.plan.laying import BandagedLeg, Geometry, Padding
from gaiter.core.pressure.discs import disc
from gaiter.core.pressure.laplace import ring_mean_mmhg
from gaiter.core.pressure.surface_map import ring_mean, shifted_unit_table, unit_map
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
