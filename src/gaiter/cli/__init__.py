"""The ``gaiter`` command."""

import sys
from collections.abc import Callable
from typing import Annotated

import typer

from gaiter import __version__
from gaiter.cli.applied_command import applied
from gaiter.cli.bench_command import bench
from gaiter.cli.clinic_commands import account, audit, backup, demo, keys, migrate, restore, serve
from gaiter.cli.log_command import log
from gaiter.cli.output import FAILED, console, errors
from gaiter.cli.plan_command import plan
from gaiter.cli.reckon_command import reckon
from gaiter.cli.safety_command import safety
from gaiter.cli.schema_command import schema
from gaiter.cli.sheet_command import sheet
from gaiter.cli.study_command import study
from gaiter.cli.technique_command import technique

__all__ = ["app", "main"]

app = typer.Typer(
    name="gaiter",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help="Plans compression bandaging of the lower leg. For trained, licensed staff; supports and "
    "never replaces assessment and local policy; not a certified medical device.",
)
_MAIN: tuple[Callable[..., None], ...] = (
    plan, safety, sheet, applied, technique, bench, log, reckon, study, schema
)  # fmt: skip
_CLINIC: tuple[Callable[..., None], ...] = (serve, demo, migrate, account, backup, restore)
for command in _MAIN:
    app.command()(command)
for command in _CLINIC:
    app.command(rich_help_panel="The clinic")(command)
app.add_typer(audit, name="audit", rich_help_panel="The clinic")
app.add_typer(keys, name="keys", rich_help_panel="The clinic")


def _version(wanted: bool) -> None:
    if wanted:
        console.print(f"gaiter {__version__}", markup=False)
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
    debug: Annotated[  # read in main(), which catches what no command foresaw
        bool, typer.Option("--debug", help="Show the traceback of an unforeseen error.")
    ] = False,
) -> None:
    """Options of the whole command."""


def main() -> None:
    """Run the command; whatever was not foreseen is one sentence, not a traceback."""
    try:
        app()
    except Exception as error:  # the last guard: no traceback unless it was asked for
        if "--debug" in sys.argv[1:]:
            raise
        errors.print(
            f"gaiter could not go on ({type(error).__name__}: {error}); nothing was written. "
            f"Please report it with the file that caused it, without a person's identity.",
            markup=False,
        )
        raise SystemExit(FAILED) from error
