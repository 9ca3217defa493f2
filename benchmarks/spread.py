"""Times the spread: ``python benchmarks/spread.py [CASE.toml]``.

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

import numpy as np

from gaiter.core.bandage.technique import Pattern
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.plan.fitting import HOLDING_TURNS, Fitting, Geometry, Padding
from gaiter.core.plan.planner import Workbench
from gaiter.core.pressure import kernel
from gaiter.core.pressure.coarse import (
    COLUMNS,
    ROWS,
    coarse_cells,
    row_centres_cm,
    row_height_cm,
)
from gaiter.core.pressure.draws import Hands, Layout, SpreadInputs, draws, sampled_bandages
from gaiter.core.pressure.spread import Band, summary_on_cells, units_of
from gaiter.exchange.case_file import read_case
from gaiter.exchange.catalogue_file import shipped_catalogue
from gaiter.exchange.policy_file import shipped_policy
from tests.strategies import percentile_leg

SAMPLES, RUNS = 10_000, 9
SIX_MATERIALS = (
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
    first_use()
    kernel.load()
    whole_bandages()
    design(Path(sys.argv[1]) if len(sys.argv) > 1 else EXAMPLE)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    print(f"memory of this process at its peak: {peak:.0f} MB [300]")


def first_use() -> None:
    """Loads the compiled sums and uses them once, in a process of its own."""
    script = (
        "import time, numpy as np\n"
        "from gaiter.core.pressure import kernel\n"
        "start = time.perf_counter()\n"
        "kernel.load()\n"
        "one = np.ones((1, 1))\n"
        "kernel.disc_sums(np.ones((1, 2, 1)), np.zeros(1, int), one, one)\n"
        "cells = kernel.Cells(np.ones((2, 1, 24)), np.ones((1, 64, 24)), np.ones((64, 24)))\n"
        "kernel.cell_summary(cells, one, one, np.ones((1, 64)), np.ones((64, 24)))\n"
        "print(time.perf_counter() - start)\n"
    )
    for name in ("first use in a fresh process", "again in another"):
        done = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)
        print(f"{name}: {float(done.stdout):.2f} s [1.5]")


def whole_bandages() -> None:
    ground = Fitting(percentile_leg(Sex.MALE, 1)).under(Padding(0.28))
    laid = ground.laid(Geometry(Pattern.SPIRAL, 0.7, 10.0))
    layers = [laid.sampled(resting=False)] * 3
    turns = [layer.turns for layer in layers]
    cells = coarse_cells([laid.strips] * 3, HOLDING_TURNS, 6.0)
    print(f"{sum(t.turns for t in turns)} turns, {ROWS} x {COLUMNS} cells, {SAMPLES} bandages")
    girths, discs = ground.girths_at(row_centres_cm(ground.surface)), ground.girths(ground.discs)
    inputs = SpreadInputs((Hands.of_spread(0.18),), 0.92, 0.35, (0.0, 0.28, 0.565))
    planned, limit = np.full(sum(t.turns for t in turns), 0.5), np.full((ROWS, COLUMNS), 60.0)
    size = Layout([t.turns for t in turns]).inputs

    def bandages():
        draws.cache_clear()
        return sampled_bandages(turns, inputs, draws(size, SAMPLES, 1))

    drawn = bandages()
    shift = (drawn.shift_cm / row_height_cm(ground.surface)).T
    tension, factor = (planned[:, None] * drawn.tension).T, girths.factor(drawn)

    def everything() -> None:
        made = bandages()
        summary = summary_on_cells(
            cells, row_height_cm(ground.surface), planned, girths, made, limit
        )
        for row in units_of(layers, discs, made).sum(axis=(0, 1)):
            Band.of(row)
        np.quantile(summary.ring_mmhg, [0.05, 0.5, 0.95], axis=0)

    seconds = best(lambda: kernel.cell_summary(cells, tension, shift, factor, limit))
    print(f"kernel: {seconds:.3f} s [0.10; aim 0.05]")
    print(f"discs of all sites: {best(lambda: units_of(layers, discs, drawn)):.3f} s")
    print(f"draws: {best(bandages):.3f} s")
    print(f"with draws and summaries: {best(everything):.3f} s [0.15]")


def design(path: Path) -> None:
    case = read_case(path)
    catalogue = shipped_catalogue()
    six = {key: catalogue[key] for key in SIX_MATERIALS}
    policy = shipped_policy()

    def designed() -> object:
        return Workbench(case, policy, catalogue.model_copy(update={"materials": six})).plan

    print(f"full design over six materials, {path.stem}: {best(designed, 5):.2f} s [0.5]")
    bench = Workbench(case, policy, catalogue)
    side = next(iter(bench.plan.legs))
    fits = bench.plan.legs[side].systems[0]
    gaiter = next(site for site in fits.sites if site.landmark is Landmark.GAITER)
    print(f"  {fits.title}: {gaiter.median_mmhg:.1f} mmHg at the gaiter; {fits.spread_words}")


if __name__ == "__main__":
    main()
