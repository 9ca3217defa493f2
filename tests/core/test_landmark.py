"""Places of the leg in their order, and which of them what is done at."""

import pytest

from gaiter.core.landmark import (
    ENDS,
    FOOT_SITES,
    HABIT_HEIGHTS,
    LEG_SITES,
    Landmark,
    Side,
)
from gaiter.files.example_bench import example_bench


@pytest.mark.parametrize(
    ("landmark", "label"),
    [
        (Landmark.METATARSAL_HEADS, "metatarsal heads"),
        (Landmark.INSTEP, "instep"),
        # Round the heel and over the instep: a girth between two places.
        (Landmark.HEEL_INSTEP, "heel–instep"),
        (Landmark.ANKLE, "ankle"),
        (Landmark.GAITER, "gaiter"),
        (Landmark.CALF, "calf"),
        (Landmark.BELOW_KNEE, "below knee"),
    ],
)
def test_a_place_is_named_for_a_reader(landmark, label) -> None:
    assert landmark.label == label


def test_the_order_is_from_the_toes_to_the_knee_on_a_leg() -> None:
    along = example_bench().plan.legs[Side.RIGHT].surface.s_cm
    on_leg = [along[landmark] for landmark in Landmark if landmark in along]
    assert len(on_leg) >= 6
    assert on_leg == sorted(on_leg)


def test_every_place_but_the_heel_is_of_foot_or_leg() -> None:
    assert [*FOOT_SITES, Landmark.HEEL_INSTEP, *LEG_SITES] == list(Landmark)


def test_hands_are_known_and_a_bandage_ends_at_places_up_the_leg() -> None:
    assert set(HABIT_HEIGHTS) < set(LEG_SITES)
    # At the gaiter a sensor is read, not a mark.
    assert Landmark.GAITER not in HABIT_HEIGHTS
    # The usual end comes first.
    assert ENDS == (Landmark.BELOW_KNEE, Landmark.CALF)


def test_a_side_is_the_word_of_a_document() -> None:
    assert [side.value for side in Side] == ["right", "left"]
    assert f"{Side.LEFT} leg" == "left leg"
