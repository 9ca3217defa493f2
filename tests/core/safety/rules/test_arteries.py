"""What pressures allow, by hand: the arm is 100 mmHg, so that an index is a pressure's hundredth.

Limits: NICE CKS and ACC/AHA 2024 (1.3 and 1.4 stiff), ACC/AHA 2016 and 2024 (toe index 0.70),
TASC (toe pressure 50 mmHg); the ankle's margin of 30 mmHg is our choice.
"""

import pytest

from gaiter.core.safety.rule import Scene
from gaiter.core.safety.rules.arteries import (
    ankle_allows_mmhg,
    arterial_bound_mmhg,
    compressible,
    small_vessels_tested,
    toe_is_normal,
    what_to_measure,
)

ANKLE, TOE, OXYGEN = (f"leg.arterial.{name}_mmhg" for name in ("posterior_tibial", "toe", "tcpo2"))
NO_TOES = {"leg.findings.forefoot_amputation": True}


@pytest.fixture
def scene(policy):
    return lambda **answers: Scene.where(
        {"arms.left_mmhg": 100, **{PATHS.get(name, name): v for name, v in answers.items()}}, policy
    )


PATHS = {"ankle": ANKLE, "toe": TOE, "oxygen": OXYGEN}


@pytest.mark.parametrize(
    ("ankle", "toe", "left"),
    [
        (90, None, 60),
        (130, None, 100),  # 1.30 is not above it
        (131, None, None),
        (131, 90, 101),
        (140, 90, 110),  # 1.40 is not above it
        (141, 90, None),
    ],
)
def test_the_ankle_leaves_its_pressure_less_thirty_where_it_means_anything(
    scene, ankle, toe, left
) -> None:
    given = {"ankle": ankle} | ({"toe": toe} if toe else {})
    assert ankle_allows_mmhg(scene(**given)) == left
    assert compressible(scene(**given).numbers, 1.3, 1.4) is (left is not None)


def test_without_an_ankle_it_allows_nothing_and_means_nothing(scene) -> None:
    assert ankle_allows_mmhg(scene()) is None
    assert compressible(scene().numbers, 1.3, 1.4) is False


@pytest.mark.parametrize(
    ("given", "bound"),
    [
        ({"ankle": 90, "toe": 45}, 45),
        ({"ankle": 90, "toe": 75}, 60),
        ({"ankle": 141, "toe": 90}, 90),
        ({"toe": 45}, 45),
        ({}, None),
    ],
)
def test_the_lowest_pressure_that_counts_bounds_the_bandage(scene, given, bound) -> None:
    assert arterial_bound_mmhg(scene(**given)) == bound


@pytest.mark.parametrize(
    ("arm", "toe", "normal"),
    [(100, 71, True), (100, 70, False), (60, 51, True), (60, 50, False), (100, None, False)],
)
def test_a_toe_is_normal_above_both_limits(policy, arm, toe, normal) -> None:
    answers = {"arms.left_mmhg": arm} | ({TOE: toe} if toe else {})
    assert toe_is_normal(Scene.where(answers, policy)) is normal


def test_oxygen_stands_in_only_where_no_toe_is_left(scene, policy) -> None:
    assert small_vessels_tested(scene(toe=90))
    assert not small_vessels_tested(scene(oxygen=45))
    assert small_vessels_tested(Scene.where({OXYGEN: 45, **NO_TOES}, policy))
    assert what_to_measure(scene()).text == "toe pressure"
    assert what_to_measure(Scene.where(NO_TOES, policy)).text.startswith("oxygen at the skin")
