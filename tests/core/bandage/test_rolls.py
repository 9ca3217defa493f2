import pytest

from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import Pattern
from gaiter.core.bandage.rolls import rolls_for
from gaiter.core.bandage.strips import lay
from gaiter.core.case.person import Sex
from gaiter.core.plan.laying import BandagedLeg, Geometry, Padding
from tests.core.bandage.test_path import climb, cylinder
from tests.strategies import percentile_leg


@pytest.mark.parametrize("sex", list(Sex))
def test_herringbone_on_the_median_leg_needs_two_rolls_of_four_and_a_half_metres(sex: Sex) -> None:
    """Common practice, no source: two 10 cm x 4.5 m (stretched) rolls do, one falls short."""
    padded_leg = BandagedLeg(percentile_leg(sex, 1)).under(Padding(0.28))
    strips = padded_leg.laid(Geometry(Pattern.HERRINGBONE, 0.5, 10.0)).strips
    rolls = rolls_for(strips, 0.0, 450.0)
    assert rolls.count == 2
    assert rolls.length_cm > 450


def test_relaxed_length_and_spare() -> None:
    strips = lay(cylinder(), faired_path(cylinder(), climb(3, 5.0)), 8.0)
    rolls = rolls_for(strips, 0.5, 400.0)
    assert rolls.count == 1
    assert rolls.relaxed_length_cm == pytest.approx(rolls.length_cm / 1.5)
    assert rolls.spare_cm == pytest.approx(400 - rolls.length_cm / 1.5)


def test_joins_keep_off_shin_ankle_and_heel() -> None:
    padded_leg = BandagedLeg(percentile_leg(Sex.MALE, 2)).under(Padding(0.28))
    strips = padded_leg.laid(Geometry(Pattern.HERRINGBONE, 0.5, 10.0)).strips
    for length in range(120, 400, 20):
        for join in rolls_for(strips, 0.0, float(length)).joins:
            assert "front" not in join, join
            assert "ankle" not in join, join
            assert "heel" not in join, join


def test_refusals() -> None:
    padded_leg = BandagedLeg(percentile_leg(Sex.MALE, 1)).under(Padding(0.0))
    strips = padded_leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0)).strips
    with pytest.raises(ValueError, match="relaxed roll longer than 10 cm; received 0 and 5 cm"):
        rolls_for(strips, 0.0, 5.0)
