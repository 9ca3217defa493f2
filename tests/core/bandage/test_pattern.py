import pytest

from gaiter.core.bandage.pattern import Pattern, waypoints
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from tests.strategies import percentile_leg


@pytest.mark.parametrize("pattern", list(Pattern))
def test_from_the_metatarsal_heads_to_just_below_the_knee(pattern: Pattern) -> None:
    surface = leg_surface(percentile_leg(Sex.FEMALE, 1))
    points = waypoints(surface, pattern, 10.0, 0.5)
    turns = [point.turn for point in points]
    assert turns == sorted(turns)
    assert points[0].s_cm - 5 < surface.landmark_s_cm[Landmark.METATARSAL_HEADS]
    # The upper edge, 5 cm above the middle, reaches the end.
    assert points[-1].s_cm + 5 == pytest.approx(surface.end_s_cm, abs=0.6)


@pytest.mark.parametrize("overlap", [-0.1, 0.95])
def test_impossible_overlap_is_refused(overlap: float) -> None:
    surface = leg_surface(percentile_leg(Sex.FEMALE, 1))
    with pytest.raises(ValueError, match="overlap must be 0 to 0.9 of the width; received"):
        waypoints(surface, Pattern.SPIRAL, 10.0, overlap)
