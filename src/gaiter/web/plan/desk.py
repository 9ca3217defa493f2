"""Benches kept by what their case says, so that a change by hand answers at once.

A bench is a value: what is kept here is a memory of one process for the sake of speed, holds no
identity, and answers the same whatever was asked before.
"""

import hashlib
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future
from typing import Generic, TypeVar

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from gaiter.core.case import Case
from gaiter.core.draw.leg_drawing import leg_drawing
from gaiter.core.draw.profile import pressure_profile
from gaiter.core.draw.surface_drawing import surface_map
from gaiter.core.errors import InputError
from gaiter.core.plan import Adjusted, Bench, LegPlan, Plan, bench_of
from gaiter.core.plan.changes import PlanChange, as_recorded, plan_change
from gaiter.core.plan.padded_leg import BandagedLeg
from gaiter.core.plan.rebuilt import bandaged_leg_of
from gaiter.records.models import PlanRecord
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.visit.case import local_catalogue, local_policy
from gaiter.web.frame.workload import turn

# A bench holds tens of megabytes of turns laid and samples drawn; a picture some hundred kilobytes.
_BENCHES, _PICTURES = 4, 64
ValueT = TypeVar("ValueT")


class MadeOnce(Generic[ValueT]):
    """The values used last, each made once however many threads ask at the same time."""

    def __init__(self, size: int) -> None:
        self._size, self._lock = size, threading.Lock()
        self._held: OrderedDict[str, Future[ValueT]] = OrderedDict()

    def get(self, key: str, make: Callable[[], ValueT]) -> ValueT:
        """The value of a key; whoever asks while it is made waits for it.

        What ``make`` raises reaches everybody who waited, and is not kept.
        """
        with self._lock:
            future = self._held.get(key)
            mine = future is None
            if future is None:
                future = self._held[key] = Future()
            self._held.move_to_end(key)
            while len(self._held) > self._size:
                self._held.popitem(last=False)
        if mine:
            try:
                future.set_result(make())
            except BaseException as error:
                future.set_exception(error)
                with self._lock:
                    if self._held.get(key) is future:
                        del self._held[key]
        return future.result()


_benches: MadeOnce[Bench] = MadeOnce(_BENCHES)
_pictures: MadeOnce[dict[str, str]] = MadeOnce(_PICTURES)


def bench_for(case: Case) -> Bench:
    """The bench of a case, under the clinic's policy and systems; its label is that of the case."""
    policy, catalogue = local_policy(), local_catalogue()
    # No number rests on the reference.
    plain = case.model_copy(update={"reference": None})
    text = plain.model_dump_json(by_alias=True) + policy.sha256 + catalogue.systems_sha256
    key = hashlib.sha256(text.encode()).hexdigest()

    def made() -> Bench:
        with turn():
            return bench_of(plain, policy, catalogue)

    return _benches.get(key, made)


def computed_plan(case: Case) -> Plan:
    """The computed plan of a case."""
    plan = bench_for(case).plan
    label = plan.case.model_copy(update={"reference": case.reference})
    return plan.model_copy(update={"case": label})


def change_of(bench: Bench, recorded: LegPlan, drift_share: float) -> PlanChange:
    """A plan in force beside the same bandage on the leg of a bench."""
    try:
        with turn():
            now = bench.adjusted(recorded.side, as_recorded(recorded.systems[0])).leg
    except InputError:
        now = None
    return plan_change(recorded, now, drift_share)


def pictures_of(adjusted: Adjusted, plan: Plan) -> dict[str, str]:
    """SVG of the leg with its turns, the pressure along it and the map of its first system.

    Drawing computes: it is asked within a turn.
    """
    return _drawn(adjusted.leg, adjusted.bandaged_leg, plan, with_map=True)


def recorded_pictures(record: PlanRecord, *, with_map: bool = True) -> dict[str, str]:
    """Pictures of a recorded plan, drawn from its document alone: nothing is planned again."""

    def drawn() -> dict[str, str]:
        plan = plan_of(record)
        leg = leg_of(plan)
        if leg.surface is None or not leg.systems:
            return {}
        with turn():
            return _drawn(leg, bandaged_leg_of(leg), plan, with_map=with_map)

    return _pictures.get(f"{record.sha256} {with_map} {get_language()}", drawn)


def _drawn(
    leg: LegPlan, bandaged_leg: BandagedLeg, plan: Plan, *, with_map: bool
) -> dict[str, str]:
    system = leg.systems[0]
    made = {
        "leg": leg_drawing(leg, system, bandaged_leg, _).to_text(),
        "profile": pressure_profile(leg, system, translate=_).to_text(),
    }
    if with_map:
        remainder = plan.remainder_of(system)
        made["map"] = surface_map(leg, system, bandaged_leg, remainder, _).to_text()
    return made
