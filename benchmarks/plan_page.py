"""How fast the plan page answers a change, picture included: the budget is 250 ms.

    python benchmarks/plan_page.py examples/inner-ankle-ulcer.toml

Every change is a new one, so that nothing of it is cached; medians of several, and the parts.
"""

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

from gaiter.core.draw.leg_drawing import leg_drawing
from gaiter.core.draw.profile import pressure_profile
from gaiter.core.draw.surface_drawing import surface_map
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Adjustment, LayerChange, bench_of
from gaiter.files.case_file import read_case
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy

SYSTEM, MATERIAL = "wool_gauze_long_stretch", "long_stretch_elastic"


def timed(action: Callable[[], object]) -> tuple[float, object]:
    started = time.perf_counter()
    result = action()
    return 1000 * (time.perf_counter() - started), result


def main() -> None:
    case = read_case(Path(sys.argv[1]))
    computed, bench = timed(lambda: bench_of(case, shipped_policy(), shipped_catalogue()))
    print(f"computed plan, first look: {computed:.0f} ms")
    changes = {
        "stretch": [Adjustment(SYSTEM, {MATERIAL: LayerChange(stretch=0.40 + n / 100)})
                    for n in range(9)],
        "overlap": [Adjustment(SYSTEM, {MATERIAL: LayerChange(overlap=0.40 + n / 100)})
                    for n in range(9)],
        "pad": [Adjustment(SYSTEM, pads_mm={"front ankle tendon": 2.0 * n}) for n in range(1, 9)],
        "end (first time)": [Adjustment(SYSTEM, end=Landmark.CALF)],
        "start (first time)": [Adjustment(SYSTEM, start=Landmark.INSTEP)],
    }  # fmt: skip
    for name, wanted in changes.items():
        rows = []
        for adjustment in wanted:
            planned, made = timed(lambda a=adjustment: bench.adjusted(Side.RIGHT, a))
            leg, bandaged_leg = made.leg, made.bandaged_leg
            system = leg.systems[0]
            drawn = [
                timed(lambda d=draw: d().to_text())[0]
                for draw in (
                    lambda one=leg, s=system, b=bandaged_leg: leg_drawing(one, s, b),
                    lambda one=leg, s=system: pressure_profile(one, s),
                    lambda one=leg, s=system, b=bandaged_leg: surface_map(one, s, b, 0.7),
                )
            ]
            rows.append((planned, *drawn, planned + sum(drawn)))
        plan, leg_ms, profile, unrolled, whole = (
            statistics.median(column) for column in zip(*rows, strict=True)
        )
        parts = f"leg {leg_ms:.0f}, profile {profile:.0f}, map {unrolled:.0f}"
        print(f"{name:20} {whole:4.0f} ms: strips, samples and judging {plan:.0f}, {parts}")


if __name__ == "__main__":
    main()
