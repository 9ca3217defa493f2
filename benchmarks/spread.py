"""Times the spread: ``python benchmarks/spread.py``.

Ten thousand whole bandages of 45 turns on 64 x 24 cells, with draws and summaries; first use of
the compiled sums in a fresh process; a whole design over a stock of six materials; memory. Best
of several runs in one process; budgets in brackets.
"""

import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.leg.completion import complete_measurements
from gaiter.core.plan import plan as plan_of
from gaiter.core.plan import planner
from gaiter.core.plan.design import Design
from gaiter.core.plan.laying import HOLDING_TURNS, Geometry
from gaiter.core.plan.padded_leg import BandagedLeg, Padding
from gaiter.core.spread import sums
from gaiter.core.spread.coarse import (
    COLUMNS,
    ROWS,
    coarse_cells,
    row_centres_cm,
    row_height_cm,
)
from gaiter.core.spread.draws import (
    Bandages,
    Hands,
    Layout,
    SpreadInputs,
    draws,
    sampled_bandages,
)
from gaiter.core.spread.sampling import Band, summary_on_cells, units_of
from gaiter.files.case_file import read_case
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy

SAMPLES, RUNS, ONCE = 10_000, 9, "--once"
# Gives fifteen turns on the example leg.
OVERLAP = 0.72
SIX = (
    "orthopaedic_wool", "coarse_gauze", "light_support", "light_elastic",
    "long_stretch_elastic", "cohesive_elastic",
)  # fmt: skip
EXAMPLE = Path(__file__).parent.parent / "examples" / "inner-ankle-ulcer.toml"


def best(work: Callable[[], object], runs: int = RUNS) -> float:
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    if ONCE in sys.argv:
        sums.load()
        Whole().summarised()
        print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000)
        return
    first_use()
    peak = subprocess.run([sys.executable, __file__, ONCE], capture_output=True, check=True)
    print(f"memory of a process that does it once: {float(peak.stdout):.0f} MB [300]")
    sums.load()
    whole_bandages()
    design()


def first_use() -> None:
    """Loads the compiled sums and uses them once, in a process of its own."""
    script = (
        "import time, numpy as np\n"
        "from gaiter.core.spread import sums\n"
        "start = time.perf_counter()\n"
        "sums.load()\n"
        "one = np.ones((1, 1))\n"
        "sums.disc_sums(np.ones((1, 2, 1)), np.zeros(1, int), one, one)\n"
        "cells = sums.Cells(np.ones((2, 1, 24)), np.ones((1, 64, 24)), np.ones((64, 24)))\n"
        "sums.cell_summary(cells, one, one, np.ones((1, 64)), np.ones((64, 24)))\n"
        "print(time.perf_counter() - start)\n"
    )
    for name in ("first use in a fresh process", "again in another"):
        done = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)
        print(f"{name}: {float(done.stdout):.2f} s [1.5]")


class Whole:
    """Three layers of fifteen turns on the example leg, everything but the draws made."""

    def __init__(self) -> None:
        case = read_case(EXAMPLE)
        leg = next(iter(case.legs.values()))
        measured = complete_measurements(leg, case.person.sex).measurements
        self.padded_leg = BandagedLeg(measured).under(Padding(0.28))
        laid = self.padded_leg.laid(Geometry(Pattern.SPIRAL, OVERLAP, 10.0))
        self.layers = [laid.sampled(resting=False)] * 3
        self.turns = [layer.turns for layer in self.layers]
        self.count = sum(turns.turns for turns in self.turns)
        self.cells = coarse_cells([laid.strips] * 3, HOLDING_TURNS, 6.0)
        self.discs = self.padded_leg.girths(self.padded_leg.discs)
        self.rows = self.padded_leg.girths_at(row_centres_cm(self.padded_leg.surface))
        self.row_cm = row_height_cm(self.padded_leg.surface)
        centres = row_centres_cm(self.padded_leg.surface)
        places = self.padded_leg.surface.landmark_s_cm.values()
        self.landmark_rows = [int(np.abs(centres - s).argmin()) for s in places]
        self.planned = np.full(self.count, 0.5)
        self.limit = np.full((ROWS, COLUMNS), 60.0)

    def bandages(self) -> Bandages:
        """Drawn anew."""
        draws.cache_clear()
        size = Layout([turns.turns for turns in self.turns]).inputs
        inputs = SpreadInputs((Hands.of_spread(0.18),), 0.92, 0.35, (0.0, 0.28, 0.565))
        return sampled_bandages(self.turns, inputs, draws(size, SAMPLES, 1))

    def summarised(self) -> None:
        """Draws, both sums, bands of every disc and of the ring at every landmark."""
        made = self.bandages()
        summary = summary_on_cells(
            self.cells, self.row_cm, self.planned, self.rows, made, self.limit
        )
        pressure = units_of(self.layers, self.discs, made).sum(axis=(0, 1))
        for samples in (*pressure, *summary.ring_mmhg[:, self.landmark_rows].T):
            Band.of(samples)


def whole_bandages() -> None:
    whole = Whole()
    print(f"{whole.count} turns, {ROWS} x {COLUMNS} cells, {SAMPLES} bandages")
    drawn = whole.bandages()
    tension = (whole.planned[:, None] * drawn.tension).T
    shift, factor = (drawn.shift_cm / whole.row_cm).T, whole.rows.factor(drawn)
    seconds = best(lambda: sums.cell_summary(whole.cells, tension, shift, factor, whole.limit))
    print(f"kernel: {seconds:.3f} s [0.10; aim 0.05]")
    print(f"discs of all sites: {best(lambda: units_of(whole.layers, whole.discs, drawn)):.3f} s")
    print(f"draws: {best(whole.bandages):.3f} s")
    print(f"with draws and summaries: {best(whole.summarised):.3f} s [0.15]")


def design() -> None:
    """Every system of six materials: the search alone, and the plan with everything written."""
    case, catalogue, policy = read_case(EXAMPLE), shipped_catalogue(), shipped_policy()
    stock = catalogue.model_copy(update={"materials": {key: catalogue[key] for key in SIX}})
    spent: list[float] = []
    search = planner.best_design

    def timed(*args: Any) -> Design:
        start = time.perf_counter()
        found = search(*args)
        spent[-1] += time.perf_counter() - start
        return found

    planner.best_design = timed

    def planned() -> object:
        spent.append(0.0)
        return plan_of(case, policy, stock)

    whole = best(planned, 5)
    print(f"full design over six materials: {min(spent):.2f} s [0.5]; the plan {whole:.2f} s")
    plan = plan_of(case, policy, stock)
    system = next(iter(plan.legs.values())).systems[0]
    print(f"  {system.title}: {system.outcome_reason}; band from {system.spread_words}")


if __name__ == "__main__":
    main()
