"""Share of bandages in range by way of working, on a truth that is not the planner's.

    python -m benchmarks.headline --world level|anatomical|bodies [--legs PATH/TO/legs.csv]
        [--bodies FOLDER] [--count 40] [--seed 1] [--system NAME] [--ways 2 4 5s ...]
        [--redraw SEED] [--without hands|clinic|leg|place ...]

Real legs from a cohort file (as ``docs/study.md``; without one, legs from the published
regressions), or whole bodies for the world of bodies, are measured, planned, bandaged with the
published hands, read and, where the tool says so, bandaged once more. ``benchmarks/worlds`` holds
the truth; ``docs/headline.md`` holds the tables and says what they mean.
"""

import argparse
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

from benchmarks.task import Job, Off, Setting
from benchmarks.ways import (
    BANDAGES_PER_LEG,
    TEACHES,
    WAYS,
    Result,
    after_readings,
    before_readings,
)
from benchmarks.worlds.bodies import bodies
from benchmarks.worlds.constants import Constants
from benchmarks.worlds.truth import SITES
from gaiter.core.applied.calibration import BandageReading, learnt_calibration
from gaiter.core.case import Calibration, Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.completion import complete_measurements
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.cohort_file import read_cohort
from gaiter.files.policy_file import shipped_policy
from gaiter.files.study_run import process_pool
from tests.strategies import random_leg

CLINICS = len(Constants().clinics)
# Each leg learns from the other legs of its clinic, and spread needs two of each.
FEWEST_LEGS = 3 * CLINICS
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


def jobs_of(setting: Setting, legs: Path | None, count: int) -> list[Job]:
    """So many legs, drawn without replacement."""
    rng = np.random.default_rng(setting.seed)
    drawn: list[tuple[Sex | None, LegMeasurements, int | None]] = []
    if setting.world == "bodies":
        if setting.bodies is None:
            raise ValueError("the world of bodies needs the folder that holds them")
        every = bodies(setting.bodies)
        chosen = [int(one) for one in rng.permutation(len(every))[:count]]
        drawn += [(every[one].sex, every[one].measured(), one) for one in chosen]
    elif legs is None:
        sexes = [list(Sex)[number % 2] for number in range(count)]
        drawn += [(sex, random_leg(rng, sex), None) for sex in sexes]
    else:
        usable = [one for one in read_cohort(legs).legs if one.leg is not None]
        drawn += [
            (one.sex, complete_measurements(one.leg, one.sex).measurements, None)
            for one in (usable[index] for index in rng.permutation(len(usable))[:count])
        ]
    return [
        Job(number, number % CLINICS, sex, leg, setting, body)
        for number, (sex, leg, body) in enumerate(drawn)
    ]


def simulated(
    jobs: Sequence[Job], ways: Sequence[str], pool: Executor, tell: Callable[[str], None]
) -> Results:
    """Bandages of every leg by some ways."""
    counts = sorted({WAYS[key].calibrated_on for key in ways} - {0})
    # So many bandages of each leg are read that the others of its clinic make the longest history.
    taught_by_leg = -(-max(counts, default=0) // max(len(jobs) // CLINICS - 1, 1))
    jobs = [replace(job, taught=taught_by_leg) for job in jobs]
    taught_way = (TEACHES,) if counts else ()
    results: dict[str, list[list[Result]]] = {key: [[] for _ in jobs] for key in ways}
    taught: dict[int, list[tuple[int, BandageReading]]] = defaultdict(list)
    as_planned: Counter[str] = Counter()
    first = partial(before_readings, ways=frozenset((*ways, *taught_way)))
    for job, before in zip(jobs, pool.map(first, jobs), strict=True):
        for key, bandages in before.results.items():
            if key in results:
                results[key][job.number] = bandages
        taught[job.clinic] += [(job.number, reading) for reading in before.taught]
        as_planned[before.as_planned] += 1
    tell(f"bandages laid exactly as planned are told: {dict(as_planned)}")
    if not counts:
        return results
    learnt = [_learnt(job, taught[job.clinic], counts) for job in jobs]
    for count in counts:
        for clinic in range(CLINICS):
            own = [one[count].clinic for one in learnt[clinic::CLINICS]]
            medians = [one.median for one in own]
            tell(f"clinic {clinic + 1}, remainder from {count} bandages: "
                 f"{np.mean(medians):.2f} (SD {np.std(medians):.2f}), "
                 f"range95 {np.mean([one.range95 for one in own]):.2f}")  # fmt: skip
    then = partial(after_readings, ways=frozenset(ways))
    for job, found in zip(jobs, pool.map(then, jobs, learnt), strict=True):
        for key, bandages in found.items():
            results[key][job.number] = bandages
    return results


def _learnt(
    job: Job, taught: Sequence[tuple[int, BandageReading]], counts: Sequence[int]
) -> dict[int, Calibration]:
    """What the clinic's sensor taught on other legs than this, a few readings and then more."""
    others = [reading for number, reading in taught if number != job.number]
    order = job.rng(9).permutation(len(others))
    found = {}
    for count in counts:
        read = [others[i] for i in order[:count]]
        calibration = learnt_calibration(read, job.setting.policy)
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
        "| | Way of working | every site in range % | gaiter in range % | above a maximum % | "
        "every site, against 4 | plan promised % | plan fits % | no plan % |"
    )
    yield "|---|---|---|---|---|---|---|---|---|"
    for key in results:
        cells = [
            key,
            WAYS[key].title,
            _percent(_row(results, key, lambda r: r.in_range)),
            _percent(_row(results, key, lambda r: r.at_gaiter)),
            _percent(_row(results, key, lambda r: r.too_much)),
            "" if key == "4" or "4" not in results
            else _percent(paired(results, key, "4"), sign=True),
            f"{100 * _row(results, key, lambda r: r.promised)[0]:.0f}",
            f"{100 * _row(results, key, lambda r: r.fits)[0]:.0f}",
            f"{100 * _row(results, key, lambda r: not r.planned)[0]:.0f}",
        ]  # fmt: skip
        yield f"| {' | '.join(cells)} |"


def by_clinic(results: Results, constants: Constants) -> Iterable[str]:
    """Every site in range, clinic by clinic."""
    levels = " | ".join(f"{level:.2f}" for level in constants.clinics)
    yield f"| | every site in range %, clinic measures this much of the girth formula: | {levels} |"
    yield "|---|---|" + "---|" * CLINICS
    for key in results:
        shares = [
            100 * np.mean([one.in_range for leg in results[key][clinic::CLINICS] for one in leg])
            for clinic in range(CLINICS)
        ]
        yield f"| {key} | {WAYS[key].title} | {' | '.join(f'{one:.0f}' for one in shares)} |"


def advice(results: Results) -> Iterable[str]:
    """What the judgement said, and what became of the bandages it had done again."""
    yield (
        "| | good % | redo % | take off % | read again twice % | redone: in range before, after % "
        "| taken off: in range before, after % | taken off: above a maximum before, after % |"
    )
    yield "|---|---|---|---|---|---|---|---|"
    for key in results:
        if not WAYS[key].redo:
            continue
        every = [one for leg in results[key] for one in leg if one.planned]
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
    for key in results:
        off = np.array([one.off for leg in results[key] for one in leg if one.planned])
        cells = [f"{100 * np.mean(site < 0):.0f}, {100 * np.mean(site > 0):.0f}" for site in off.T]
        yield f"| {key} | {WAYS[key].title} | {' | '.join(cells)} |"


def aims(results: Results) -> Iterable[str]:
    """What the plans aim at, and what lies there in the middle of all bandages, site by site."""
    names = " | ".join(f"{site.label}: plan, truth mmHg" for site in SITES)
    yield f"| | Way of working | {names} | plan below 33 at the gaiter % |"
    yield "|---|---|---|" + "---|" * len(SITES)
    for key in results:
        every = [one for leg in results[key] for one in leg if one.planned]
        likely = np.array([one.likely_mmhg for one in every])
        true = np.array([one.true_mmhg for one in every])
        medians = zip(np.median(likely, axis=0), np.median(true, axis=0), strict=True)
        cells = [f"{plan:.0f}, {truth:.0f}" for plan, truth in medians]
        weak = 100 * np.mean(likely[:, SITES.index(Landmark.GAITER)] < 33)
        yield f"| {key} | {WAYS[key].title} | {' | '.join(cells)} | {weak:.0f} |"


def _before_after(
    bandages: Sequence[Result], before: Callable[[Result], bool], after: Callable[[Result], bool]
) -> str:
    if not bandages:
        return "none"
    shares = [100 * np.mean([what(one) for one in bandages]) for what in (before, after)]
    return f"{shares[0]:.0f}, {shares[1]:.0f} (of {len(bandages)})"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--world", choices=("level", "anatomical", "bodies"), default="level")
    parser.add_argument("--legs", type=Path, help="cohort file, for the first two worlds")
    parser.add_argument("--bodies", type=Path, help="folder of the whole bodies")
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--system", default="wool_gauze_long_stretch")
    parser.add_argument("--ways", nargs="+", choices=tuple(WAYS), default=tuple(WAYS))
    parser.add_argument("--redraw", type=int, metavar="SEED",
                        help="every constant of the world anew, within 30 %%")  # fmt: skip
    parser.add_argument("--without", nargs="+", type=Off, choices=tuple(Off), default=(),
                        help="what is switched off, to see what it costs")  # fmt: skip
    given = parser.parse_args()
    if given.count < FEWEST_LEGS:
        parser.error(f"--count must be at least {FEWEST_LEGS}, three legs for each of {CLINICS} "
                     f"clinics; received {given.count}")  # fmt: skip
    if given.world == "bodies" and given.bodies is None:
        parser.error("--world bodies needs --bodies, the folder of the whole bodies")
    constants = Constants() if given.redraw is None else Constants().redrawn(given.redraw)
    setting = Setting(
        given.seed, given.system, given.world, shipped_policy(), shipped_catalogue(), constants,
        frozenset(given.without), given.bodies,
    )  # fmt: skip
    start = time.perf_counter()
    jobs = jobs_of(setting, given.legs, given.count)

    def tell(words: str) -> None:
        print(f"{time.perf_counter() - start:5.0f} s  {words}", flush=True)

    off = f", without {', '.join(given.without)}" if given.without else ""
    redrawn = "" if given.redraw is None else f", constants redrawn from {given.redraw}"
    tell(f"{given.world}{redrawn}{off}: {len(jobs)} legs, {BANDAGES_PER_LEG} bandages each, "
         f"{given.system}")  # fmt: skip
    with process_pool() as pool:
        results = simulated(jobs, given.ways, pool, tell)
    tell("done\n")
    parts = [
        table(results),
        by_clinic(results, constants),
        by_site(results),
        aims(results),
        advice(results),
    ]
    for part in parts:
        print("\n".join(part), end="\n\n")
    print(YARDSTICKS)


if __name__ == "__main__":
    main()
