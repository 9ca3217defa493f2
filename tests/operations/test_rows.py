"""Rows go through bytes and another table and come back the same."""

import io
from datetime import UTC, datetime

import pytest
from django.apps import apps
from django.db import connection

from gaiter.operations.rows import Reckoning, put_row, read_rows, rows_of, tables, write_row
from gaiter.records.append_only import lifted
from gaiter.records.models import Check, Episode, Note, StoredFile
from tests.records.models.rows import at_rest, made

pytestmark = pytest.mark.django_db


def there_and_back() -> list:
    file = io.BytesIO()
    for table, values in rows_of(connection):
        write_row(file, table, values)
    file.seek(0)
    return list(read_rows(file))


def test_every_table_of_the_record_is_kept() -> None:
    """And nothing else: no session, no counted try."""
    kept = {table._meta.db_table for table in tables()}
    record = {model._meta.db_table for model in apps.get_app_config("records").get_models()}
    assert kept == record


def test_values_pass_through_bytes_unchanged() -> None:
    made(StoredFile, content=b"line\n\x00" + bytes(range(256)))
    made(Check, answers={"bytes": 3}, failed=[{"bytes": 5}])
    direct = [(table._meta.db_table, values) for table, values in rows_of(connection)]
    assert there_and_back() == direct
    assert len(direct) > 4


# A moment on the full second, of which SQLite keeps no microseconds.
@pytest.mark.parametrize("microsecond", [0, 1, 250_000])
def test_a_row_is_put_back_column_by_column_as_it_lay_there(microsecond) -> None:
    at = datetime(2026, 11, 25, 9, 30, 0, microsecond, tzinfo=UTC)
    note = made(Note, at=at)
    file = made(StoredFile, at=at, content=b"\x00\xff")
    check = made(Check, at=at, answers={"b": 1, "a": [1.5, None]})
    for row in (note, file, check):
        model, before = type(row), at_rest(row)
        (values,) = [
            values for table, values in rows_of(connection)
            if table is model and values[0] == row.pk
        ]  # fmt: skip
        with lifted(), connection.cursor() as cursor:
            name = connection.ops.quote_name(model._meta.db_table)
            cursor.execute(f"DELETE FROM {name} WHERE id = %s", [row.pk])
        put_row(connection, model, values)
        assert at_rest(row) == before


def test_one_changed_value_changes_what_rows_amount_to() -> None:
    values = [1, "2026-11-25", b"abc", [{"a": 1, "b": 2}], None]
    ways = [
        values, [2, *values[1:]], [*values[:2], b"abd", *values[3:]],
        [*values[:3], [{"a": 1, "b": 3}], None], [*values[:4], ""],
    ]  # fmt: skip
    told = set()
    for way in ways:
        reckoning = Reckoning()
        reckoning.add(Episode, way)
        (one,) = reckoning.told().values()
        assert one.rows == 1
        told.add(one.sha256)
    assert len(told) == len(ways)


def test_the_order_inside_an_object_is_postgresqls_own_affair() -> None:
    told = []
    for way in ([{"a": 1, "b": 2}], [{"b": 2, "a": 1}]):
        reckoning = Reckoning()
        reckoning.add(Episode, [1, way])
        told.append(reckoning.told())
    assert told[0] == told[1]
