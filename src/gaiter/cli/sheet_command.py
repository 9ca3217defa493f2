"""``gaiter sheet``: prints the sheet of a plan again."""

from pathlib import Path
from typing import Annotated

import typer

from gaiter.cli.output import (
    STANDARD,
    console,
    note_written,
    plain_errors,
    print_bytes,
    print_mapping,
)


def sheet(
    plan_file: Annotated[
        Path, typer.Argument(metavar="PLAN", help="plan.json of a plan; - is standard input.")
    ],
    out: Annotated[
        Path, typer.Option("--out", "-o", help="PDF to write; - is standard output.")
    ] = Path("sheet.pdf"),
    as_json: Annotated[bool, typer.Option("--json", help="Print where the sheet is.")] = False,
) -> None:
    """Print the sheet of a plan again; the same plan gives the same bytes."""
    with plain_errors():
        from gaiter.files.plan_file import read_plan
        from gaiter.files.whole_file import write_whole
        from gaiter.sheets import sheet_pdf

        sheet = sheet_pdf(read_plan(plan_file))
        if out == STANDARD:
            print_bytes(sheet)
            return
        write_whole(out, sheet)
        note_written(out)
    if as_json:
        print_mapping({"sheet": str(out)})
    else:
        console.print(f"Sheet: {out}", markup=False)
