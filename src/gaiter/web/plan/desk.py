"""Cases with everything computed for them, kept by what they say, so that a change answers at once.

A desk is kept in memory of one process; it holds no identity, only the case.
"""

import hashlib
import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Generic, TypeVar

from gaiter.core.case import Case
from gaiter.core.draw.leg_drawing import leg_drawing
from gaiter.core.draw.profile import pressure_profile
from gaiter.core.draw.surface_drawing import surface_map
from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.plan import Adjustment, LegPlan, Plan, Workbench
from gaiter.core.plan.changes import PlanChange, as_recorded, plan_change
from gaiter.core.plan.document import SkinAbove
from gaiter.core.plan.laying import BandagedLeg
from gaiter.core.plan.rebuilt import bandaged_leg_of
from gaiter.records.models import PlanRecord
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.visit.case import local_catalogue, local_policy

# A desk holds tens of megabytes of turns laid and samples drawn; a plan some hundred kilobytes.
_DESKS, _PLANS = 4, 64
ValueT = TypeVar("ValueT")


class _Latest(Generic[ValueT]):
    """The values used last, made once each however many ask at the same time."""

    def __init__(self, size: int) -> None:
        self._size, self._lock = size, threading.Lock()
        self._held: OrderedDict[str, ValueT] = OrderedDict()

    def get(self, key: str, make: Callable[[], ValueT]) -> ValueT:
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                return self._held[key]
        made = make()
        with self._lock:
            self._held[key] = made
            while len(self._held) > self._size:
                self._held.popitem(last=False)
        return made


class Desk:
    """One case on the workbench; one change at a time."""

    def __init__(self, case: Case) -> None:
        self._bench = Workbench(case, local_policy(), local_catalogue())
        self._lock = threading.Lock()

    @property
    def plan(self) -> Plan:
        """The computed plan."""
        with self._lock:
            return self._bench.plan

    def adjusted(self, side: Side, adjustment: Adjustment) -> LegPlan:
        """The leg's plan with one system changed and put first."""
        with self._lock:
            return self._bench.adjusted(side, adjustment)

    def pictures(self, leg: LegPlan, *, with_map: bool = True) -> dict[str, str]:
        """SVG of the leg with its turns, the pressure along it and the map of its first system."""
        with self._lock:
            bandaged_leg = self._bench.bandaged_leg(leg.side)
            if bandaged_leg is None or not leg.systems:
                return {}
            return _pictures(leg, bandaged_leg, self._bench.plan, with_map=with_map)

    def with_warnings(self, leg: LegPlan) -> LegPlan:
        """The leg's plan with the skin that its first system often presses above the maximum."""
        with self._lock:
            found = self._bench.often_above_maximum(leg.side, leg.systems[0].name)
        limit = leg.decision.maximum_mmhg or 0.0
        above = tuple(
            SkinAbove(place=patch.place, area_cm2=patch.area_cm2, limit_mmhg=limit)
            for patch in found
        )
        first, *rest = leg.systems
        first = first.model_copy(update={"often_above": above})
        return leg.model_copy(update={"systems": (first, *rest)})

    def change_of(self, recorded: LegPlan, drift_share: float) -> PlanChange:
        """A plan in force beside the same bandage on the leg of this desk."""
        _computed = self.plan
        try:
            now = self.adjusted(recorded.side, as_recorded(recorded.systems[0]))
        except InputError:
            now = None
        return plan_change(recorded, now, drift_share)


def _pictures(
    leg: LegPlan, bandaged_leg: BandagedLeg, plan: Plan, *, with_map: bool
) -> dict[str, str]:
    system = leg.systems[0]
    made = {
        "leg": leg_drawing(leg, system, bandaged_leg).to_text(),
        "profile": pressure_profile(leg, system).to_text(),
    }
    if with_map:
        remainder = plan.remainder_of(system)
        made["map"] = surface_map(leg, system, bandaged_leg, remainder).to_text()
    return made


def recorded_pictures(record: PlanRecord, *, with_map: bool = True) -> dict[str, str]:
    """Pictures of a recorded plan, drawn from its document alone: nothing is planned again."""

    def drawn() -> dict[str, str]:
        plan = plan_of(record)
        leg = leg_of(plan)
        if leg.surface is None or not leg.systems:
            return {}
        return _pictures(leg, bandaged_leg_of(leg), plan, with_map=with_map)

    return _drawn.get(f"{record.sha256} {with_map}", drawn)


_drawn: _Latest[dict[str, str]] = _Latest(_PLANS)
_desks: _Latest[Desk] = _Latest(_DESKS)
_plans: _Latest[Plan] = _Latest(_PLANS)


def _key(case: Case) -> str:
    text = case.model_dump_json(by_alias=True)
    text += local_policy().sha256 + local_catalogue().systems_sha256
    return hashlib.sha256(text.encode()).hexdigest()


def _unlabelled(case: Case) -> Case:
    """The case without its reference, on which no number rests."""
    return case.model_copy(update={"reference": None})


def desk_for(case: Case) -> Desk:
    """The desk of a case."""
    plain = _unlabelled(case)
    return _desks.get(_key(plain), lambda: Desk(plain))


def computed_plan(case: Case) -> Plan:
    """The computed plan of a case."""
    plan = _plans.get(_key(_unlabelled(case)), lambda: desk_for(case).plan)
    label = plan.case.model_copy(update={"reference": case.reference})
    return plan.model_copy(update={"case": label})
