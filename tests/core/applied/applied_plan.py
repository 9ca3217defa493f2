"""One planned bandage and readings on it, for the tests of what was applied."""

from functools import cache

from gaiter.core.applied.readings import Readings
from gaiter.core.plan import Plan, SystemPlan
from gaiter.core.plan import plan as plan_of
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case

CASE = "Heron Ford (invented)"
SYSTEM = "wool_gauze_long_stretch"
# What the tests need, so that every process that runs them has its plan soon.
PLANNED = (SYSTEM, "wool_short_stretch")
PLACES = ("ankle", "calf", "below_knee")


@cache
def plan() -> Plan:
    return plan_of(
        case(reference=CASE), shipped_policy(), shipped_catalogue(), systems=frozenset(PLANNED)
    )


def system() -> SystemPlan:
    return next(s for s in next(iter(plan().legs.values())).systems if s.name == SYSTEM)


def marks_cm() -> float:
    """The planned mark spacing."""
    return system().layers[-1].mark_spacing_cm or 0.0


def readings(spacings_cm=None, sensor=(), **changes) -> Readings:
    """Spacings at the three heights (the planned ones unless given), and sensor values."""
    cm = [marks_cm()] * 3 if spacings_cm is None else spacings_cm
    given = {
        "spacings": [
            {"layer": 3, "place": place, "cm": float(value)}
            for place, value in zip(PLACES, cm, strict=False)
        ],
        "sensor": [{"place": place, "mmhg": float(mmhg)} for place, mmhg in sensor],
        **changes,
    }
    return Readings.model_validate(
        {"schema": "gaiter.readings/1", "side": "right", "system": SYSTEM, **given}
    )
