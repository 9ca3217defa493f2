"""What every command shares: printing, exit codes, and no traceback for the user."""

import json
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console

from gaiter.core.errors import InputError
from gaiter.files.extras import needed_extra

if TYPE_CHECKING:
    from gaiter.core.safety import Outcome

DONE, FAILED, BAD_INPUT, STOPPED_FOR_SAFETY, NOT_YET = 0, 1, 2, 3, 4
INTERRUPTED = 130  # as a shell reports Ctrl-C
# Of nothing a decision was made where the program or the input failed: that is graver than a stop.
_GRAVEST_FIRST = (INTERRUPTED, FAILED, BAD_INPUT, STOPPED_FOR_SAFETY, NOT_YET, DONE)

EXIT_CODES = (
    "Exit codes: 0 done; 1 a fault of the program, or a part of the work failed; 2 bad input; "
    "3 a leg is stopped for safety, or a bandage has to come off; 4 something has to be asked or "
    "measured first; 130 ended by Ctrl-C. Of several cases the gravest: 1, then 2, 3, 4."
)

console = Console(highlight=False, soft_wrap=True)
errors = Console(stderr=True, highlight=False, soft_wrap=True)

STANDARD = Path("-")
"""Standard input or output, where a command takes a path."""

AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON.")]

_written: list[str] = []


@contextmanager
def plain_errors() -> Iterator[None]:
    """Turns what a user's input can cause into one sentence and exit code 2."""
    try:
        with needed_extra():
            yield
    except InputError as error:
        complain(error)
        raise typer.Exit(BAD_INPUT) from None
    except BrokenPipeError:
        raise  # whoever read the output has seen enough; the command line ends quietly
    except OSError as error:
        errors.print(f"{error.filename or 'file'}: {error.strerror}", markup=False)
        raise typer.Exit(BAD_INPUT) from None
    except KeyboardInterrupt:
        raise typer.Exit(INTERRUPTED) from None


def complain(error: InputError) -> None:
    """Every problem of an input on the error stream, one a line."""
    for line in str(error).splitlines():
        errors.print(line, markup=False)


def decided(outcomes: Iterable["Outcome"]) -> int:
    """Exit code of decisions: the worst of them, 3 stopped, 4 not yet, 0 may be compressed."""
    from gaiter.core.safety import Outcome

    found = set(outcomes)
    if Outcome.STOP in found:
        return STOPPED_FOR_SAFETY
    return NOT_YET if Outcome.NOT_YET in found else DONE


def gravest(codes: Iterable[int]) -> int:
    """The gravest of several exit codes."""
    return min(codes, key=_GRAVEST_FIRST.index, default=DONE)


def require_one_standard_input(paths: Sequence[Path | None]) -> None:
    """Refuses ``-`` given twice: what is piped in can be read once."""
    if sum(path == STANDARD for path in paths) > 1:
        raise InputError("- (standard input) is given twice: save one of them to a file")


def note_written(*paths: Path) -> None:
    """Keeps in mind what lies on the disk now, in case the command cannot go on."""
    _written.extend(map(str, paths))


def written() -> Sequence[str]:
    """What this command has written so far."""
    return tuple(_written)


def print_json(text: str) -> None:
    """JSON to standard output; where it knows ASCII only, other signs are escaped."""
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        text = "".join(sign if sign.isascii() else json.dumps(sign)[1:-1] for sign in text)
    sys.stdout.write(text if text.endswith("\n") else text + "\n")


def print_mapping(result: Mapping[str, Any]) -> None:
    """A result as JSON."""
    print_json(json.dumps(result, indent=1, ensure_ascii=False))


def print_bytes(content: bytes) -> None:
    """A file to standard output, byte for byte."""
    sys.stdout.flush()
    sys.stdout.buffer.write(content)
    sys.stdout.buffer.flush()
