"""``gaiter new``: empty documents to fill in."""

from pathlib import Path
from typing import Annotated

import typer

from gaiter.cli.commands import add
from gaiter.cli.output import STANDARD, console, note_written, plain_errors
from gaiter.core.errors import InputError

new = typer.Typer(no_args_is_help=True, help="Empty documents to fill in.")


@new.callback()
def _documents() -> None:
    """Empty documents to fill in."""


def case(
    path: Annotated[
        Path, typer.Argument(metavar="[PATH]", help="File to write; else it is printed.")
    ] = STANDARD,
    force: Annotated[bool, typer.Option("--force", help="Replace the file if it exists.")] = False,
) -> None:
    """Write an empty case with every field, its range and its allowed values.

    Required lines begin with #!, the others with #?: write the value and take the mark away.
    """
    with plain_errors():
        from gaiter.files.case_template import case_template
        from gaiter.files.whole_file import write_whole

        text = case_template()
        if path == STANDARD:
            console.print(text, end="", markup=False)
            return
        if path.exists() and not force:
            raise InputError(f"{path}: exists already: choose another name, or give --force")
        write_whole(path, text.encode())
        note_written(path)
        console.print(f"An empty case: {path}", markup=False)


add(new, case)
