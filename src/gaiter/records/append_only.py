"""What the database itself refuses: to remove a row, or to change what stands for good.

The triggers are made from the models, after every migration. A field that no line here names is
written once; so is every field of a model that has no line.
"""

import hashlib
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from django.apps import apps
from django.db import connections, models, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.utils import ProgrammingError

from gaiter.core.errors import InputError
from gaiter.records.ledger import Row

_ENDED = ("ended_at", "ended_by", "ended_why")
CHANGING: Mapping[str, tuple[str, ...]] = {
    "Account": ("password", "name", "initials", "role", "training", "unit", "is_active", "era"),
    "Bandaging": ("undone_at", "undone_by", "undone_why"),
    "CallBack": ("done_at", "done_by", "outcome"),
    "Entry": ("state",),
    "Episode": ("closed_on", "outcome"),
    "Grant": ("second", "second_at", "used_at", "used_from", "ended_at", "shown_at"),
    "OverrideRecord": ("withdrawn_at",),
    "Person": ("name", "birth_date", "number", "phone", "name_index", "number_index"),
    "PlanRecord": ("state", "approved_by", "approved_at", "order", "accepted", *_ENDED),
    "ProvisionalRecord": ("withdrawn_at",),
    "RecoveryCode": ("used_at", "ended_at"),
    "SecondFactor": ("seed", "confirmed_at", "ended_at", "last_step"),
    "StandingOrder": ("revoked_at",),
    "StockItem": ("width_cm", "relaxed_length_cm", "thickness_mm", "curve", "rolls", "low_at"),
    "Team": ("name", "active"),
    "TeamMember": ("ended_at",),
    "TeamPerson": ("ended_at",),
    "Visit": ("next_visit", "signed_at", "signed_by"),
}
# The migration that made the first triggers called them so; these take their place.
_STEMS = {"AuditEntry": "audit"}
_REFUSED = "append-only: what was recorded is neither changed nor removed"
_RIGHTS_MISSING = "42501"


def kept_models() -> list[type[Row]]:
    """Every model whose rows stay."""
    return [
        model
        for model in apps.get_app_config("records").get_models(include_auto_created=True)
        if issubclass(model, Row)
    ]


def columns_of(model: type[models.Model], *, changing: bool) -> list[str]:
    """Columns that may change, or those that may not.

    Raises
    ------
    LookupError
        If a line here names a field that the model has not.
    """
    named = CHANGING.get(model.__name__, ())
    fields = {field.name: str(field.column) for field in model._meta.concrete_fields}
    strange = set(named) - set(fields)
    if strange:
        raise LookupError(f"{model.__name__} has no field {', '.join(sorted(strange))}")
    return [column for name, column in fields.items() if (name in named) == changing]


def _triggers(model: type[models.Model], connection: Any) -> dict[str, str]:
    """Trigger's name and the statement that makes it."""
    quote = connection.ops.quote_name
    table, key = quote(model._meta.db_table), quote(model._meta.pk.column)
    stem = _STEMS.get(model.__name__, model._meta.model_name)
    same = "IS NOT" if connection.vendor == "sqlite" else "IS DISTINCT FROM"
    differs = " OR ".join(
        f"OLD.{quote(column)} {same} NEW.{quote(column)}"
        for column in columns_of(model, changing=False)
    )
    # Where nothing may change, a statement that changes nothing is refused as well.
    when = f"WHEN ({differs})" if model.__name__ in CHANGING else ""
    if connection.vendor == "sqlite":
        refuse = f"BEGIN SELECT RAISE(ABORT, '{_REFUSED}'); END"
        # REPLACE removes a row without asking the trigger on DELETE.
        there = f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {key} = NEW.{key})"
        return {
            f"{stem}_no_update":
                f'CREATE TRIGGER "{stem}_no_update" BEFORE UPDATE ON {table} {when} {refuse}',
            f"{stem}_no_delete":
                f'CREATE TRIGGER "{stem}_no_delete" BEFORE DELETE ON {table} {refuse}',
            f"{stem}_no_replace":
                f'CREATE TRIGGER "{stem}_no_replace" BEFORE INSERT ON {table} {there} {refuse}',
        }  # fmt: skip
    said = {
        "no_update": f"BEFORE UPDATE ON {table} FOR EACH ROW {when}",
        "no_delete": f"BEFORE DELETE ON {table} FOR EACH ROW",
        "no_truncate": f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT",
    }
    made = {}
    for suffix, words in said.items():
        # The server keeps its own wording of a trigger: the name tells whether it is this one.
        name = f"{stem}_{suffix}_{hashlib.sha256(words.encode()).hexdigest()[:8]}"
        made[name] = f"CREATE TRIGGER {quote(name)} {words} EXECUTE FUNCTION gaiter_refuse()"
    return made


def _found(connection: Any, tables: Iterable[str]) -> dict[str, dict[str, str]]:
    """Triggers of tables as the database has them: name and statement; none that is switched off.

    A table that is not there is not in the answer.
    """
    there = set(connection.introspection.table_names())
    held: dict[str, dict[str, str]] = {table: {} for table in tables if table in there}
    statement = (
        "SELECT tbl_name, name, sql FROM sqlite_master WHERE type = 'trigger'"
        if connection.vendor == "sqlite"
        else "SELECT c.relname, t.tgname, '' FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid"
        " WHERE NOT t.tgisinternal AND t.tgenabled IN ('O', 'A') AND pg_table_is_visible(c.oid)"
    )
    with connection.cursor() as cursor:
        cursor.execute(statement)
        for table, name, sql in cursor.fetchall():
            if table in held:
                held[table][name] = sql
    return held


def unguarded(using: str = "default") -> list[str]:
    """Tables of which a trigger is missing, switched off or worded otherwise."""
    wanted = _wanted(connections[using])
    return [
        table
        for table, held in _found(connections[using], wanted).items()
        if any(held.get(name) not in ("", text) for name, text in wanted[table].items())
    ]


def guard(using: str = "default") -> None:
    """Makes the triggers where any is missing; older ones of these names go.

    Raises
    ------
    InputError
        If the database does not let this role make them.
    """
    connection = connections[using]
    wanted, missing = _wanted(connection), unguarded(using)
    found = _found(connection, missing)
    with _as_owner(missing), transaction.atomic(using), connection.cursor() as cursor:
        for table in missing:
            for name in {*_ours(connection, found[table]), *wanted[table]}:
                cursor.execute(_drop(connection, name, table))
            for statement in wanted[table].values():
                cursor.execute(statement)


@contextmanager
def lifted(using: str = "default") -> Iterator[None]:
    """A transaction in which the triggers rest, for what writes the same values in another form.

    Raises
    ------
    InputError
        If the database does not let this role do so.
    """
    connection = connections[using]
    found = _found(connection, _wanted(connection))
    with _as_owner(found), transaction.atomic(using):
        _rest(connection, found, "DISABLE")
        yield
        if connection.vendor == "sqlite":
            guard(using)
        else:
            _rest(connection, found, "ENABLE")


def _rest(connection: Any, found: Mapping[str, Mapping[str, str]], word: str) -> None:
    """PostgreSQL switches triggers off and on, and readers go on; SQLite can only drop them."""
    quote = connection.ops.quote_name
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            # A table with references still to be looked at cannot be altered.
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        for table, held in found.items():
            for name in _ours(connection, held):
                cursor.execute(
                    _drop(connection, name, table)
                    if connection.vendor == "sqlite"
                    else f"ALTER TABLE {quote(table)} {word} TRIGGER {quote(name)}"
                )


def _wanted(connection: Any) -> dict[str, dict[str, str]]:
    return {model._meta.db_table: _triggers(model, connection) for model in kept_models()}


def _ours(connection: Any, names: Iterable[str]) -> list[str]:
    """Names of triggers that this module makes."""
    kinds = "update|delete|replace" if connection.vendor == "sqlite" else "update|delete|truncate"
    end = "" if connection.vendor == "sqlite" else "_[0-9a-f]{8}"
    return [name for name in names if re.fullmatch(f".*_no_({kinds}){end}", name)]


def _drop(connection: Any, name: str, table: str) -> str:
    quote = connection.ops.quote_name
    on = "" if connection.vendor == "sqlite" else f" ON {quote(table)}"
    return f"DROP TRIGGER IF EXISTS {quote(name)}{on}"


@contextmanager
def _as_owner(tables: Iterable[str]) -> Iterator[None]:
    try:
        yield
    except ProgrammingError as error:
        if getattr(error.__cause__, "sqlstate", "") != _RIGHTS_MISSING:
            raise
        raise InputError(
            f"this role of the database does not own {min(tables)} and other tables: run the "
            f"command with the GAITER_DATABASE of their owner"
        ) from None


def rest_while_migrating(using: str, plan: Iterable[tuple[Any, bool]] = (), **_more: Any) -> None:
    """Before migrations of the record: they may write what stands for good, in its new form."""
    if any(migration.app_label == "records" for migration, _backwards in plan):
        connection = connections[using]
        found = _found(connection, _wanted(connection))
        with _as_owner(found), connection.cursor() as cursor:
            for table, held in found.items():
                for name in _ours(connection, held):
                    cursor.execute(_drop(connection, name, table))


def guard_when_migrated(using: str, **_more: Any) -> None:
    """After migrations, once the tables are as the models say."""
    executor = MigrationExecutor(connections[using])
    latest = [node for node in executor.loader.graph.leaf_nodes() if node[0] == "records"]
    if not executor.migration_plan(latest):
        guard(using)
