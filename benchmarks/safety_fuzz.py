"""Thousands of invented legs decided: what comes of them, and that nothing unsafe ever does.

    python -m benchmarks.safety_fuzz [--count 24000] [--seed 1]

Each leg is a healthy, complete case with one to six things changed: rows of the table of cautions
and contraindications, arterial pressures drawn at large, and answers left out. Printed: how many
were stopped, not yet, reduced and full, and how often one of these was broken (never, is asked):

- a stop that fired and was not set aside leaves no maximum;
- the maximum is at most the ankle's pressure less 30 mmHg, where the ankle means anything, and at
  most the toe's;
- the aim never reaches above the maximum;
- leaving an answer out never raises the maximum (what may be: tests/core/safety/test_unasked.py);
- a worse finding, alone or beside others, never raises it.
"""

import argparse
import copy
import random
import time
from collections import Counter
from typing import Any

from gaiter.core.case import SafetyCase
from gaiter.core.landmark import Side
from gaiter.core.policy import Policy
from gaiter.core.safety import LegDecision, RuleKind, decide
from gaiter.files.policy_file import shipped_policy
from tests.core.safety.test_decision import TABLE, A, F, P
from tests.core.safety.test_unasked import (
    _KEPT,
    CHOSEN,
    FURTHER_TESTS,
    ONLY_CAP,
    consistent,
    leaves,
    without,
)
from tests.strategies import case_mapping

# Answers from good to bad, each at least as bad as the one before it.
WORSE: dict[str, tuple[Any, ...]] = {
    **{
        f"{F}{name}": (False, True)
        for name in (
            "rest_pain", "new_pain", "colour_change", "temperature_change", "claudication",
            "acute_ischaemia", "gangrene", "sepsis", "necrosis_risk", "vasculitis_suspected",
            "malignancy_suspected", "superficial_phlebitis", "septic_phlebitis",
            "massive_blue_swelling", "stent", "worse", "skin_fragile",
            "clot.signs.whole_leg_swollen", "clot.signs.tender_deep_veins",
        )
    },
    **{
        f"{P}{name}": (False, True)
        for name in (
            "diabetes", "kidney_disease", "rheumatoid_arthritis", "breathless_lying",
            "heart_failure_decompensated", "pregnancy", "sickle_cell", "raynaud",
        )
    },
    f"{P}can_report_pain": (True, False),
    f"{P}weight_gain_kg": (0, 1, 1.9, 2, 4),
    f"{P}heart_failure_class": (0, 1, 2, 3, 4),
    f"{F}absent_monofilament_sites": (0, 1, 2, 3),
    f"{F}pain_now": (0, 3, 4, 6, 7, 10),
    f"{F}toes.colour": ("same", "paler", "white"),
    f"{F}toes.warmth": ("warm", "cool", "cold"),
    f"{F}toes.feeling": ("every toe", "some toes", "no toe"),
    f"{F}toes.movement": ("every toe", "some toes", "no toe"),
    f"{A}toe_mmhg": (120, 100, 75, 60, 51, 45, 30, 29),
    f"{A}tcpo2_mmhg": (60, 30, 29, 20, 19),
    f"{A}lying_flat": (True, False),
}  # fmt: skip


def decided(mapping: dict[str, Any], policy: Policy) -> LegDecision:
    """The right leg's decision."""
    return decide(SafetyCase.model_validate(mapping), policy).legs[Side.RIGHT]


def drawn(rng: random.Random) -> dict[str, Any]:
    """A case with some things changed."""
    changes: dict[str, Any] = {}
    for row in rng.sample(TABLE, rng.choice((0, 0, 1, 2))):
        changes |= row[0]
    for path in rng.sample(sorted(WORSE), rng.choice((0, 0, 1, 2))):
        changes[path] = rng.choice(WORSE[path])
    if rng.random() < 0.4:
        arm = round(rng.uniform(80, 190), 1)
        changes["arms"] = {"left_mmhg": arm, "right_mmhg": round(arm + rng.uniform(-9, 9), 1)}
        changes["arms"] = {k: max(60.0, min(260.0, v)) for k, v in changes["arms"].items()}
        for name, low, high in (
            ("dorsalis_pedis_mmhg", 0.5, 1.45), ("posterior_tibial_mmhg", 0.5, 1.45),
            ("toe_mmhg", 0.25, 1.2),
        ):  # fmt: skip
            bounds = (5, 250) if name == "toe_mmhg" else (20, 300)
            value = min(max(arm * rng.uniform(low, high), bounds[0]), bounds[1])
            changes[f"{A}{name}"] = round(value, 1) if rng.random() < 0.85 else None
    mapping = case_mapping(**consistent(changes))
    for _ in range(rng.choice((0, 0, 1, 2))):
        removable = [path for path in leaves(mapping) if path not in _KEPT]
        mapping = without(mapping, rng.choice(removable))
    return mapping


def worsened(mapping: dict[str, Any], path: str) -> dict[str, Any] | None:
    """The case with one answer a step worse; None where it is not said or at its worst."""
    *parents, last = path.split(".")
    changed = copy.deepcopy(mapping)
    table = changed
    for parent in parents:
        if parent not in table:
            return None
        table = table[parent]
    answers = WORSE[path]
    if table.get(last) not in answers[:-1]:
        return None
    table[last] = answers[answers.index(table[last]) + 1]
    return changed


_HEALTHY = case_mapping()


def _is_changed(mapping: dict[str, Any], path: str) -> bool:
    """Whether the answer at a path is another than that of the healthy case."""
    healthy: Any = _HEALTHY
    value: Any = mapping
    for part in path.split("."):
        value = value[part]
        healthy = healthy.get(part) if isinstance(healthy, dict) else None
    return bool(value != healthy)


def broken(mapping: dict[str, Any], policy: Policy, rng: random.Random) -> list[str]:
    """What one case breaks, by name."""
    decision, found = decided(mapping, policy), []
    highest = decision.maximum_mmhg
    stopped = any(r.kind in (RuleKind.HARD_STOP, RuleKind.SOFT_STOP) for r in decision.reasons)
    if stopped and highest is not None:
        found.append("a maximum beside a stop")
    bound = decision.arterial_bound_mmhg
    if highest is not None and bound is not None and highest > bound:
        found.append("a maximum above the arteries")
    toe = decision.numbers.toe_mmhg
    if highest is not None and toe is not None and highest > toe:
        found.append("a maximum above the toe")
    if decision.aim is not None and (highest is None or decision.aim.high_mmhg > highest):
        found.append("an aim above the maximum")
    # The provisional level is somebody's choice and is left out, as in the tests.
    if "provisional" in mapping["legs"]["right"]:
        return found
    removable = [path for path in leaves(mapping) if path not in _KEPT]
    before = highest or 0
    # Leaving out what makes the leg a bad one tells most; two others as they come.
    for path in {*(p for p in removable if _is_changed(mapping, p)), *rng.sample(removable, 2)}:
        after = decided(without(mapping, path), policy).maximum_mmhg or 0
        allowed = max(before, policy["reduced_maximum_mmhg"]) if path in ONLY_CAP else before
        if path not in CHOSEN | FURTHER_TESTS and after > allowed:
            found.append(f"raised by leaving out {path}")
    for path in rng.sample(sorted(WORSE), 8):
        worse = worsened(mapping, path)
        if worse is not None and (decided(worse, policy).maximum_mmhg or 0) > before:
            found.append(f"raised by a worse {path}")
    return found


def main() -> None:
    """Prints counts, and ends with a fault where anything is broken."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--count", type=int, default=24_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    rng, policy = random.Random(asked.seed), shipped_policy()
    outcomes: Counter[str] = Counter()
    faults: Counter[str] = Counter()
    shown: dict[str, dict[str, Any]] = {}
    begun = time.perf_counter()
    for _ in range(asked.count):
        mapping = drawn(rng)
        outcomes[decided(mapping, policy).outcome.value] += 1
        for fault in broken(mapping, policy, rng):
            faults[fault] += 1
            shown.setdefault(fault, mapping)
    print(f"{asked.count} legs in {time.perf_counter() - begun:.0f} s")
    for outcome, count in outcomes.most_common():
        print(f"  {outcome:<16}{count:>7}  {count / asked.count:.1%}")
    print(f"broken: {sum(faults.values())}")
    for fault, count in faults.most_common():
        print(f"  {count} {fault}\n    {shown[fault]}")
    raise SystemExit(bool(faults))


if __name__ == "__main__":
    main()
