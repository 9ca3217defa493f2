"""From a case to a bandaging plan."""

from gaiter.core.plan.adjust import Adjustment, LayerChange
from gaiter.core.plan.document import Fit, LegPlan, Plan, Status, SystemPlan
from gaiter.core.plan.planner import DEFAULT_SEED, SAMPLES, UnknownMaterialError, Workbench, plan

__all__ = [
    "DEFAULT_SEED",
    "SAMPLES",
    "Adjustment",
    "Fit",
    "LayerChange",
    "LegPlan",
    "Plan",
    "Status",
    "SystemPlan",
    "UnknownMaterialError",
    "Workbench",
    "plan",
]
