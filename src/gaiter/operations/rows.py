"""Rows of every table as bytes that SQLite and PostgreSQL write alike, and back into a table.

A row is a line of JSON, table and values, followed by the content of its binary columns, whose
lengths stand in the line. What is sealed stays sealed.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from gzip import GzipFile
from typing import Any, BinaryIO

from django.apps import apps
from django.db import models

# Sessions sign people in, and counted tries keep them out; neither belongs to the record.
_LEFT_OUT = {"entrance_session", "entrance_tries", "django_content_type", "auth_permission",
             "auth_group", "auth_group_permissions"}  # fmt: skip
_AT_ONCE = 50

Table = type[models.Model]
Stream = BinaryIO | GzipFile


@dataclass(frozen=True)
class Told:
    """What the rows of one table amount to."""

    rows: int
    sha256: str


class Reckoning:
    """Counts and hashes of every table, row by row."""

    def __init__(self) -> None:
        self._rows: dict[str, int] = {}
        self._hashes: dict[str, Any] = {}

    def add(self, table: Table, values: Sequence[Any]) -> None:
        """One more row. Objects are hashed by their content, whose order PostgreSQL may change."""
        name = table._meta.db_table
        self._rows[name] = self._rows.get(name, 0) + 1
        digest = self._hashes.setdefault(name, hashlib.sha256())
        digest.update(_line(name, values, sort=True))
        for content in _contents(values):
            digest.update(content)

    def told(self) -> dict[str, Told]:
        """What it came to."""
        return {
            name: Told(count, self._hashes[name].hexdigest()) for name, count in self._rows.items()
        }


def tables() -> list[Table]:
    """Every table that belongs to the record."""
    return [
        model
        for model in apps.get_models()
        if model._meta.db_table not in _LEFT_OUT and model._meta.managed
    ]


def rows_of(database: Any) -> Iterator[tuple[Table, list[Any]]]:
    """Table and plain values of every row, a few at a time however many there are."""
    quote = database.ops.quote_name
    for model in tables():
        meta = model._meta
        fields = meta.concrete_fields
        # A file may be as large as everything else in memory together.
        at_once = 1 if any(_is_binary(field) for field in fields) else _AT_ONCE
        named = ", ".join(quote(field.column) for field in fields)
        with database.chunked_cursor() as cursor:
            cursor.itersize = at_once
            cursor.execute(
                f"SELECT {named} FROM {quote(meta.db_table)} ORDER BY {quote(meta.pk.column)}"
            )
            while rows := cursor.fetchmany(at_once):
                for row in rows:
                    yield model, _plain_row(model, row)


def write_row(file: Stream, table: Table, values: Sequence[Any]) -> None:
    """A row into a file."""
    file.write(_line(table._meta.db_table, values))
    for content in _contents(values):
        file.write(content)


def read_rows(file: Stream) -> Iterator[tuple[str, Any]]:
    """Name of table and values of every row, and any other line that was written among them."""
    for line in iter(file.readline, b""):
        table, values = json.loads(line)
        if isinstance(values, list):
            values = [
                file.read(value["bytes"]) if _stands_for_bytes(value) else value for value in values
            ]
        yield table, values


def put_row(database: Any, table: Table, values: Sequence[Any]) -> None:
    """A row into its table."""
    fields = table._meta.concrete_fields
    quote = database.ops.quote_name
    named = ", ".join(quote(field.column) for field in fields)
    marks = ", ".join(["%s"] * len(fields))
    with database.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {quote(table._meta.db_table)} ({named}) VALUES ({marks})",
            [
                _column(field, value, database.vendor)
                for field, value in zip(fields, values, strict=True)
            ],
        )


def put_and_taken(database: Any, table: Table, values: Sequence[Any]) -> list[Any]:
    """Values of a row as they come back from its table; it does not stay there."""
    quote = database.ops.quote_name
    name = quote(table._meta.db_table)
    named = ", ".join(quote(field.column) for field in table._meta.concrete_fields)
    put_row(database, table, values)
    with database.cursor() as cursor:
        cursor.execute(f"SELECT {named} FROM {name}")
        (row,) = cursor.fetchall()
        cursor.execute(f"DELETE FROM {name}")
    return _plain_row(table, row)


def _line(name: str, values: Sequence[Any], *, sort: bool = False) -> bytes:
    held = [{"bytes": len(v)} if isinstance(v, bytes | memoryview) else v for v in values]
    return json.dumps([name, held], sort_keys=sort).encode() + b"\n"


def _contents(values: Sequence[Any]) -> Iterator[bytes | memoryview]:
    return (value for value in values if isinstance(value, bytes | memoryview))


def _stands_for_bytes(value: Any) -> bool:
    return isinstance(value, Mapping) and "bytes" in value


def _is_binary(field: Any) -> bool:
    return bool(field.get_internal_type() == "BinaryField")


def _plain_row(table: Table, row: Sequence[Any]) -> list[Any]:
    return [
        _plain(field, value) for field, value in zip(table._meta.concrete_fields, row, strict=True)
    ]


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
        # In a list, so that nothing in it is taken for the place of a binary column.
        plain = [json.loads(value) if text else value]
    elif kind == "DateTimeField":
        moment = datetime.fromisoformat(value) if text else value
        plain = moment.replace(tzinfo=None).isoformat(timespec="microseconds")
    elif isinstance(value, date):
        plain = value.isoformat()
    return plain


def _column(field: Any, value: Any, vendor: str) -> Any:
    """A column as a database takes it."""
    kind = field.get_internal_type()
    column: Any = value
    if value is None:
        pass
    elif kind == "JSONField":
        column = json.dumps(value[0])
    elif kind == "DateTimeField" and vendor == "postgresql":
        column = value + "+00:00"
    elif kind == "DateTimeField":
        # As the framework writes it, so that rows compare alike.
        column = str(datetime.fromisoformat(value))
    return column
