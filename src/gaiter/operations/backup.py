"""Encrypted backups, of one moment while the clinic goes on, each proved by restoring it.

The file holds what it is a backup of, the rows of every table (see ``rows``), and at its end counts
and hashes of every table, compressed and sealed while they are read (see ``sealed_file``). Neither
the clinic nor memory notices how large the database is: rows pass through one by one. The same file
restores into SQLite or PostgreSQL.
"""

import fcntl
import json
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, BinaryIO

from django.apps import apps
from django.db import connection, models, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.db.utils import ConnectionHandler
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.files.whole_file import sync_file, sync_folder
from gaiter.operations.rows import (
    Reckoning,
    Told,
    put_and_taken,
    put_row,
    read_rows,
    rows_of,
    tables,
    write_row,
)
from gaiter.operations.sealed_file import BackupError, sealed_reader, sealed_writer, spoilt
from gaiter.records.keys import require_keys

_HEAD, _END = "head", "end"
_UNFINISHED = ".gaiter-unfinished"


@dataclass(frozen=True)
class Report:
    """What a backup holds."""

    told: Mapping[str, Told]

    @property
    def tables(self) -> int:
        """Tables that hold anything."""
        return len(self.told)

    @property
    def rows(self) -> int:
        """Rows of all of them."""
        return sum(told.rows for told in self.told.values())

    @property
    def audit(self) -> int:
        """Entries of the audit log."""
        name = apps.get_model("records", "AuditEntry")._meta.db_table
        return self.told[name].rows if name in self.told else 0


def write_backup(path: Path) -> Report:
    """Writes the backup beside its place, proves it, and only then moves it there.

    Raises
    ------
    InputError
        If it cannot be written, or does not restore to the same rows.
    """
    try:
        with _unfinished(path) as (file, beside):
            report = _write(file)
            sync_file(file)
            _prove(beside, report)
            beside.replace(path)
            sync_folder(path.absolute().parent)
    except OSError as error:
        raise InputError(
            _("{path} cannot be written ({strerror}): choose another place").format(
                path=path, strerror=error.strerror
            )
        ) from None
    return report


@contextmanager
def _unfinished(path: Path) -> Iterator[tuple[BinaryIO, Path]]:
    """A file beside the place for its owner alone; what is left of it in the end is taken away.

    So is what backups that were killed have left there. One that is still being written is locked.
    """
    for left in path.parent.glob(f".*{_UNFINISHED}"):
        with suppress(OSError), left.open("rb") as held:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
            left.unlink()
    beside = path.with_name(f".{path.name}{_UNFINISHED}")
    handle = os.open(beside, os.O_RDWR | os.O_CREAT, 0o600)
    with os.fdopen(handle, "wb") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise InputError(
                _("{path} is being written by another backup: wait for it").format(path=path)
            ) from None
        try:
            file.truncate()
            yield file, beside
        except BaseException:
            beside.unlink(missing_ok=True)
            raise


def _write(file: BinaryIO) -> Report:
    reckoning = Reckoning()
    with _one_moment(), sealed_writer(file) as packed:
        packed.write(_line(_HEAD, {"migrations": _migrations()}))
        for table, values in rows_of(connection):
            reckoning.add(table, values)
            write_row(packed, table, values)
        report = Report(reckoning.told())
        packed.write(_line(_END, {name: asdict(told) for name, told in report.told.items()}))
    return report


@contextmanager
def _one_moment() -> Iterator[None]:
    """Everything read in the block is of one moment; whoever writes meanwhile is not held up."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "sqlite":
        # A transaction of the framework would be IMMEDIATE, and keep every writer out.
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
    else:
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield


def _line(name: str, content: Mapping[str, Any]) -> bytes:
    return json.dumps([name, content]).encode() + b"\n"


def _migrations() -> list[list[str]]:
    return sorted([app, name] for app, name in MigrationRecorder(connection).applied_migrations())


@dataclass(frozen=True)
class _Opened:
    """A backup that is being read."""

    path: Path
    migrations: list[list[str]]
    _rows: Iterator[tuple[str, Any]]

    def rows(self, reckoning: Reckoning) -> Iterator[tuple[type[models.Model], list[Any]]]:
        """Every row; at the end what they amount to is what the file says.

        Raises
        ------
        BackupError
            If it is not.
        """
        by_name = {table._meta.db_table: table for table in tables()}
        for name, values in self._rows:
            if name == _END:
                if next(self._rows, None) is not None or values != _told(reckoning):
                    raise spoilt(self.path)
                return
            reckoning.add(by_name[name], values)
            yield by_name[name], values
        raise spoilt(self.path)


def _told(reckoning: Reckoning) -> dict[str, Any]:
    return {name: asdict(told) for name, told in reckoning.told().items()}


@contextmanager
def _opened(path: Path) -> Iterator[_Opened]:
    """A backup to read.

    Raises
    ------
    BackupError
        If it is no backup, was cut short or changed, or its key is not here.
    """
    with sealed_reader(path) as file:
        rows = read_rows(file)
        first: tuple[str, Any] = next(rows, ("", {}))
        name, head = first
        if name != _HEAD:
            raise spoilt(path)
        yield _Opened(path, head["migrations"], rows)


def require_backup(path: Path) -> None:
    """Refuses a file that is no backup, before anything is done for it.

    Raises
    ------
    BackupError
        If its beginning does not open.
    """
    with _opened(path):
        pass


def _prove(path: Path, report: Report) -> None:
    """Restores every row into its table in memory, takes it out again and compares.

    The tables are SQLite's, made as for a new clinic; no row is ever on a disk in the clear.
    """
    scratch = ConnectionHandler(
        {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": ":memory:"}}
    )["default"]
    found, restored = Reckoning(), Reckoning()
    try:
        with scratch.schema_editor() as editor:
            for table in tables():
                editor.create_model(table)
        with scratch.cursor() as cursor:
            cursor.execute("PRAGMA temp_store = MEMORY")
            cursor.execute("PRAGMA foreign_keys = OFF")  # what a row hangs on is not there
        with _opened(path) as backup:
            for table, values in backup.rows(found):
                restored.add(table, put_and_taken(scratch, table, values))
    finally:
        scratch.close()
    if not restored.told() == found.told() == report.told:
        raise InputError(_("the backup does not restore to the same rows: nothing was kept of it"))


def read_backup(path: Path) -> Report:
    """Fills an empty database from a backup, all or nothing.

    Raises
    ------
    InputError
        If the database is not empty, the file cannot be used, or rows do not arrive the same.
    """
    found, arrived = Reckoning(), Reckoning()
    with (
        _opened(path) as backup,
        transaction.atomic(),
        connection.constraint_checks_disabled(),
    ):
        if connection.vendor == "postgresql":
            # Nobody fills the database while it is looked whether it is empty; SQLite lets one in.
            with connection.cursor() as cursor:
                cursor.execute("LOCK TABLE records_auditentry IN EXCLUSIVE MODE")
        if backup.migrations != _migrations():
            raise BackupError(
                _(
                    "{path} was written by another version of Gaiter: install that "
                    "version, restore, then upgrade"
                ).format(path=path)
            )
        if any(table._default_manager.exists() for table in tables()):
            raise InputError(_("the database is not empty: restore into a new one (GAITER_DATA)"))
        with connection.cursor() as cursor:
            if connection.vendor == "sqlite":
                cursor.execute("PRAGMA defer_foreign_keys = ON")
            else:
                cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        for table, values in backup.rows(found):
            put_row(connection, table, values)
        for table in tables():
            _advance(table)
        for table, values in rows_of(connection):
            arrived.add(table, values)
        if arrived.told() != found.told():
            raise InputError(_("the rows did not arrive as they were written: nothing was kept"))
        require_keys()
    return Report(arrived.told())


def _advance(table: type[models.Model]) -> None:
    """The next new row of PostgreSQL takes a number after those restored."""
    key = table._meta.pk
    if connection.vendor != "postgresql" or not isinstance(
        key, models.AutoField | models.BigAutoField
    ):
        return
    name = connection.ops.quote_name(table._meta.db_table)
    column = connection.ops.quote_name(key.column or "")
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT setval(pg_get_serial_sequence(%s, %s), "  # names of our own models
            f"coalesce((SELECT max({column}) FROM {name}), 1))",
            [name, key.column],
        )
