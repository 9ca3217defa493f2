"""Share of bandages in range by way of working, on a truth that is not the planner's.

    python -m benchmarks.headline --legs PATH/TO/legs.csv [--count 120] [--seed 1] [--system NAME]
        [--ankle LOW HIGH]

Real legs from a cohort file (as ``docs/study.md``; without one, legs from the published
regressions) are measured, planned, bandaged with the published hands, read and, where the tool
says so, bandaged once more. ``docs/headline.md`` holds the table and says what it means.
"""

import argparse
import os
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor
from pathlib import Path

import numpy as np

from benchmarks.task import Job
from benchmarks.truth import CLINIC_LEVELS, SITES
from benchmarks.ways import (
    BANDAGES_PER_LEG,
    WAYS,
    Result,
    after_readings,
    before_readings,
)
from gaiter.core.applied.calibration import BandageReading, learnt_calibration
from gaiter.core.case import Calibration, Sex
from gaiter.core.leg.completion import complete_measurements
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.cohort_file import read_cohort
from gaiter.files.policy_file import shipped_policy
from gaiter.files.study_run import process_pool
from tests.strategies import random_leg

COUNTS = tuple(sorted({way.calibrated_on for way in WAYS.values()} - {0}))
CLINICS = len(CLINIC_LEVELS)
# Each leg learns from the other legs of its clinic; so many are needed for the longest history.
FEWEST_LEGS = CLINICS * (-(-max(COUNTS) // BANDAGES_PER_LEG) + 1)
YARDSTICKS = """\
Published, of other bandages, people and ranges; nothing here was tuned to them:
  Zarchi & Jemec 2014, 68 home-care nurses, 30-50 mmHg at the gaiter: 63 % (2-component), 41 %
    (elastic), 40 % (inelastic)
  Protz et al., 1,476 bandagers, 50-60 mmHg: 12.3 %
  Verzwyvelt 2023, target hit: 31 % with printed marks, 85.7 % with live reading
  Keller 2009, insufficient (below 20, or 60 and above): 34.9 % before, 17.5 % after training
    with a monitor
  Printed shapes, 20 students, passed: 8 of 10 without, 4 of 10 with (distribution worse)"""

Results = Mapping[str, list[list[Result]]]


def legs_of(path: Path | None, count: int, seed: int) -> list[tuple[Sex | None, LegMeasurements]]:
    """So many legs, drawn without replacement."""
    rng = np.random.default_rng(seed)
    if path is None:
        sexes = [list(Sex)[number % 2] for number in range(count)]
        return [(sex, random_leg(rng, sex)) for sex in sexes]
    usable = [one for one in read_cohort(path).legs if one.leg is not None]
    chosen = rng.choice(len(usable), min(count, len(usable)), replace=False)
    return [
        (one.sex, complete_measurements(one.leg, one.sex).measurements)
        for one in (usable[index] for index in chosen)
    ]


def simulated(jobs: Sequence[Job], pool: Executor, tell: Callable[[str], None]) -> Results:
    """Bandages of every leg by every way."""
    results: dict[str, list[list[Result]]] = {key: [[] for _ in jobs] for key in WAYS}
    taught: dict[int, list[tuple[int, BandageReading]]] = defaultdict(list)
    as_planned: Counter[str] = Counter()
    for job, before in zip(jobs, pool.map(before_readings, jobs), strict=True):
        for key, bandages in before.results.items():
            results[key][job.number] = bandages
        taught[job.clinic] += [(job.number, reading) for reading in before.taught]
        as_planned[before.as_planned] += 1
    tell(f"bandages laid exactly as planned are told: {dict(as_planned)}")
    learnt = [_learnt(job, taught[job.clinic]) for job in jobs]
    for count in COUNTS:
        for clinic in range(CLINICS):
            own = [one[count].clinic for one in learnt[clinic::CLINICS]]
            medians = [one.median for one in own]
            tell(f"clinic {clinic + 1}, remainder from {count} bandages: "
                 f"{np.mean(medians):.2f} (SD {np.std(medians):.2f}), "
                 f"range95 {np.mean([one.range95 for one in own]):.2f}")  # fmt: skip
    for job, found in zip(jobs, pool.map(after_readings, jobs, learnt), strict=True):
        for key, bandages in found.items():
            results[key][job.number] = bandages
    return results


def _learnt(job: Job, taught: Sequence[tuple[int, BandageReading]]) -> dict[int, Calibration]:
    """What the clinic's sensor taught on other legs than this, a few readings and then more."""
    others = [reading for number, reading in taught if number != job.number]
    order = job.rng(9).permutation(len(others))
    found = {}
    for count in COUNTS:
        read = [others[i] for i in order[:count]]
        calibration = learnt_calibration(read, job.policy)
        if calibration is None:
            raise ValueError("the clinic has no readings")
        found[count] = calibration
    return found


def share(legs: Sequence[Sequence[float]]) -> tuple[float, float]:
    """Share of bandages and its standard error, legs drawn and the clinics as they are.

    Bandages of one leg go together; the four clinics are given, not drawn.
    """
    variance = 0.0
    for clinic in range(CLINICS):
        means = np.array([np.mean(leg) for leg in legs[clinic::CLINICS] if len(leg)])
        variance += (len(means) / len(legs)) ** 2 * means.var(ddof=1) / len(means)
    return float(np.mean([value for leg in legs for value in leg])), float(np.sqrt(variance))


def paired(results: Results, key: str, other: str) -> tuple[float, float]:
    """How much more often every site is in range by one way than by another, same bandages."""
    return share(
        [
            [float(a.in_range) - float(b.in_range) for a, b in zip(ours, theirs, strict=False)]
            for ours, theirs in zip(results[key], results[other], strict=True)
        ]
    )


def _row(results: Results, key: str, what: Callable[[Result], float]) -> tuple[float, float]:
    return share([[float(what(one)) for one in leg] for leg in results[key]])


def _percent(value: tuple[float, float], *, sign: bool = False) -> str:
    return f"{100 * value[0]:{'+' if sign else ''}.1f} ± {100 * value[1]:.1f}"


def table(results: Results) -> Iterable[str]:
    """The headline table."""
    yield (
        "| | Way of working | every site in range % | gaiter in range % | above 60 mmHg % | "
        "every site, against 2 | plan promised % | plan fits % |"
    )
    yield "|---|---|---|---|---|---|---|---|"
    for key, way in WAYS.items():
        cells = [
            key,
            way.title,
            _percent(_row(results, key, lambda r: r.in_range)),
            _percent(_row(results, key, lambda r: r.at_gaiter)),
            _percent(_row(results, key, lambda r: r.too_much)),
            "" if key == "2" else _percent(paired(results, key, "2"), sign=True),
            f"{100 * _row(results, key, lambda r: r.promised)[0]:.0f}",
            f"{100 * _row(results, key, lambda r: r.fits)[0]:.0f}",
        ]
        yield f"| {' | '.join(cells)} |"


def by_clinic(results: Results) -> Iterable[str]:
    """Every site in range, clinic by clinic."""
    levels = " | ".join(f"{level:.2f}" for level in CLINIC_LEVELS)
    yield f"| | every site in range %, clinic measures this much of the girth formula: | {levels} |"
    yield "|---|---|" + "---|" * CLINICS
    for key, way in WAYS.items():
        shares = [
            100 * np.mean([one.in_range for leg in results[key][clinic::CLINICS] for one in leg])
            for clinic in range(CLINICS)
        ]
        yield f"| {key} | {way.title} | {' | '.join(f'{one:.0f}' for one in shares)} |"


def advice(results: Results) -> Iterable[str]:
    """What the judgement said, and what became of the bandages it had done again."""
    yield (
        "| | good % | redo % | take off % | read again twice % | redone: in range before, after % "
        "| taken off: in range before, after % | taken off: above 60 before, after % |"
    )
    yield "|---|---|---|---|---|---|---|---|"
    for key, way in WAYS.items():
        if not way.redo:
            continue
        every = [one for leg in results[key] for one in leg]
        cells = [
            f"{100 * np.mean([one.advice == words for one in every]):.0f}"
            for words in ("good", "redo", "take off now", "read again")
        ]
        redone = [one for one in every if one.advice == "redo"]
        off = [one for one in every if one.advice == "take off now"]
        cells += [
            _before_after(redone, lambda r: r.first_in_range, lambda r: r.in_range),
            _before_after(off, lambda r: r.first_in_range, lambda r: r.in_range),
            _before_after(off, lambda r: r.first_too_much, lambda r: r.too_much),
        ]
        yield f"| {key} | {' | '.join(cells)} |"


def by_site(results: Results) -> Iterable[str]:
    """Below and above its range, site by site."""
    names = " | ".join(f"{site.label}: below, above %" for site in SITES)
    yield f"| | Way of working | {names} |"
    yield "|---|---|" + "---|" * len(SITES)
    for key, way in WAYS.items():
        off = np.array([one.off for leg in results[key] for one in leg])
        cells = [f"{100 * np.mean(site < 0):.0f}, {100 * np.mean(site > 0):.0f}" for site in off.T]
        yield f"| {key} | {way.title} | {' | '.join(cells)} |"


def _before_after(
    bandages: Sequence[Result], before: Callable[[Result], bool], after: Callable[[Result], bool]
) -> str:
    if not bandages:
        return "none"
    shares = [100 * np.mean([what(one) for one in bandages]) for what in (before, after)]
    return f"{shares[0]:.0f}, {shares[1]:.0f} (of {len(bandages)})"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--legs", type=Path)
    parser.add_argument("--count", type=int, default=120)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--system", default="wool_gauze_long_stretch")
    parser.add_argument("--ankle", type=float, nargs=2, metavar=("LOW", "HIGH"),
                        help="other bounds of the true ankle's front over side")  # fmt: skip
    given = parser.parse_args()
    if given.count < FEWEST_LEGS:
        parser.error(f"--count must be at least {FEWEST_LEGS}, so that every clinic has "
                     f"{max(COUNTS)} readings on other legs; received {given.count}")  # fmt: skip
    policy, catalogue, start = shipped_policy(), shipped_catalogue(), time.perf_counter()
    ankle = tuple(given.ankle) if given.ankle else None
    jobs = [
        Job(number, given.seed, number % CLINICS, sex, leg, given.system, policy, catalogue, ankle)
        for number, (sex, leg) in enumerate(legs_of(given.legs, given.count, given.seed))
    ]

    def tell(words: str) -> None:
        print(f"{time.perf_counter() - start:5.0f} s  {words}", flush=True)

    tell(f"{len(jobs)} legs, {BANDAGES_PER_LEG} bandages each, {given.system}, "
         f"{os.cpu_count()} processors")  # fmt: skip
    with process_pool() as pool:
        results = simulated(jobs, pool, tell)
    tell("done")
    unplanned = sum(not leg for key in WAYS for leg in results[key])
    print(f"legs times ways without a plan: {unplanned}\n")
    for part in (table, by_site, by_clinic, advice):
        print("\n".join(part(results)), end="\n\n")
    print(YARDSTICKS)


if __name__ == "__main__":
    main()
