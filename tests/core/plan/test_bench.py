"""A bench is a value: what it answers does not depend on what it was asked before."""

from datetime import date
from functools import cache
from types import SimpleNamespace

import pytest

from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.plan import (
    Adjusted,
    Adjustment,
    Bench,
    Fit,
    LayerChange,
    LegPlan,
    Plan,
    Status,
    bench_of,
)
from gaiter.core.plan import bench as bench_module
from gaiter.core.plan.bench import LegBench
from gaiter.core.plan.document import SystemPlan
from gaiter.core.safety import LegDecision, Outcome
from gaiter.core.words import Said
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


# --- what is put first and when it is seen, with a change that is only said to be made --------

TODAY = date(2026, 11, 25)


def of_systems(*names: str) -> LegPlan:
    decision = LegDecision.model_construct(
        outcome=Outcome.FULL, maximum_mmhg=60.0, aim=None, headline="the decision's words"
    )
    systems = tuple(SystemPlan.model_construct(name=name, often_above=()) for name in names)
    return LegPlan.model_construct(decision=decision, systems=systems, side=Side.RIGHT)


@pytest.mark.parametrize(
    ("outcome", "status", "day"),
    # 25 November and four days.
    [(Fit.FITS, Status.PLANNED, date(2026, 11, 29)),
     (Fit.NOT_IN_THESE_HANDS, Status.PLANNED, date(2026, 11, 29)),
     (Fit.CANNOT_BE_REACHED, Status.CANNOT_BE_REACHED, None)],
)  # fmt: skip
def test_a_changed_system_comes_first_and_says_when_it_is_seen(
    monkeypatch, outcome, status, day
) -> None:
    leg = of_systems("one", "two", "three")
    task = SimpleNamespace(bandaged_leg="the leg")
    kept = {name: name for name in ("one", "two", "three")}
    changed_plan = leg.systems[1].model_copy(
        update={"outcome": outcome, "outcome_reason": Said("so it is"), "change_days": 4}
    )
    made = SimpleNamespace(plan=changed_plan, design="its design")
    monkeypatch.setattr(bench_module, "changed", lambda was, _adjustment, _task: (was, made)[1])
    asked = Bench(
        Plan.model_construct(today=TODAY, legs={Side.RIGHT: leg}),
        {Side.RIGHT: LegBench(task, kept)},
    )
    found = asked.adjusted(Side.RIGHT, Adjustment("two"))
    assert [system.name for system in found.leg.systems] == ["two", "one", "three"]
    assert found.leg.systems[0] is changed_plan
    assert (found.leg.status, found.leg.next_visit) == (status, day)
    usable = status is Status.PLANNED
    assert str(found.leg.status_reason) == ("the decision's words" if usable else "so it is")
    assert (found.design, found.bandaged_leg, asked.today) == ("its design", "the leg", TODAY)


def test_warnings_are_of_the_legs_own_maximum_and_stand_on_the_first_system() -> None:
    leg = of_systems("one", "two")
    asked = []

    def often_above(limit_mmhg: float):
        asked.append(limit_mmhg)
        return (SimpleNamespace(place="calf", area_cm2=12.0),)

    made = SimpleNamespace(design=SimpleNamespace(often_above=often_above))
    first, second = Adjusted(leg, made, None).with_warnings().systems
    assert asked == [60.0]
    (area,) = first.often_above
    assert (area.place, area.area_cm2, area.limit_mmhg) == ("calf", 12.0, 60.0)
    assert (first.name, second) == ("one", leg.systems[1])


def test_without_a_maximum_every_pressure_is_above() -> None:
    """A leg that no maximum was said for may bear nothing: what presses at all is told."""
    leg = of_systems("one")
    without = leg.model_copy(
        update={"decision": leg.decision.model_copy(update={"maximum_mmhg": None})}
    )
    asked = []
    made = SimpleNamespace(
        design=SimpleNamespace(often_above=lambda mmhg: asked.append(mmhg) or ())
    )
    Adjusted(without, made, None).with_warnings()
    assert asked == [0.0]
