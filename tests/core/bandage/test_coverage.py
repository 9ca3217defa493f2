import numpy as np

from gaiter.core.bandage.coverage import gaps, patches
from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import Pattern, waypoints
from gaiter.core.bandage.strips import lay
from gaiter.core.case.person import Sex
from gaiter.core.leg.build import leg_surface
from gaiter.core.plan.laying import BandagedLeg, Geometry, Padding
from tests.strategies import percentile_leg, random_leg


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
