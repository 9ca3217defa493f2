import numpy as np
import pytest

from gaiter.core.bandage.path import Path, faired_path
from gaiter.core.bandage.pattern import Pattern
from gaiter.core.bandage.rolls import rolls_for
from gaiter.core.bandage.strips import lay
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.surface import points_at
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.padded_leg import BandagedLeg, Padding
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
    padded_leg = BandagedLeg(percentile_leg(Sex.MALE, 1)).under(Padding(0.28))
    strips = padded_leg.laid(Geometry(Pattern.HERRINGBONE, 0.5, 10.0)).strips
    for length in range(120, 400, 20):
        for join in rolls_for(strips, 0.0, float(length)).joins:
            assert "front" not in join, join
            assert "ankle" not in join, join
            assert "heel" not in join, join


def test_a_join_is_not_at_45_degrees_by_rounding() -> None:
    """Samples stand every 7.5 degrees, one of them where the front ends."""
    for sex, index in ((Sex.FEMALE, 0), (Sex.FEMALE, 1), (Sex.MALE, 0)):
        padded_leg = BandagedLeg(percentile_leg(sex, index)).under(Padding(0.28))
        strips = padded_leg.laid(Geometry(Pattern.HERRINGBONE, 0.5, 10.0)).strips
        for length in (180.0, 380.0):
            assert not [one for one in rolls_for(strips, 0.0, length).joins if "front" in one]


def test_refusals() -> None:
    padded_leg = BandagedLeg(percentile_leg(Sex.MALE, 1)).under(Padding(0.0))
    strips = padded_leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0)).strips
    with pytest.raises(ValueError, match="relaxed roll longer than 10 cm; received 0 and 5 cm"):
        rolls_for(strips, 0.0, 5.0)


# --- a helix on a cylinder: 25.6 cm a turn, all of it on the calf, worked out by hand ---------

PLACES = {
    Landmark.METATARSAL_HEADS: -9.0, Landmark.INSTEP: -8.0, Landmark.HEEL_INSTEP: -7.0,
    Landmark.ANKLE: -6.0, Landmark.GAITER: -5.0, Landmark.CALF: 60.0, Landmark.BELOW_KNEE: 61.0,
}  # fmt: skip
TURN_CM = np.hypot(2 * np.pi * 4, 5.0)
# A sample every forty-eighth of a turn; the two ends count half.
SAMPLE_CM = TURN_CM / 48


def helix(landmarks=PLACES):
    surface = cylinder(landmarks=landmarks)
    return lay(surface, faired_path(surface, climb(6, 5.0)), 8.0)


def test_one_roll_has_no_join_and_leaves_the_rest() -> None:
    rolls = rolls_for(helix(), 0.25, 200.0)
    assert (rolls.count, rolls.joins) == (1, ())
    assert rolls.length_cm == pytest.approx(6 * TURN_CM, rel=1e-3)
    assert rolls.relaxed_length_cm == pytest.approx(6 * TURN_CM / 1.25, rel=1e-3)
    assert rolls.spare_cm == pytest.approx(200 - 6 * TURN_CM / 1.25, abs=0.2)


def test_the_next_roll_starts_five_centimetres_before_a_join_clear_of_the_shin() -> None:
    """100 cm end at 3.90 turns, 36 degrees off the front: back to the first beyond 45 degrees.

    That is 41 forty-eighths of the fourth turn, 52.5 degrees off it, at the inner side.
    """
    rolls = rolls_for(helix(), 0.0, 100.0)
    joined_at = 3 * TURN_CM + 41.5 * SAMPLE_CM
    assert [join.text for join in rolls.joins] == ["turn 4, inner side of the calf"]
    assert rolls.count == 2
    assert rolls.relaxed_length_cm == pytest.approx(6 * TURN_CM + 5, rel=1e-3)
    # The second roll starts 5 cm before it.
    assert rolls.spare_cm == pytest.approx(joined_at - 5 + 100 - 6 * TURN_CM, abs=0.2)


def test_a_join_away_from_the_shin_stays_where_the_roll_ends() -> None:
    """115 cm end at 4.49 turns, at the back: the last whole sample before is where it is joined."""
    rolls = rolls_for(helix(), 0.0, 115.0)
    whole = np.floor(115 / SAMPLE_CM - 0.5) + 0.5
    assert [join.text for join in rolls.joins] == ["turn 5, back of the calf"]
    assert rolls.spare_cm == pytest.approx(whole * SAMPLE_CM - 5 + 115 - 6 * TURN_CM, abs=0.2)


def test_a_wound_moves_a_join_five_centimetres_away() -> None:
    """A point on the path 2 cm before the end of the roll: 3 cm further on lies too near too.

    Ten samples before it, 75 degrees, the chord is sqrt((8 sin 37.5)^2 + (5 / 4.8)^2) = 4.98 cm,
    eleven before it, 82.5 degrees, 5.40 cm.
    """
    strips = helix()
    covered = np.cumsum(strips.path.step_cm)
    wound_sample = int(np.searchsorted(covered, 113.0))
    wound = points_at(strips.surface, strips.path.s_cm, strips.path.angle)[wound_sample]
    rolls = rolls_for(strips, 0.0, 115.0, keep_off_cm=wound)
    joined_at = covered[wound_sample - 11]
    assert rolls.spare_cm == pytest.approx(joined_at - 5 + 115 - covered[-1], abs=0.1)


def test_the_shin_ends_45_degrees_from_its_front() -> None:
    """Samples 7.5 degrees apart, begun at seven: before the front they lie at 45.5, 38, 30.5.

    The first roll of four turns ends on the last of these in its third turn.
    """
    turn = 7 / 360 + np.arange(4 * 48 + 1) / 48
    even = np.ones_like(turn)
    path = Path(turn, 8 + 5 * turn, -5 / (2 * np.pi) * even, 0 * turn, SAMPLE_CM * even)
    clear = 2 * 48 + 41
    assert np.rad2deg(path.angle[clear : clear + 3]) % 360 == pytest.approx([45.5, 38, 30.5])
    roll_cm = (clear + 3.5) * SAMPLE_CM
    rolls = rolls_for(lay(cylinder(landmarks=PLACES), path, 8.0), 0.0, roll_cm)
    joined_at = (clear + 1) * SAMPLE_CM
    assert rolls.joins[0].text == "turn 3, inner side of the calf"
    assert rolls.spare_cm == pytest.approx(joined_at - 5 + roll_cm - len(turn) * SAMPLE_CM)


def test_joins_keep_off_ankle_and_heel_by_name() -> None:
    """The same helix with its fourth turn at the ankle: the join goes back below the ankle."""
    ankle = {**PLACES, Landmark.HEEL_INSTEP: 25.5, Landmark.ANKLE: 38.0, Landmark.GAITER: 50.0}
    rolls = rolls_for(helix(ankle), 0.0, 101.0)
    (join,) = rolls.joins
    assert "ankle" not in join
    assert "heel" not in join
    # On the whole turn before the roll's end nothing is clear where everything is ankle.
    everywhere = {**PLACES, Landmark.HEEL_INSTEP: -20.0, Landmark.ANKLE: 60.0}
    everywhere[Landmark.GAITER] = everywhere[Landmark.CALF] = 61.0
    latest = rolls_for(helix(everywhere), 0.0, 115.0)
    whole = np.floor(115 / SAMPLE_CM - 0.5) + 0.5
    assert latest.spare_cm == pytest.approx(whole * SAMPLE_CM - 5 + 115 - 6 * TURN_CM, abs=0.2)


def test_another_width_begins_with_a_new_roll_where_it_must() -> None:
    """Cut at two and a half turns: the rest of the first roll is not the second's."""
    rolls = rolls_for(helix(), 0.0, 200.0, cut_turn=2.5)
    assert rolls.count == 2
    assert [join.text for join in rolls.joins] == ["turn 3, back of the calf"]
    assert rolls.spare_cm == pytest.approx(
        2.5 * TURN_CM + SAMPLE_CM / 2 - 5 + 200 - 6 * TURN_CM, abs=0.2
    )
    assert rolls.relaxed_length_cm == pytest.approx(6 * TURN_CM + 5, rel=1e-3)


def test_a_cut_within_the_first_join_makes_no_roll_of_its_own() -> None:
    assert rolls_for(helix(), 0.0, 200.0, cut_turn=0.1).count == 1


def test_stretch_by_sample_counts_where_it_lies() -> None:
    strips = helix()
    stretch = np.where(strips.path.turn < 3, 0.0, 1.0)
    expected = 3 * TURN_CM + 3 * TURN_CM / 2
    assert rolls_for(strips, stretch, 500.0).relaxed_length_cm == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize(("stretch", "roll"), [(-0.01, 200.0), (0.0, 10.0)])
def test_a_negative_stretch_and_a_roll_no_longer_than_its_joins_are_refused(stretch, roll) -> None:
    with pytest.raises(ValueError, match="stretch must be 0 or more and a relaxed roll longer"):
        rolls_for(helix(), stretch, roll)


def test_a_roll_just_as_long_as_the_layer_does() -> None:
    strips = helix()
    length = float(np.cumsum(strips.path.step_cm)[-1])
    assert rolls_for(strips, 0.0, length).count == 1
    assert rolls_for(strips, 0.0, length - 0.01).count == 2


def test_a_roll_shorter_than_a_turn_is_never_joined_before_its_own_start() -> None:
    """Of 11 cm at most 6 lie beyond the join before: 153.7 cm are 25 rolls or more, one by one."""
    rolls = rolls_for(helix(), 0.0, 11.0)
    turns = [int(join.text.split(",")[0].removeprefix("turn ")) for join in rolls.joins]
    assert turns == sorted(turns)
    # The first roll covers 11 cm, every other at most 6 more.
    assert rolls.count >= 1 + np.ceil((6 * TURN_CM - 11) / 6)
    assert rolls.relaxed_length_cm == pytest.approx(6 * TURN_CM + 5 * len(rolls.joins), rel=1e-3)


@pytest.mark.parametrize(("sample", "count"), [(8, 1), (9, 2)])
def test_the_first_sample_beyond_the_overlap_may_be_cut_at(sample: int, count: int) -> None:
    """Up to sample n lie n and a half lengths of 0.534 cm: 4.54 cm at 8, 5.07 cm at 9."""
    assert rolls_for(helix(), 0.0, 200.0, cut_turn=sample / 48).count == count


def test_the_last_sample_of_a_roll_is_cut_at_even_on_the_shin() -> None:
    """A roll of 97 samples' lengths ends at the front of turn 3, where another width begins."""
    rolls = rolls_for(helix(), 0.0, 97 * SAMPLE_CM, cut_turn=2.0)
    assert rolls.joins[0].text == "turn 3, front of the calf"


def test_a_cut_beyond_the_end_of_the_layer_is_none() -> None:
    assert rolls_for(helix(), 0.0, 200.0, cut_turn=6.5).count == 1
