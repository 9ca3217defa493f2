"""A plan in force beside the same bandage on the leg of today."""

import pytest

from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import bench_of
from gaiter.core.plan.changes import ChangeCode, as_recorded, largest_girth_change, plan_change
from tests.strategies import case

GIRTH = "legs.right.girth_cm."


@pytest.fixture(scope="module")
def bench(policy, catalogue):
    def made(**changes):
        return bench_of(case(**changes), policy, catalogue, samples=512)

    return made


def changed(bench, **changes):
    then = bench().plan.legs[Side.RIGHT]
    later = bench(**changes)
    _ = later.plan
    now = later.adjusted(Side.RIGHT, as_recorded(then.systems[0])).leg
    return plan_change(then, now, 0.05)


def test_an_unchanged_leg_is_still_right(bench) -> None:
    change = changed(bench)
    assert change.code is ChangeCode.STILL_RIGHT
    assert change.now_mmhg == pytest.approx(change.before_mmhg, abs=0.5)
    assert change.sentence.startswith("still right: likely ")


def test_a_smaller_leg_is_pressed_more_and_the_sentence_says_why(bench) -> None:
    was = case().legs[Side.RIGHT].girth_cm
    slimmer = {
        f"{GIRTH}{name.value}": round(0.93 * was.at(name), 1)
        for name in Landmark
        if was.at(name) is not None
    }
    slimmer[f"{GIRTH}ankle"] = round(0.9 * was.ankle, 1)
    change = changed(bench, **slimmer)
    assert change.code in (ChangeCode.PRESSURE, ChangeCode.BEYOND)
    assert change.landmark is Landmark.ANKLE
    smaller = was.ankle - round(0.9 * was.ankle, 1)
    assert change.sentence.startswith(f"changed because the ankle is {smaller:.1f} cm smaller: ")
    assert f"{change.before_mmhg:.0f} → {change.now_mmhg:.0f} mmHg" in change.sentence
    # Laplace: the same tension on a girth 7 % smaller presses about 1/0.93, 7.5 % more; the
    # surface near the gaiter follows ankle and calf, hence the slack.
    assert change.now_mmhg / change.before_mmhg == pytest.approx(1 / 0.93, abs=0.04)


def test_a_bandage_that_cannot_be_made_says_so(bench) -> None:
    then = bench().plan.legs[Side.RIGHT]
    change = plan_change(then, None, 0.05)
    assert (change.code, change.now_mmhg) == (ChangeCode.NOT_MADE, None)


def test_another_maximum_counts_before_another_pressure(bench) -> None:
    then = bench().plan.legs[Side.RIGHT]
    decision = then.decision.model_copy(update={"maximum_mmhg": 40.0})
    now = then.model_copy(update={"decision": decision})
    change = plan_change(then, now, 0.05)
    assert change.code is ChangeCode.MAXIMUM
    assert "the maximum is 40 mmHg, then 60 mmHg" in change.sentence


@pytest.mark.parametrize(("share", "code"), [(0.049, "still right"), (0.051, "pressure changed")])
def test_the_policy_says_from_when_a_pressure_is_another(bench, share, code) -> None:
    then = bench().plan.legs[Side.RIGHT]
    system = then.systems[0]
    sites = tuple(
        site.model_copy(update={"median_mmhg": site.median_mmhg * (1 + share)})
        for site in system.sites
    )
    now = then.model_copy(update={"systems": (system.model_copy(update={"sites": sites}),)})
    assert plan_change(then, now, 0.05).code == code


@pytest.mark.parametrize("percent", [4.0, 22.0])
def test_what_only_holds_the_wool_stays_as_it_was_recorded(bench, percent: float) -> None:
    """Just taut, also below the least stretch of the same fabric laid to press."""
    later = bench()
    then = next(s for s in later.plan.legs[Side.RIGHT].systems if s.name == "four_layer")
    holding = then.layers[1]
    assert holding.presses
    assert holding.mark_spacing_cm is None
    layers = [then.layers[0], holding.model_copy(update={"stretch_percent": percent})]
    then = then.model_copy(update={"layers": (*layers, *then.layers[2:])})
    now = later.adjusted(Side.RIGHT, as_recorded(then)).made.plan
    assert now.layers[1].stretch_percent == pytest.approx(percent)
    assert now.layers[1].mark_spacing_cm is None


def test_a_change_within_the_tape_is_none(bench) -> None:
    then = bench().plan.legs[Side.RIGHT].surface
    moved = dict(then.girth_cm)
    moved[Landmark.CALF] += 0.05
    now = then.model_copy(update={"girth_cm": moved})
    assert largest_girth_change(then, now) == (None, 0.0)
