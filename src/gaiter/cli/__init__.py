"""The ``gaiter`` command."""

import sys
from collections.abc import Callable, Sequence
from typing import Annotated

import typer

from gaiter import __version__
from gaiter.cli.applied_command import applied
from gaiter.cli.audit_commands import audit
from gaiter.cli.bench_command import bench
from gaiter.cli.clinic_commands import (
    account,
    backup,
    database_roles,
    demo,
    keys,
    link,
    migrate,
    remove_factor,
    restore,
)
from gaiter.cli.commands import add
from gaiter.cli.log_command import log
from gaiter.cli.mesh_command import mesh
from gaiter.cli.new_command import new
from gaiter.cli.output import EXIT_CODES, FAILED, INTERRUPTED, console, errors, written
from gaiter.cli.plain_text import never_fail_to_print
from gaiter.cli.plan_command import plan
from gaiter.cli.reckon_command import reckon
from gaiter.cli.safety_command import safety
from gaiter.cli.schema_command import schema
from gaiter.cli.serve_command import serve
from gaiter.cli.sheet_command import sheet
from gaiter.cli.study_command import study
from gaiter.cli.technique_command import technique

__all__ = ["app", "main"]

app = typer.Typer(
    name="gaiter",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="Plans compression bandaging of the lower leg. For trained, licensed staff; supports and "
    "never replaces assessment and local policy; not a certified medical device.",
    epilog=EXIT_CODES,
)
_MAIN: tuple[Callable[..., None], ...] = (
    plan, safety, sheet, mesh, applied, technique, bench, log, reckon, study, schema
)  # fmt: skip
_CLINIC: tuple[Callable[..., None], ...] = (
    serve, demo, migrate, database_roles, account, link, remove_factor, backup, restore
)  # fmt: skip
app.add_typer(new, name="new")
for command in _MAIN:
    add(app, command)
for command in _CLINIC:
    add(app, command, rich_help_panel="The clinic")
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
    debug: Annotated[  # taken out by main(), which catches what no command foresaw
        bool,
        typer.Option("--debug", help="Show the traceback of an unforeseen error; anywhere."),
    ] = False,
) -> None:
    """Options of the whole command."""


def main() -> None:
    """Run the command; whatever was not foreseen is one sentence, not a traceback."""
    never_fail_to_print()
    given, debug = _without_debug(sys.argv[1:])
    try:
        app(given, prog_name="gaiter")
    except KeyboardInterrupt:
        raise SystemExit(INTERRUPTED) from None
    except Exception as error:  # the last guard: no traceback unless it was asked for
        if debug:
            raise
        errors.print(_unforeseen(error), markup=False)
        raise SystemExit(FAILED) from error


def _without_debug(arguments: Sequence[str]) -> tuple[list[str], bool]:
    """The arguments without ``--debug``, wherever it stands before ``--``, and whether it did."""
    end = arguments.index("--") if "--" in arguments else len(arguments)
    options = [argument for argument in arguments[:end] if argument != "--debug"]
    return [*options, *arguments[end:]], len(options) < end


def _unforeseen(error: Exception) -> str:
    """What is known for certain: that it failed, and what lies on the disk all the same."""
    kept = f" Written before that: {', '.join(written())}." if written() else ""
    return (
        f"gaiter could not go on ({type(error).__name__}: {error}).{kept} Please report it with "
        f"the file that caused it, without a person's identity; --debug shows where it happened."
    )
