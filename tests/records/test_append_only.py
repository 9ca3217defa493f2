"""The database itself keeps what was recorded, whoever writes past the program."""

import pytest
from django.db import DatabaseError, connection, models, transaction

from gaiter.records.append_only import (
    CHANGING,
    columns_of,
    guard,
    guard_when_migrated,
    kept_models,
    lifted,
    rest_while_migrating,
    unguarded,
)
from gaiter.records.models import AuditEntry, Note, PlanRecord, Reading
from tests.records.models.rows import at_rest, made

pytestmark = pytest.mark.django_db
KEPT = kept_models()
# What carries measurements, words, deeds and their log; a line in CHANGING would open one.
WHOLLY = {
    "AppliedRecord", "Attempt", "AuditEntry", "BandageEvent", "Check", "Deed", "Mark", "Note",
    "OutsideOpening", "Reading", "StockMove", "StopAction", "StopCleared", "StoredFile",
}  # fmt: skip
every_model = pytest.mark.parametrize("model", KEPT, ids=lambda model: model.__name__)


def a_row(model):
    return made(model, **({"number": 900} if model is AuditEntry else {}))


def said(statement: str, *values) -> None:
    """A statement of somebody who has a connection and no program."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement, values)


def quoted(name: str) -> str:
    return connection.ops.quote_name(name)


def test_what_is_wholly_append_only_has_no_field_that_changes() -> None:
    assert set(CHANGING) & WHOLLY == set()
    assert set(CHANGING) | WHOLLY >= {model.__name__ for model in KEPT}
    assert set(CHANGING) <= {model.__name__ for model in KEPT}


def test_every_table_is_guarded() -> None:
    assert unguarded() == []


def test_a_new_model_without_its_triggers_is_found_and_guarded_by_the_next_migration() -> None:
    table = quoted(Reading._meta.db_table)
    name = next(name for name in _names(Reading) if "no_update" in name)
    said(f"DROP TRIGGER {name}" + ("" if connection.vendor == "sqlite" else f" ON {table}"))
    assert unguarded() == [Reading._meta.db_table]
    guard_when_migrated("default")
    assert unguarded() == []


def _names(model) -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s"
            if connection.vendor == "sqlite"
            else "SELECT tgname FROM pg_trigger WHERE tgrelid = %s::regclass AND NOT tgisinternal",
            [model._meta.db_table],
        )
        return [name for (name,) in cursor.fetchall()]


@every_model
def test_the_database_removes_no_row(model) -> None:
    row = a_row(model)
    table, key = quoted(model._meta.db_table), quoted(model._meta.pk.column)
    with pytest.raises(DatabaseError, match="append-only"):
        said(f"DELETE FROM {table} WHERE {key} = %s", row.pk)
    assert model._default_manager.filter(pk=row.pk).exists()


@every_model
def test_the_database_changes_nothing_that_stands_for_good(model) -> None:
    row = a_row(model)
    before = at_rest(row)
    table, key = quoted(model._meta.db_table), quoted(model._meta.pk.column)
    fixed = set(columns_of(model, changing=False))
    for field in model._meta.concrete_fields:
        if field.column not in fixed:
            continue
        with pytest.raises(DatabaseError, match=r"append-only|never edited"):
            said(
                f"UPDATE {table} SET {quoted(field.column)} = %s WHERE {key} = %s",
                _other(field), row.pk,
            )  # fmt: skip
    assert at_rest(row) == before


def _other(field: models.Field):
    """A value that no row of these tests has."""
    kind = field.get_internal_type()
    if field.is_relation or "Integer" in kind or "AutoField" in kind or kind == "FloatField":
        return 31_007
    fixed = {"DateField": "1999-01-01", "DateTimeField": "1999-01-01 00:00:00+00",
             "BooleanField": False, "JSONField": '"other"', "BinaryField": b"other"}  # fmt: skip
    return fixed.get(kind, "o")


@every_model
@pytest.mark.skipif("connection.vendor == 'sqlite'", reason="SQLite has no TRUNCATE")
def test_the_database_empties_no_table(model) -> None:
    row = a_row(model)
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    with pytest.raises(DatabaseError, match="append-only"):
        said(f"TRUNCATE {quoted(model._meta.db_table)} CASCADE")
    assert model._default_manager.filter(pk=row.pk).exists()


@every_model
@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="PostgreSQL has no REPLACE")
def test_no_row_is_put_in_the_place_of_another(model) -> None:
    row = a_row(model)
    table = quoted(model._meta.db_table)
    with pytest.raises(DatabaseError, match="append-only"):
        said(f"REPLACE INTO {table} SELECT * FROM {table}")
    assert model._default_manager.filter(pk=row.pk).exists()


def test_what_may_change_changes() -> None:
    plan = made(PlanRecord)
    PlanRecord.objects.filter(pk=plan.pk).update(state="withdrawn")
    assert PlanRecord.objects.get(pk=plan.pk).state == "withdrawn"


def test_lifted_lets_rows_be_written_anew_and_guards_them_again() -> None:
    note = made(Note)
    with lifted():
        said("UPDATE records_note SET at = %s WHERE id = %s", "1999-01-01 00:00:00+00", note.pk)
    assert Note.objects.get(pk=note.pk).at.year == 1999
    assert unguarded() == []
    with pytest.raises(DatabaseError, match="append-only"):
        said("UPDATE records_note SET at = %s WHERE id = %s", "1998-01-01 00:00:00+00", note.pk)


def test_a_fault_while_they_rest_leaves_them_in_place() -> None:
    with pytest.raises(KeyError), lifted():
        raise KeyError
    assert unguarded() == []


def test_triggers_rest_for_migrations_of_the_record_only() -> None:
    class Step:
        app_label = "entrance"

    rest_while_migrating("default", plan=[(Step, False)])
    assert unguarded() == []
    Step.app_label = "records"
    rest_while_migrating("default", plan=[(Step, False)])
    assert len(unguarded()) == len(KEPT)
    guard()
    assert unguarded() == []


def test_a_line_for_a_field_that_is_not_there_is_a_fault(monkeypatch) -> None:
    monkeypatch.setitem(CHANGING, "Note", ("colour",))
    with pytest.raises(LookupError, match="Note has no field colour"):
        unguarded()
