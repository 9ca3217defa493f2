"""The maximum of every place, worked out by hand for each bound."""

import pytest

from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.body_model import BONY_PLACES
from gaiter.core.plan.maxima import Maxima, maxima_of, place_maxima
from gaiter.core.policy import Policy
from gaiter.core.safety import decide
from tests.strategies import case, with_pressures


@pytest.mark.parametrize(
    ("leg", "bound", "expected"),
    [
        # Shipped policy: ankle 1.3 times a full maximum, foot 60, bony twice the leg's but at
        # most 120.
        (60, None, (60, 78, 60, 120)),
        # What lowers the leg's maximum holds at the ankle as it is.
        (59, None, (59, 59, 59, 118)),
        (40, None, (40, 40, 40, 80)),
        (20, None, (20, 20, 20, 40)),
        # Toe 31: nothing anywhere is allowed more than 31.
        (40, 31, (31, 31, 31, 31)),
        (60, 100, (60, 78, 60, 100)),
        (60, 70, (60, 70, 60, 70)),
        (60, 55, (55, 55, 55, 55)),
        (40, 70, (40, 40, 40, 70)),
    ],
)
def test_the_least_of_leg_policy_and_arteries(leg, bound, expected, policy: Policy) -> None:
    maxima = place_maxima(leg, bound, policy)
    assert maxima == Maxima(*expected)


def test_policy_may_guard_foot_and_bone_more(policy: Policy) -> None:
    values = dict(policy.values)
    for name, value in (("foot_maximum_mmhg", 45.0), ("bony_place_maximum_mmhg", 70.0)):
        values[name] = values[name].model_copy(update={"value": value})
    maxima = place_maxima(60, None, policy.model_copy(update={"values": values}))
    assert maxima == Maxima(60, 78, 45, 70)


def test_every_named_place_has_one(policy: Policy) -> None:
    maxima = place_maxima(50, 90, policy)
    foot = {Landmark.METATARSAL_HEADS, Landmark.INSTEP}
    for landmark in Landmark:
        assert maxima.of(landmark.label) == 50
    values = dict(policy.values)
    values["foot_maximum_mmhg"] = values["foot_maximum_mmhg"].model_copy(update={"value": 30.0})
    stricter = place_maxima(50, 90, policy.model_copy(update={"values": values}))
    for landmark in Landmark:
        assert stricter.of(landmark.label) == (30 if landmark in foot else 50)
    for place in BONY_PLACES:
        assert maxima.of(place.name) == 90


def test_a_toe_at_51_bounds_what_bone_may_have(policy: Policy) -> None:
    """A toe index of 51/130 leaves 40 at the gaiter; over bone 51 instead of twice that."""
    maxima = maxima_of(decide(with_pressures(130, 130, 51), policy).legs[Side.RIGHT], policy)
    assert maxima == Maxima(40, 40, 40, 51)


def test_a_toe_at_31_stops_and_leaves_no_maximum(policy: Policy) -> None:
    decision = decide(with_pressures(130, 92, 31), policy).legs[Side.RIGHT]
    with pytest.raises(ValueError, match="no place has a maximum on a leg that is: "):
        maxima_of(decision, policy)


def test_a_leg_that_may_not_be_compressed_has_none(policy: Policy) -> None:
    decision = decide(case(**{"legs.right.findings.rest_pain": True}), policy).legs[Side.RIGHT]
    with pytest.raises(ValueError, match="no place has a maximum"):
        maxima_of(decision, policy)
