"""``gaiter applied``: a plan and what was read on the bandage; pressure as applied, and advice."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaiter.cli.output import (
    STANDARD,
    STOPPED_FOR_SAFETY,
    AsJson,
    console,
    note_written,
    plain_errors,
    print_json,
    require_one_standard_input,
)

if TYPE_CHECKING:
    from gaiter.core.applied.document import Applied


def applied(
    plan_file: Annotated[
        Path, typer.Argument(metavar="PLAN.json", help="The plan, JSON; - is standard input.")
    ],
    readings_file: Annotated[
        Path,
        typer.Argument(metavar="READINGS", help="Readings, TOML or JSON; - is standard input."),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            help="Folder for applied.json and applied.svg. - prints applied.json.",
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Tell the pressure of a bandage that lies, from its mark spacings or a sensor.

    Exit code 0: good, or something to redo or read; 2: bad input; 3: take it off now.
    """
    with plain_errors():
        require_one_standard_input([plan_file, readings_file])
        # Imported here: the numerical libraries take longer to load than most commands to run.
        from gaiter.core.applied.document import Advice
        from gaiter.core.applied.judge import applied_pressure
        from gaiter.core.applied.readings import Readings
        from gaiter.core.draw.profile import applied_profile
        from gaiter.files.applied_file import applied_json, with_identity
        from gaiter.files.document_file import read_document
        from gaiter.files.plan_file import read_plan, write_folder

        plan, readings = read_plan(plan_file), read_document(readings_file, Readings)
        made = with_identity(applied_pressure(plan, readings), plan, readings)
        text = applied_json(made)
        if out is not None and out != STANDARD:
            drawing = applied_profile(plan.legs[made.side], made)
            write_folder(
                out,
                {"applied.json": text.encode(), "applied.svg": drawing.to_text().encode()},
            )
            note_written(out / "applied.json", out / "applied.svg")
        if as_json or out == STANDARD:
            print_json(text)
        else:
            _summary(made)
    if made.advice is Advice.TAKE_OFF:
        raise typer.Exit(STOPPED_FOR_SAFETY)


def _summary(made: "Applied") -> None:
    console.print(f"{made.side.value.capitalize()} leg, {made.title.lower()}", style="bold")
    console.print(f"  {made.advice.value.upper()}", style="bold")
    for reason in made.reasons:
        console.print(f"  - {reason}", markup=False)
    if made.redo:
        redo = made.redo
        if made.advice.value == "take off now":
            console.print("  If the prescriber has it bandaged again:", markup=False)
        console.print(
            f"  Redo layer {redo.layer}, {redo.title.lower()}, from turn {redo.from_turn}, marks "
            f"{redo.mark_spacing_cm:.1f} cm apart; what lies over it comes off first",
            markup=False,
        )
    console.print("  place          planned   as applied   band      aim")
    for site in made.sites:
        aim = "–"
        if site.target_low_mmhg is not None and site.target_high_mmhg is not None:
            aim = f"{site.target_low_mmhg:.0f}–{site.target_high_mmhg:.0f}"
        console.print(
            f"  {site.landmark.label:<18}{site.planned_mmhg:4.0f}{site.median_mmhg:13.0f}"
            f"{f'{site.low_mmhg:.0f}–{site.high_mmhg:.0f}':>11}{aim:>9} mmHg",
            markup=False,
        )
    for layer in made.layers:
        for spacing in layer.spacings:
            read = "not read" if spacing.read_cm is None else f"read {spacing.read_cm:g} cm"
            console.print(
                f"  layer {layer.number}, {spacing.place.label}: marks planned "
                f"{spacing.planned_cm:.1f} cm, {read}, likely {spacing.likely_cm:.1f} cm "
                f"({spacing.low_cm:.1f}–{spacing.high_cm:.1f}); tension "
                f"{spacing.tension_percent:+.0f} %",
                markup=False,
            )
    for caution in made.cautions:
        console.print(f"  {caution}", markup=False)
