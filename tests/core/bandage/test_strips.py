import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaiter.core.bandage.coverage import cell_area_cm2, thicknesses
from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import Pattern
from gaiter.core.bandage.strips import lay
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.plan.laying import BandagedLeg, Geometry, Padding
from gaiter.core.pressure.laplace import thicknesses_from_overlap
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
