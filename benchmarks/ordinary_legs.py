"""What becomes of ordinary, completely asked venous legs; refusing everything is no pass.

    python -m benchmarks.ordinary_legs [--legs PATH/TO/legs.csv] [--count 60] [--seed 1]

Real legs from a cohort file (as ``docs/study.md``; without one, legs from the published
regressions) with sound findings and an ankle index of 0.85 to 1.30 are decided and planned by
trained hands. Printed: shares of stopped, not yet, reduced and full, of plans, and of what each
first system came to. Sixty legs, at least nine in ten with a plan, is what is asked.
"""

import argparse
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from gaiter.core.case import Case, Leg, Purpose, Sex, Training
from gaiter.core.cohort.legs import case_for
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.plan import Status, plan
from gaiter.core.policy import Policy
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.cohort_file import read_cohort
from gaiter.files.policy_file import shipped_policy
from tests.strategies import random_leg

_ARM_MMHG = 140.0


def cases(path: Path | None, count: int, seed: int, policy: Policy) -> Iterator[Case]:
    """So many cases, indices spread evenly from 0.85 to 1.30."""
    rng = np.random.default_rng(seed)
    legs = _from_file(path, rng, count) if path else _drawn(rng, count)
    for index, (sex, leg) in zip(
        rng.permutation(np.linspace(0.85, 1.30, count)), legs, strict=True
    ):
        made = case_for(leg, sex, Purpose.VENOUS_ULCER, Training.TRAINED, policy)
        studied = made.legs[Side.RIGHT]
        ankle = round(float(index) * _ARM_MMHG)
        arterial = studied.arterial.model_copy(
            update={"dorsalis_pedis_mmhg": ankle, "posterior_tibial_mmhg": ankle}
        )
        arms = made.arms.model_copy(update={"left_mmhg": _ARM_MMHG, "right_mmhg": _ARM_MMHG})
        changed = studied.model_copy(update={"arterial": arterial})
        yield made.model_copy(update={"arms": arms, "legs": {Side.RIGHT: changed}})


def _from_file(path: Path, rng: np.random.Generator, count: int) -> list[tuple[Sex | None, Leg]]:
    known = [leg for leg in read_cohort(path).legs if leg.leg is not None]
    chosen = rng.choice(len(known), count, replace=False)
    return [(known[i].sex, known[i].leg) for i in chosen]


def _drawn(rng: np.random.Generator, count: int) -> list[tuple[Sex | None, Leg]]:
    found = []
    for number in range(count):
        sex = list(Sex)[number % 2]
        found.append((sex, leg_of(random_leg(rng, sex))))
    return found


def leg_of(measured: LegMeasurements) -> Leg:
    """A leg of these measurements, as a tape reads it."""
    return Leg.model_validate(
        {
            "purpose": Purpose.VENOUS_ULCER,
            "foot_length_cm": round(measured.foot_length_cm, 1),
            "girth_cm": {m.value: round(g, 1) for m, g in measured.girth_cm.items()},
            "position_cm": {
                m.value: round(p, 1)
                for m, p in measured.position_cm.items()
                if m is not Landmark.HEEL_INSTEP
            },
        }
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--legs", type=Path, default=None)
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    policy, catalogue = shipped_policy(), shipped_catalogue()
    decided, planned, first, every = Counter(), Counter(), Counter(), Counter()
    why: list[str] = []
    for case in cases(asked.legs, asked.count, asked.seed, policy):
        leg = plan(case, policy, catalogue, samples=1024).legs[Side.RIGHT]
        decided[leg.decision.outcome.value] += 1
        planned[leg.status.value] += 1
        if leg.systems:
            first[leg.systems[0].outcome.value] += 1
            every.update(system.outcome.value for system in leg.systems)
        if leg.status is not Status.PLANNED:
            why.append(leg.status_reason)
        elif leg.systems[0].to_accept:
            why.append(f"to accept: {', '.join(leg.systems[0].to_accept)}")
    for name, counts in (
        ("decision", decided), ("leg", planned), ("first system", first), ("every system", every),
    ):  # fmt: skip
        whole = sum(counts.values())
        for word, count in counts.most_common():
            print(f"{name:<14}{word:<24}{count:5d}   {count / whole:6.1%}")
    for words, count in Counter(why).most_common():
        print(f"{count:3d} x {words}")


if __name__ == "__main__":
    main()
