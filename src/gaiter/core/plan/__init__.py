"""From a case to a bandaging plan."""

from gaiter.core.plan.document import Fit, LegPlan, Plan, Status, SystemPlan
from gaiter.core.plan.planner import DEFAULT_SEED, SAMPLES, UnknownMaterialError, plan

__all__ = [
    "DEFAULT_SEED",
    "SAMPLES",
    "Fit",
    "LegPlan",
    "Plan",
    "Status",
    "SystemPlan",
    "UnknownMaterialError",
    "plan",
]
