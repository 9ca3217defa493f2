"""Plans as recorded, parsed once: a recorded document never changes."""

import json
from functools import lru_cache
from typing import Any

from pydantic import ValidationError

from gaiter.core.case import Case
from gaiter.core.plan import LegPlan, Plan
from gaiter.records.models import PlanRecord

# Some hundred kilobytes each.
_KEPT = 32


class _Text:
    """A record's text, read from the database only when its plan is not at hand."""

    def __init__(self, record: PlanRecord) -> None:
        self.record = record

    def __hash__(self) -> int:
        return hash(self.record.sha256)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Text) and other.record.sha256 == self.record.sha256


@lru_cache(_KEPT)
def _parsed(text: _Text) -> Plan:
    return Plan.model_validate_json(text.record.document)


def plan_of(record: PlanRecord) -> Plan:
    """The plan of a record."""
    return _parsed(_Text(record))


def leg_of(plan: Plan) -> LegPlan:
    """The one leg of a visit's plan."""
    return next(iter(plan.legs.values()))


def case_then(record: PlanRecord) -> Case | None:
    """The case that a plan was made from; None where an older program wrote it otherwise."""
    mapping = json.loads(record.case)
    for leg in mapping.get("legs", {}).values():
        _as_written_now(leg)
    try:
        return Case.model_validate(mapping)
    except ValidationError:
        return None


def _as_written_now(leg: dict[str, Any]) -> None:
    """Takes out of a leg what earlier programs wrote and no decision of then rests on any more.

    An override was one for several stops and had no aim; the level before was a maximum. Neither
    is what their successors mean, so neither is carried over: the decision then stands in the
    plan's own document.
    """
    leg.pop("override", None)
    leg.pop("previous_level_mmhg", None)
