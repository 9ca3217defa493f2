"""From a case to a bandaging plan."""

from gaiter.core.plan.adjust import Adjustment, LayerChange
from gaiter.core.plan.bench import Adjusted, Bench
from gaiter.core.plan.document import Fit, LegPlan, Plan, Status, SystemPlan
from gaiter.core.plan.planner import DEFAULT_SEED, SAMPLES, bench_of, plan
from gaiter.core.plan.stock import UnknownMaterialError

__all__ = [
    "DEFAULT_SEED",
    "SAMPLES",
    "Adjusted",
    "Adjustment",
    "Bench",
    "Fit",
    "LayerChange",
    "LegPlan",
    "Plan",
    "Status",
    "SystemPlan",
    "UnknownMaterialError",
    "bench_of",
    "plan",
]
