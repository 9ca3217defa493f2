"""Commands of the audit log: what it proves, and its end noted outside the server."""

from pathlib import Path
from typing import Annotated

import typer

from gaiter.cli.clinic_commands import clinic_errors, opened_database, say, set_up
from gaiter.cli.commands import add
from gaiter.cli.output import AsJson
from gaiter.core.errors import InputError

audit = typer.Typer(no_args_is_help=True, help="The audit log, and what it proves.")
# More are counted; the first say what happened.
_NAMED = 20


def verify(
    head: Annotated[
        str, typer.Option("--head", help="Hash of the last entry, as you kept it.")
    ] = "",
    anchor: Annotated[
        Path | None, typer.Option("--anchor", help="File that `gaiter audit head --append` wrote.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Prove that nobody changed the audit log, nor any row of the record past the program."""
    with clinic_errors():
        set_up()
        opened_database()
        from gaiter.records.models import AuditEntry
        from gaiter.records.proof import against_anchor, proof

        told = proof()
        if told.faults:
            lines = [f"the audit log does not hold: {len(told.faults)} found", *told.faults]
            if len(told.faults) > _NAMED:
                lines = [*lines[: _NAMED + 1], f"and {len(told.faults) - _NAMED} more"]
            raise InputError("\n".join(map(str, lines)))
        if head and not AuditEntry.objects.filter(hash=head).exists():
            raise InputError(f"no entry has the hash {head}: entries after it were taken away")
        anchors = against_anchor(anchor) if anchor is not None else 0
        number, end = (told.head.number, told.head.hash) if told.head else (0, None)
        words = (
            f"The audit log holds: {number} entries, the last one {end or 'none'}. "
            f"{told.rows} rows stand as it says."
        )
        if anchor is not None:
            words += f" {anchors} anchors are part of it."
        say(
            words, as_json, holds=True, entries=number, head=end, rows=told.rows, anchors=anchors
        )  # fmt: skip


def show_head(
    append: Annotated[
        Path | None,
        typer.Option("--append", help="File of anchors, at whose end it is noted as well."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Print number and hash of the last entry: whoever keeps it notices if entries go."""
    with clinic_errors():
        set_up()
        opened_database()
        from django.utils import timezone

        from gaiter.records.proof import append_head, head

        now = timezone.localtime().isoformat(timespec="seconds")
        last = append_head(append, now) if append is not None else head()
        if last is None:
            raise InputError("the audit log is empty: nothing was recorded yet")
        say(f"{last.line} {now}", as_json, number=last.number, hash=last.hash, at=now)


add(audit, verify, name="verify")
add(audit, show_head, name="head")
