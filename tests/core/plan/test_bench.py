"""A bench is a value: what it answers does not depend on what it was asked before."""

from functools import cache

import pytest

from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.plan import Adjusted, Adjustment, Bench, LayerChange, bench_of
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case

SYSTEM, ELASTIC = "wool_gauze_long_stretch", "long_stretch_elastic"
LOOSER = Adjustment(SYSTEM, layers={ELASTIC: LayerChange(stretch=0.3)})


@cache
def bench() -> Bench:
    return bench_of(case(), shipped_policy(), shipped_catalogue(), samples=512)


def adjusted(adjustment: Adjustment) -> Adjusted:
    return bench().adjusted(Side.RIGHT, adjustment)


def skin_above(one: Adjusted) -> float:
    return sum(area.area_cm2 for area in one.with_warnings().systems[0].often_above)


def test_a_slider_moved_and_moved_back_shows_the_skin_above_the_maximum_as_before() -> None:
    """Moved and back, a fresh page once said 126 cm² and the moved one 400 cm²."""
    before, loose = adjusted(Adjustment(SYSTEM)), adjusted(LOOSER)
    assert skin_above(loose) < skin_above(before)
    again = adjusted(Adjustment(SYSTEM))
    assert again.with_warnings() == before.with_warnings()
    assert skin_above(loose) < skin_above(again)


def test_plan_and_design_belong_together() -> None:
    loose = adjusted(LOOSER)
    assert loose.leg.systems[0] == loose.made.plan
    elastic = next(one for one in loose.design.layers if one.material.key == ELASTIC)
    assert elastic.stretch == 0.3
    layer = next(one for one in loose.made.plan.layers if one.material == ELASTIC)
    assert layer.mark_spacing_cm == pytest.approx(13.0)  # 10 cm relaxed, 30 % longer


def test_asking_changes_nothing_on_the_bench() -> None:
    plan = bench().plan.model_dump()
    adjusted(LOOSER)
    assert bench().plan.model_dump() == plan
    with pytest.raises(AttributeError):
        bench().plan = None


def test_a_system_that_was_not_made_is_refused_by_name() -> None:
    with pytest.raises(InputError, match=r"system must be one planned for the right leg \(.*\); "):
        adjusted(Adjustment("nothing_such"))


def test_a_stopped_leg_has_no_bench() -> None:
    stopped = bench_of(
        case(**{"legs.right.findings.gangrene": True}), shipped_policy(), shipped_catalogue()
    )
    assert stopped.legs == {}
    with pytest.raises(InputError, match=r"\(none\)"):
        stopped.adjusted(Side.RIGHT, Adjustment(SYSTEM))
