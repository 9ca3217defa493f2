"""What every command shares: printing, exit codes, and no traceback for the user."""

import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import typer
from rich.console import Console

from gaiter.core.errors import InputError
from gaiter.files.extras import needed_extra

if TYPE_CHECKING:
    from gaiter.core.safety import Outcome

DONE, FAILED, BAD_INPUT, STOPPED_FOR_SAFETY, NOT_YET = 0, 1, 2, 3, 4
INTERRUPTED = 130  # as a shell reports Ctrl-C

console = Console(highlight=False, soft_wrap=True)
errors = Console(stderr=True, highlight=False, soft_wrap=True)


@contextmanager
def plain_errors() -> Iterator[None]:
    """Turns what a user's input can cause into one sentence and exit code 2."""
    try:
        with needed_extra():
            yield
    except InputError as error:
        for line in str(error).splitlines():
            errors.print(line, markup=False)
        raise typer.Exit(BAD_INPUT) from None
    except OSError as error:
        errors.print(f"{error.filename or 'file'}: {error.strerror}", markup=False)
        raise typer.Exit(BAD_INPUT) from None


def decided(outcomes: Iterable["Outcome"]) -> int:
    """Exit code of decisions: the worst of them, 3 stopped, 4 not yet, 0 may be compressed."""
    from gaiter.core.safety import Outcome

    found = set(outcomes)
    if Outcome.STOP in found:
        return STOPPED_FOR_SAFETY
    return NOT_YET if Outcome.NOT_YET in found else DONE


def print_json(text: str) -> None:
    """JSON to standard output, byte for byte."""
    sys.stdout.write(text if text.endswith("\n") else text + "\n")
