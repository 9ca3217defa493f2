"""Plans as recorded, parsed once: a recorded document never changes."""

from functools import lru_cache

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
