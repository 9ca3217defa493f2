"""``gaiter bench``: a roll's readings in, its stretch curve and stock entry out."""

from pathlib import Path
from typing import Annotated

import typer

from gaiter.cli.output import (
    BAD_INPUT,
    AsJson,
    console,
    errors,
    note_written,
    plain_errors,
    print_mapping,
)


def bench(
    readings: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="Bench test, TOML or JSON.")
    ] = None,
    instructions: Annotated[
        Path | None, typer.Option(help="Write the one-page bench sheet (PDF) here instead.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Fit the stretch curve of your own roll and print it with a stock entry for a case."""
    if (readings is None) == (instructions is None):
        errors.print("give either a FILE with readings or --instructions FILE.pdf", markup=False)
        raise typer.Exit(BAD_INPUT)
    with plain_errors():
        if instructions is not None:
            from gaiter.files.whole_file import write_whole
            from gaiter.sheets import bench_sheet_pdf

            write_whole(instructions, bench_sheet_pdf())
            note_written(instructions)
            if as_json:
                print_mapping({"instructions": str(instructions)})
            else:
                console.print(f"Bench sheet: {instructions}", markup=False)
            return
        if readings is not None:
            _print_fit(readings, as_json)


def _print_fit(readings: Path, as_json: bool) -> None:
    from gaiter.core.fabric.bench_test import fit_bench_test
    from gaiter.files.bench_file import read_bench, stock_entry

    test = read_bench(readings)
    result = fit_bench_test(test)
    curve = result.curve
    steps = [curve.usual_stretch * share for share in (0.25, 0.5, 0.75, 1.0, 1.25)]
    table = [
        {"stretch_percent": 100 * e, "mark_spacing_cm": 10 * (1 + e),
         "tension_n_per_cm": float(curve.tension_n_per_cm(e))}
        for e in steps if e < curve.locking_stretch
    ]  # fmt: skip
    if as_json:
        numbers = {
            "usual_stretch": curve.usual_stretch,
            "usual_tension_n_per_cm": curve.usual_tension_n_per_cm,
            "usual_tension_error_share": result.tension_error_share,
            "locking_stretch": curve.locking_stretch,
            "locking_stretch_error": result.lock_error,
            "scatter_n_per_cm": result.tension_sd_n_per_cm,
            "hysteresis": result.hysteresis,
            "relaxation": result.relaxation,
            "odd": list(result.odd),
            "curve": table,
        }
        print_mapping(numbers)
        return
    console.print(f"{test.material}, tested {test.tested_on}, {test.washes} washes", markup=False)
    console.print("  stretch   10 cm marks   tension")
    for row in table:
        console.print(
            f"  {row['stretch_percent']:5.0f} %    {row['mark_spacing_cm']:6.1f} cm   "
            f"{row['tension_n_per_cm']:6.2f} N/cm",
            markup=False,
        )
    console.print(
        f"Tension at {curve.usual_stretch:.0%}: {curve.usual_tension_n_per_cm:.2f} N/cm "
        f"(± {result.tension_error_share:.0%}); locks near {curve.locking_stretch:.0%} "
        f"(± {result.lock_error:.0%}); scatter {result.tension_sd_n_per_cm:.2f} N/cm",
        markup=False,
    )
    for name, value in (("Lost half-way back", result.hysteresis),
                        ("Lost while held", result.relaxation)):  # fmt: skip
        words = "not tested" if value is None else f"{value:.0%}"
        console.print(f"{name}: {words}", markup=False)
    for odd in result.odd:
        console.print(f"Odd reading: {odd}", markup=False)
    console.print("\nFor the case file:\n", markup=False)
    console.print(stock_entry(test, result), markup=False)
