"""Encrypted backups, consistent while the clinic runs, each proved by restoring it.

The file is a line of JSON with sizes, then the rows of every table as JSON lines, compressed and
sealed piece by piece under the current key. The same file restores into SQLite or PostgreSQL.
"""

import gzip
import hashlib
import io
import json
import os
import sqlite3
import tempfile
from base64 import b64decode, b64encode
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from django.apps import apps
from django.db import connection, models, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.sealing import SealError, open_bytes, seal_bytes

_PLACE = "backup.v1"
_MAGIC = b"gaiter.backup/1\n"
_PIECE = 4 * 2**20
_LENGTH_BYTES = 8
# Sessions sign people in, and counted tries keep them out; neither belongs to the record.
_LEFT_OUT = {"entrance_session", "entrance_tries", "django_content_type", "auth_permission",
             "auth_group", "auth_group_permissions"}  # fmt: skip


@dataclass(frozen=True)
class Report:
    """What a backup holds."""

    tables: int
    rows: int
    audit: int
    hashes: dict[str, str]


def _quoted(name: str | None) -> str:
    return str(connection.ops.quote_name(name or ""))


def _tables() -> list[type[models.Model]]:
    return [
        model
        for model in apps.get_models()
        if model._meta.db_table not in _LEFT_OUT and model._meta.managed
    ]


def _lines() -> Iterator[tuple[str, bytes]]:
    """Table and row, column values as the database holds them: what is sealed stays sealed."""
    with connection.cursor() as cursor:
        for model in _tables():
            meta = model._meta
            columns = [field.column for field in meta.concrete_fields]
            named = ", ".join(_quoted(column) for column in columns)
            table = _quoted(meta.db_table)
            key = _quoted(meta.pk.column)
            cursor.execute(f"SELECT {named} FROM {table} ORDER BY {key}")  # names of our own models
            while rows := cursor.fetchmany(500):
                for row in rows:
                    values = [
                        _plain(field, value)
                        for field, value in zip(meta.concrete_fields, row, strict=True)
                    ]
                    yield (
                        meta.db_table,
                        json.dumps([meta.db_table, values], sort_keys=True).encode() + b"\n",
                    )


def _plain(field: Any, value: Any) -> Any:
    """A column as both databases write it alike."""
    kind = field.get_internal_type()
    text = isinstance(value, str)
    plain: Any = value
    if value is None:
        pass
    elif kind == "BooleanField":
        plain = bool(value)
    elif kind == "JSONField":
        plain = json.loads(value) if text else value
    elif kind == "DateTimeField":
        moment = datetime.fromisoformat(value) if text else value
        plain = moment.replace(tzinfo=None).isoformat(timespec="microseconds")
    elif isinstance(value, date):
        plain = value.isoformat()
    elif isinstance(value, bytes | memoryview):
        plain = {"bytes": b64encode(bytes(value)).decode()}
    return plain


def _told(keep: Callable[[bytes], object]) -> Report:
    """What every row amounts to; each row's line is handed on to be kept."""
    hashes: dict[str, Any] = {}
    rows = 0
    for table, line in _lines():
        hashes.setdefault(table, hashlib.sha256()).update(line)
        keep(line)
        rows += 1
    told = {table: value.hexdigest() for table, value in hashes.items()}
    audit = apps.get_model("records", "AuditEntry").objects.count()
    return Report(len(hashes), rows, audit, told)


def _snapshot() -> tuple[bytes, Report]:
    """Every row at one moment, packed, and what it amounts to."""
    out = io.BytesIO()
    with transaction.atomic(), gzip.GzipFile(fileobj=out, mode="wb", mtime=0) as packed:
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
        report = _told(packed.write)
    return out.getvalue(), report


def write_backup(path: Path) -> Report:
    """Writes the backup beside its place, proves it, and only then moves it there.

    Raises
    ------
    InputError
        If it cannot be written, or does not restore to the same rows.
    """
    packed, report = _snapshot()
    head = {"migrations": _migrations(), "hashes": report.hashes}
    body = json.dumps(head).encode() + b"\n" + packed
    beside = path.with_name(path.name + ".part")
    try:
        with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
            file.write(_MAGIC)
            for start in range(0, len(body), _PIECE):
                number = start // _PIECE
                sealed = seal_bytes(body[start : start + _PIECE], f"{_PLACE}.{number}")
                file.write(len(sealed).to_bytes(_LENGTH_BYTES, "big") + sealed)
            file.write((0).to_bytes(_LENGTH_BYTES, "big"))
        _prove(beside, report)
        beside.replace(path)
    except OSError as error:
        raise InputError(
            _("{path} cannot be written ({strerror}): choose another place").format(
                path=path, strerror=error.strerror
            )
        ) from None
    finally:
        beside.unlink(missing_ok=True)
    return report


def _migrations() -> list[list[str]]:
    return sorted([app, name] for app, name in MigrationRecorder(connection).applied_migrations())


def _opened(path: Path) -> tuple[dict[str, Any], Iterator[tuple[str, list[Any], bytes]]]:
    """Head and rows of a backup.

    Raises
    ------
    InputError
        If it is no backup, was cut short or changed, or its key is not here.
    """
    try:
        with path.open("rb") as file:
            if file.read(len(_MAGIC)) != _MAGIC:
                raise InputError(
                    _("{path} is no backup of Gaiter: choose a file that it wrote").format(
                        path=path
                    )
                )
            pieces: list[bytes] = []
            while size := int.from_bytes(file.read(_LENGTH_BYTES), "big"):
                sealed = file.read(size)
                if len(sealed) != size:
                    raise InputError(_("{path} was cut short: use another copy").format(path=path))
                pieces.append(open_bytes(sealed, f"{_PLACE}.{len(pieces)}"))
    except OSError as error:
        raise InputError(
            _("{path} cannot be read ({strerror}): choose another file").format(
                path=path, strerror=error.strerror
            )
        ) from None
    except SealError as error:
        raise InputError(
            _("{path} cannot be opened: {error}").format(path=path, error=error)
        ) from None
    head, _end, packed = b"".join(pieces).partition(b"\n")
    if not packed:
        raise InputError(_("{path} was cut short: use another copy").format(path=path))

    def rows() -> Iterator[tuple[str, list[Any], bytes]]:
        with gzip.GzipFile(fileobj=io.BytesIO(packed)) as lines:
            for line in lines:
                table, values = json.loads(line)
                yield table, values, line

    return json.loads(head), rows()


def _prove(path: Path, report: Report) -> None:
    """Restores the file into a scratch database and compares counts and hashes of every table."""
    head, rows = _opened(path)
    with tempfile.TemporaryDirectory() as folder, sqlite3.connect(f"{folder}/scratch") as scratch:
        scratch.execute("CREATE TABLE row (number INTEGER PRIMARY KEY, tab TEXT, line BLOB)")
        scratch.executemany(
            "INSERT INTO row (tab, line) VALUES (?, ?)",
            ((table, line) for table, _number, line in rows),
        )
        found: dict[str, Any] = {}
        count = 0
        for table, line in scratch.execute("SELECT tab, line FROM row ORDER BY number"):
            found.setdefault(table, hashlib.sha256()).update(line)
            count += 1
    same = {table: value.hexdigest() for table, value in found.items()} == head["hashes"]
    if not same or count != report.rows or head["hashes"] != report.hashes:
        raise InputError(_("the backup does not restore to the same rows: nothing was kept of it"))


def read_backup(path: Path) -> Report:
    """Fills an empty database from a backup, all or nothing.

    Raises
    ------
    InputError
        If the database is not empty, the file cannot be used, or rows do not arrive the same.
    """
    head, rows = _opened(path)
    if head["migrations"] != _migrations():
        raise InputError(
            _(
                "{path} was written by another version of Gaiter: install that "
                "version, restore, then upgrade"
            ).format(path=path)
        )
    by_table = {model._meta.db_table: model for model in _tables()}
    if any(model._default_manager.exists() for model in by_table.values()):
        raise InputError(_("the database is not empty: restore into a new one (GAITER_DATA)"))
    with (
        transaction.atomic(),
        connection.constraint_checks_disabled(),
        connection.cursor() as cursor,
    ):
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA defer_foreign_keys = ON")
        else:
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        for table, values, _line in rows:
            fields = by_table[table]._meta.concrete_fields
            named = ", ".join(_quoted(field.column) for field in fields)
            marks = ", ".join(["%s"] * len(fields))
            cursor.execute(
                f"INSERT INTO {_quoted(table)} ({named}) VALUES ({marks})",
                [_column(field, value) for field, value in zip(fields, values, strict=True)],
            )
        for model in by_table.values():
            _advance(cursor, model)
        report = _told(len)
        if report.hashes != head["hashes"]:
            raise InputError(_("the rows did not arrive as they were written: nothing was kept"))
    return report


def _column(field: Any, value: Any) -> Any:
    if value is None:
        return None
    kind = field.get_internal_type()
    if isinstance(value, dict) and set(value) == {"bytes"} and kind != "JSONField":
        return b64decode(value["bytes"])
    if kind == "JSONField":
        return json.dumps(value)
    if kind == "DateTimeField" and connection.vendor == "postgresql":
        return value + "+00:00"
    if kind == "DateTimeField":
        # As the framework writes it, so that rows compare alike.
        return value.replace("T", " ")
    return value


def _advance(cursor: Any, model: type[models.Model]) -> None:
    """The next new row of PostgreSQL takes a number after those restored."""
    if connection.vendor != "postgresql" or not isinstance(
        model._meta.pk, models.AutoField | models.BigAutoField
    ):
        return
    table, column = model._meta.db_table, model._meta.pk.column
    cursor.execute(
        f"SELECT setval(pg_get_serial_sequence(%s, %s), "  # names of our own models
        f"coalesce((SELECT max({_quoted(column)}) FROM "
        f"{_quoted(table)}), 1))",
        [_quoted(table), column],
    )
