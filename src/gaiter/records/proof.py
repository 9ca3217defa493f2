"""The audit log proves the record: what every row holds is what the log says last of it.

The log is replayed from its first entry, and the database compared with it, field by field. So
a row that anybody changed, made, removed or moved past the program is found and named. What the
log cannot tell by itself, that its own end was taken away, an anchor tells: the hash of its last
entry, noted outside the server.
"""

import json
import os
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.apps import apps
from django.db import connection, models, transaction
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.content import digest_logged, digest_now, name_of
from gaiter.records.ledger import Actor, BrokenChainError, Row, action, chained, unkeyed_hash
from gaiter.records.models import AuditEntry
from gaiter.records.sealing import SealError

_CHUNK = 200


@dataclass(frozen=True)
class Fault:
    """Something that does not stand as the log says: a row, a field of it or empty, and what."""

    row: str
    field: str
    what: str

    def __str__(self) -> str:
        where = f"{self.row} {self.field}".strip()
        return f"{where}: {self.what}"


@dataclass(frozen=True)
class Head:
    """The last entry of the log."""

    number: int
    hash: str

    @property
    def line(self) -> str:
        """As it is noted outside."""
        return f"{self.number} {self.hash}"


@dataclass(frozen=True)
class Proof:
    """What a replay of the log found; without faults the record is proved."""

    head: Head | None
    rows: int
    faults: tuple[Fault, ...]


def head() -> Head | None:
    """Number and hash of the last entry; None before the first."""
    last = AuditEntry.objects.order_by("-number").values_list("number", "hash").first()
    return Head(*last) if last else None


def proof() -> Proof:
    """Replays the log and compares every row with it, at one moment, while the clinic goes on."""
    with _one_moment():
        kept: dict[str, dict[str, bytes | None]] = {}
        faults: list[Fault] = []
        under_key = True
        try:
            for entry, keyed in chained():
                faults += _replayed(entry, kept)
                under_key = keyed
        except BrokenChainError as error:
            return Proof(head(), 0, (Fault("audit log", "", str(error)),))
        if not under_key:
            what = "its last entry is not under the clinic's key: run `gaiter migrate`"
            faults.append(Fault("audit log", "", what))
        rows = 0
        for row in _rows():
            rows += 1
            faults += _compared(row, kept.pop(name_of(row), None))
        faults += [Fault(name, "", "the row is gone") for name in kept]
        return Proof(head(), rows, tuple(faults))


def take_in() -> int:
    """Goes on with a log of an earlier version under the clinic's key; rows taken as they are.

    Earlier versions did not log all that a row holds. What the log does not tell is noted as it
    stands, once, in the first keyed entry; that entry covers all before it.
    """
    last = AuditEntry.objects.order_by("-number").first()
    if last is None or last.hash != unkeyed_hash(last):
        return 0
    with action(Actor(None, "command line"), "take the record into the log", "audit log") as act:
        kept: dict[str, dict[str, bytes | None]] = {}
        for entry, _keyed in chained():
            list(_replayed(entry, kept))
        count = 0
        for row in _rows():
            if list(_compared(row, kept.pop(name_of(row), None))):
                act.take_in(row)
                count += 1
        for name in kept:
            act.note(row=name, gone=True)
        return count


def _rows() -> Iterator[models.Model]:
    for model in apps.get_app_config("records").get_models():
        # Who is signed in, and what was tried, is no record: only rows are.
        if issubclass(model, Row) and model is not AuditEntry:
            yield from model._base_manager.order_by("pk").iterator(chunk_size=_CHUNK)


def _replayed(entry: AuditEntry, kept: dict[str, dict[str, bytes | None]]) -> Iterator[Fault]:
    """One entry: what it found otherwise than it was left, and what it leaves."""
    for change in json.loads(entry.changes):
        name = change.get("row")
        if not isinstance(name, str):
            continue
        if change.get("gone"):
            kept.pop(name, None)
            continue
        model = apps.get_model("records", name.partition(":")[0])
        fields = {field.attname: field for field in model._meta.concrete_fields}
        row = kept.setdefault(name, {})
        for when in ("before", "after"):
            for field_name, value in change.get(when, {}).items():
                field = fields.get(field_name)
                if field is None:
                    continue
                found = _digest(value, field)
                if when == "before" and row.get(field_name) not in (None, found):
                    what = f"was changed past the program before entry {entry.number}"
                    yield Fault(name, field_name, what)
                row[field_name] = found


def _digest(value: Any, field: Any) -> bytes | None:
    """What the log says of a field; None where an old key that sealed it is gone."""
    try:
        return digest_logged(value, field)
    except SealError:
        return None


def _compared(row: models.Model, kept: Mapping[str, bytes | None] | None) -> Iterator[Fault]:
    if kept is None:
        yield Fault(name_of(row), "", "no entry of the log made this row")
        return
    for field in row._meta.concrete_fields:
        name = field.attname
        try:
            now = digest_now(row, field)
        except SealError as error:
            yield Fault(name_of(row), name, str(error))
            continue
        if name in kept:
            if kept[name] != now:
                yield Fault(name_of(row), name, "holds something else than the log says")
        elif not _as_added(row, field):
            yield Fault(name_of(row), name, "no entry of the log tells what it holds")


def _as_added(row: models.Model, field: Any) -> bool:
    """Whether a column that came with a later version holds what it came with."""
    return getattr(row, field.attname) in (None, "", field.get_default())


@contextmanager
def _one_moment() -> Iterator[None]:
    """Everything read inside is of one moment, and nobody who writes waits."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield
    else:
        # Django's own transactions on SQLite are a writer's.
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")


def append_head(path: Path, at: str) -> Head | None:
    """Notes the end of the log at the end of a file of anchors, and has it on the disk.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    last = head()
    if last is None:
        return None
    try:
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600), "w") as file:
            file.write(f"{last.line} {at}\n")
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise InputError(
            _("{path} cannot be written ({strerror}): choose another place").format(
                path=path, strerror=error.strerror
            )
        ) from None
    return last


def against_anchor(path: Path) -> int:
    """Compares the log with a file of anchors; number of anchors.

    Raises
    ------
    InputError
        If the file cannot be read or holds none, or the log does not hold what it did once.
    """
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        raise InputError(
            _("{path} cannot be read: choose another file").format(path=path)
        ) from None
    anchors = [line.split() for line in lines if line.strip()]
    for place, parts in enumerate(anchors, start=1):
        if len(parts) < len(("number", "hash")) or not re.fullmatch(r"[0-9]{1,18}", parts[0]):
            raise InputError(
                _("line {place} of {path} is no anchor as `gaiter audit head` writes it").format(
                    place=place, path=path
                )
            )
    if not anchors:
        raise InputError(_("{path} holds no anchor: choose another file").format(path=path))
    for number, noted, *_at in anchors:
        if not AuditEntry.objects.filter(number=int(number), hash=noted).exists():
            raise InputError(
                _(
                    "entry {number} is not the one that was noted: entries were taken away or "
                    "the log was made anew"
                ).format(number=number)
            )
    return len(anchors)
