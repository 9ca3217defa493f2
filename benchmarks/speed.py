"""Times of the parts on this machine; run ``python benchmarks/speed.py``."""

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import Pattern, waypoints
from gaiter.core.bandage.strips import lay
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.completion import complete_measurements
from gaiter.core.plan import plan
from gaiter.core.pressure.surface_map import unit_map
from gaiter.files.case_file import read_case
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from gaiter.sheets import sheet_pdf

CASE = Path(__file__).parents[1] / "examples/inner-ankle-ulcer.toml"
REPEATS = 9


def median_ms(call: Callable[[], object]) -> float:
    call()
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return 1000 * sorted(times)[REPEATS // 2]


def process_ms() -> float:
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        gaiter = Path(sys.executable).parent / "gaiter"
        subprocess.run([gaiter, "plan", CASE, "--out", f"{folder}/out"], check=True,
                       stdout=subprocess.DEVNULL)  # fmt: skip
        return 1000 * (time.perf_counter() - start)


def main() -> None:
    # First, while this process is small: a child counts its parent's memory until it starts.
    whole_ms = sorted(process_ms() for _ in range(3))[1]
    peak_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    case, policy, catalogue = read_case(CASE), shipped_policy(), shipped_catalogue()
    measured = complete_measurements(case.legs["right"]).measurements
    surface = leg_surface(measured).padded(0.28)
    path = faired_path(surface, waypoints(surface, Pattern.HERRINGBONE, 10.0, 0.5))
    strips = lay(surface, path, 10.0)
    made = plan(case, policy, catalogue)
    rows = (
        ("surface with forms, 300 x 96", 30, median_ms(lambda: leg_surface(measured).forms)),
        ("path and strips", None, median_ms(lambda: lay(surface, faired_path(
            surface, waypoints(surface, Pattern.SPIRAL, 10.0, 0.5)), 10.0))),
        (f"pressure map, {strips.turns} turns", 15, median_ms(lambda: unit_map(strips))),
        ("plan in a running process", 1000, median_ms(lambda: plan(case, policy, catalogue))),
        ("sheet as PDF", 200, median_ms(lambda: sheet_pdf(made))),
        ("gaiter plan as a process, with PDF", 4000, whole_ms),
    )  # fmt: skip
    for name, budget, spent in rows:
        print(f"{name:<40}{spent:8.1f} ms" + (f"   budget {budget} ms" if budget else ""))
    print(f"{'memory of gaiter plan':<40}{peak_mb:8.1f} MB   budget 400 MB")


if __name__ == "__main__":
    main()
