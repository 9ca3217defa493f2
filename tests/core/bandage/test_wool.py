from dataclasses import replace

import numpy as np
import pytest

from gaiter.core.bandage.wool import LEAST_ANKLE_CM, Build, build_for, wool_build
from gaiter.core.case.person import Sex
from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.build import leg_surface
from gaiter.core.plan import plan
from gaiter.core.policy import Policy
from tests.strategies import case, percentile_leg

EVEN, LAYER = 0.28, 0.28


def thin_leg():
    measured = percentile_leg(Sex.FEMALE, 0)
    girth = {**measured.girth_cm, Landmark.ANKLE: 15.5, Landmark.GAITER: 18.0}
    return leg_surface(replace(measured, girth_cm=girth))


def test_a_thin_ankle_is_built_up_to_18_cm() -> None:
    bare = thin_leg()
    built = wool_build(Build.THIN_ANKLE, bare, EVEN, LAYER, 10.0)
    padded = bare.padded(EVEN + built.extra_cm)
    assert padded.girth_at_cm(Landmark.ANKLE) == pytest.approx(LEAST_ANKLE_CM, abs=0.2)
    assert built.turns > 0
    assert "tape reads 18 cm" in built.text
    assert built.extra_cm[-1] == pytest.approx(0, abs=0.01)


def test_an_inverted_bottle_becomes_a_cone() -> None:
    bare = thin_leg()
    built = wool_build(Build.CONE, bare, EVEN, LAYER, 10.0)
    padded = bare.padded(EVEN + built.extra_cm)
    ankle, gaiter, calf = (
        padded.girth_at_cm(m) for m in (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF)
    )
    places = bare.landmark_s_cm
    way = (places[Landmark.GAITER] - places[Landmark.ANKLE]) / (
        places[Landmark.CALF] - places[Landmark.ANKLE]
    )
    straight = ankle + way * (calf - ankle)
    before = bare.girth_at_cm(Landmark.GAITER) + 2 * np.pi * EVEN
    # Most of the hollow is filled; what is left is the largest build and the smoothing.
    assert abs(straight - gaiter) < 0.35 * abs(straight - before) + 0.5


def test_an_ordinary_ankle_needs_no_build() -> None:
    bare = leg_surface(percentile_leg(Sex.MALE, 1))
    assert build_for(case().legs[Side.RIGHT], bare, EVEN) is Build.EVEN
    assert not wool_build(Build.EVEN, bare, EVEN, LAYER, 10.0).extra_cm.any()


def test_a_leg_that_needs_too_much_wool_says_how_much_is_missing() -> None:
    bare = thin_leg()
    bottle = replace(bare, section_cm=bare.section_cm * np.where(bare.s_cm < 30, 0.6, 1.6)[:, None])
    assert wool_build(Build.CONE, bottle, 0.0, LAYER, 10.0).short_cm > 0


def test_the_plan_says_how_many_turns_where(policy: Policy, catalogue: Catalogue) -> None:
    made = plan(
        case(
            **{
                "legs.right.girth_cm": {
                    "metatarsal_heads": 19.5, "instep": 20.5, "heel_instep": 27.0, "ankle": 15.5,
                    "gaiter": 18.5, "calf": 28.0, "below_knee": 26.0,
                }
            }
        ),
        policy,
        catalogue,
        samples=256,
    )  # fmt: skip
    system = made.legs[Side.RIGHT].systems[0]
    assert system.padding.build is Build.THIN_ANKLE
    assert "round the ankle" in system.padding.text


def test_wool_for_the_build_is_taken_from_stock(policy: Policy, catalogue: Catalogue) -> None:
    """The same leg as an inverted bottle takes more wool than as it is seen."""
    girth = {
        "metatarsal_heads": 22.0, "heel_instep": 31.0, "ankle": 18.0, "gaiter": 21.0,
        "calf": 40.0, "below_knee": 37.0,
    }  # fmt: skip
    rolls = []
    for shape in ("ordinary", "inverted bottle"):
        changes = {"legs.right.girth_cm": girth, "legs.right.findings.shape": shape}
        made = plan(case(**changes), policy, catalogue, samples=256)
        supplies = made.legs[Side.RIGHT].systems[0].supplies
        rolls.append(int(next(s for s in supplies if "wool" in s.material).now.split()[0]))
    assert rolls[1] > rolls[0]
