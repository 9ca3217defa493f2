from dataclasses import replace

import numpy as np
import pytest

from gaiter.core.bandage.coverage import cell_area_cm2, gaps, patches, thicknesses
from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import Pattern, Waypoint, waypoints
from gaiter.core.bandage.strips import lay
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.tube import round_limb
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.padded_leg import BandagedLeg, Padding
from tests.core.bandage.test_path import cylinder
from tests.strategies import percentile_leg, random_leg


def test_a_narrow_bandage_without_overlap_leaves_gaps_that_are_named() -> None:
    surface = leg_surface(percentile_leg(Sex.MALE, 1))
    points = waypoints(surface, Pattern.SPIRAL, 10.0, 0.0)
    strips = lay(surface, faired_path(surface, points), 5.0)
    found = gaps(surface, (strips,))
    assert found
    assert all(gap.place for gap in found)
    assert [gap.area_cm2 for gap in found] == sorted((gap.area_cm2 for gap in found), reverse=True)


def test_a_patch_across_the_front_line_is_one_patch() -> None:
    surface = leg_surface(percentile_leg(Sex.MALE, 1))
    cells = np.zeros(surface.section_cm.shape[1:], bool)
    cells[200:220, :6] = cells[200:220, -6:] = True
    found = patches(surface, cells)
    assert len(found) == 1
    assert found[0].place == "front of the calf"


# --- areas on a cylinder of radius 4 cm, in closed form -------------------------------------

PLACES = {
    Landmark.METATARSAL_HEADS: 1.0, Landmark.INSTEP: 3.0, Landmark.HEEL_INSTEP: 5.0,
    Landmark.ANKLE: 7.0, Landmark.GAITER: 9.0, Landmark.CALF: 36.0, Landmark.BELOW_KNEE: 38.0,
}  # fmt: skip
# Rings 40/299 cm apart; a full ring is 2 pi 4 = 25.13 cm round.
RING_CM2 = 2 * np.pi * 4 * 40 / 299


def surface_and_cells():
    surface = cylinder(landmarks=PLACES)
    return surface, np.zeros(surface.section_cm.shape[1:], bool)


def test_every_cell_has_its_share_of_the_cylinder() -> None:
    area = cell_area_cm2(cylinder())
    assert area == pytest.approx(np.full(area.shape, RING_CM2 / 96), rel=1e-3)


def test_cells_of_a_chart_that_starts_elsewhere_are_as_large() -> None:
    surface = cylinder()
    area = cell_area_cm2(replace(surface, s_cm=surface.s_cm + 7))
    assert area == pytest.approx(np.full(area.shape, RING_CM2 / 96), rel=1e-3)


def test_parts_are_found_largest_first_with_their_area_and_name() -> None:
    surface, cells = surface_and_cells()
    # 15 rings of a quarter at the inner side, 30 rings of an eighth at the back, both on the calf.
    cells[100:115, 12:36] = True
    cells[150:180, 42:54] = True
    cells[120:150, 42:46] = True
    (
        first,
        second,
    ) = sorted(patches(surface, cells), key=lambda one: -one.area_cm2)
    assert first.area_cm2 == pytest.approx(RING_CM2 * (30 / 8 + 30 / 24), rel=1e-3)
    assert second.area_cm2 == pytest.approx(RING_CM2 * 15 / 4, rel=1e-3)
    assert patches(surface, cells)[0].area_cm2 == first.area_cm2
    assert second.place == "inner side of the calf"
    assert first.cells.sum() == 30 * 12 + 30 * 4


def test_two_parts_on_either_side_of_the_front_line_are_joined_only_where_they_meet() -> None:
    surface, cells = surface_and_cells()
    cells[100:110, :8] = True
    cells[105:115, -8:] = True
    cells[200:210, -8:] = True
    found = patches(surface, cells)
    assert len(found) == 2
    assert found[0].area_cm2 == pytest.approx(2 * 10 * 8 / 96 * RING_CM2, rel=1e-3)


def test_slivers_under_half_a_square_centimetre_are_left_out() -> None:
    surface, cells = surface_and_cells()
    # A cell is 0.0350 cm2: 14 are 0.490, 15 are 0.525.
    cells[100, 10:24] = True
    assert patches(surface, cells) == ()
    cells[100, 24] = True
    assert len(patches(surface, cells)) == 1
    assert patches(surface, cells, least_cm2=0.6) == ()


def test_what_no_turn_covers_between_start_and_end_is_a_gap() -> None:
    """Level turns 8 cm wide about 10 and 25: bare from 1 to 6, 14 to 21, 29 to 38."""
    surface = cylinder(landmarks=PLACES)
    strips = tuple(
        lay(
            surface,
            faired_path(surface, tuple(Waypoint(t, s, 1e-3) for t in (0, 0.25, 0.5, 0.75, 1.0))),
            8.0,
        )
        for s in (10.0, 25.0)
    )
    found = gaps(surface, strips)
    round_cm = 2 * np.pi * 4
    # One ring more or less at an end is 3.4 cm2.
    assert [gap.area_cm2 for gap in found] == pytest.approx(
        [9 * round_cm, 7 * round_cm, 5 * round_cm], abs=3.4
    )


def test_an_edge_that_covers_half_a_cell_covers_it() -> None:
    """Thicknesses at the edge of a level turn are the share of the ring that it covers."""
    surface = cylinder(landmarks=PLACES)
    level = tuple(Waypoint(t, 20.0, 1e-3) for t in (0, 0.25, 0.5, 0.75, 1.0))
    covered = thicknesses(lay(surface, faired_path(surface, level), 8.0))
    total = covered[:, 48].sum() * 40 / 299
    assert total == pytest.approx(8.0, abs=0.02)
    assert covered.max() == pytest.approx(1.0, abs=1e-6)


def test_single_columns_on_either_side_of_the_front_line_are_one_patch() -> None:
    """A third one that touches neither is a patch of its own."""
    surface, cells = surface_and_cells()
    cells[100:130, 0] = cells[120:140, -1] = True
    cells[100:125, 2] = True
    found = patches(surface, cells)
    cell_cm2 = RING_CM2 / 96
    assert [one.area_cm2 for one in found] == pytest.approx(
        [50 * cell_cm2, 25 * cell_cm2], rel=1e-3
    )
    assert found[0].cells.sum() == 50


def test_rings_at_start_and_end_count_and_those_covered_for_more_than_half_do_not() -> None:
    """Rings half a centimetre apart, bandaged from 5 to 30 cm: 51 rings.

    A level turn 4.02 cm wide about 17.5 covers 0.52 of the rings at 15.5 and 19.5: 9 rings.
    """
    tube = round_limb(4).between(Landmark.INSTEP, Landmark.CALF)
    level = tuple(Waypoint(t, 17.5, 1e-3) for t in (0, 0.25, 0.5, 0.75, 1.0))
    found = gaps(tube, (lay(tube, faired_path(tube, level), 4.02),))
    assert [gap.area_cm2 for gap in found] == pytest.approx([21 * 0.5 * 8 * np.pi] * 2, rel=1e-3)
    rings = sorted(np.flatnonzero(gap.cells.any(axis=1)).tolist() for gap in found)
    assert rings == [list(range(10, 31)), list(range(40, 61))]


def test_no_gap_on_legs_drawn_from_the_published_regressions() -> None:
    """Half-overlap layers leave the heel covered on the following turn."""
    rng = np.random.default_rng(11)
    for number in range(40):
        padded_leg = BandagedLeg(random_leg(rng, list(Sex)[number % 2])).under(Padding(0.28))
        for pattern in Pattern:
            laid = padded_leg.laid(Geometry(pattern, 0.5, 10.0))
            found = gaps(padded_leg.surface, (laid.strips,))
            assert sum(gap.area_cm2 for gap in found if gap.place == "heel") == 0
            # Elsewhere at most a sliver of two square centimetres at an edge.
            assert sum(gap.area_cm2 for gap in found) < 2, (number, pattern, found)
