"""``gaiter sheet``: prints the sheet of a plan again."""

from pathlib import Path
from typing import Annotated

import typer

from gaiter.cli.output import console, plain_errors, print_json


def sheet(
    plan_file: Annotated[Path, typer.Argument(metavar="PLAN", help="plan.json of a plan.")],
    out: Annotated[Path, typer.Option(help="PDF to write.")] = Path("sheet.pdf"),
    as_json: Annotated[bool, typer.Option("--json", help="Print where the sheet is.")] = False,
) -> None:
    """Print the sheet of a plan again; the same plan gives the same bytes."""
    with plain_errors():
        from gaiter.files.plan_file import read_plan
        from gaiter.sheets import sheet_pdf

        out.write_bytes(sheet_pdf(read_plan(plan_file)))
    if as_json:
        print_json(f'{{"sheet": "{out.as_posix()}"}}')
    else:
        console.print(f"Sheet: {out}", markup=False)
