"""Rows of any model, every field filled that must be, and what the database holds of them."""

from datetime import UTC, date, datetime
from itertools import count
from typing import Any

from django.db import connection, models

from gaiter.records.ledger import Actor, action
from gaiter.records.sealing import SealedBytes, SealedText

SECRET = "Ada of Heron Ford"
AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
_number = count(1)


def fields_of(model: type[models.Model], **given: Any) -> dict[str, Any]:
    """A value for every field that must have one, or is sealed; rows that it hangs on are made."""
    found = dict(given)
    for field in model._meta.concrete_fields:
        if field.name in found or isinstance(field, models.BigAutoField):
            continue
        if field.null and not isinstance(field, SealedText | SealedBytes):
            found[field.name] = None
        elif isinstance(field, models.ForeignKey):
            found[field.name] = made(field.related_model)
        else:
            found[field.name] = _value(field)
    return found


def _value(field: models.Field) -> Any:
    kind = field.get_internal_type()
    if isinstance(field, SealedBytes):
        return SECRET.encode()
    if isinstance(field, SealedText):
        return SECRET
    if field.choices and field.blank:
        return ""
    if field.choices:
        return field.choices[0][0]
    return {
        "BooleanField": True,
        "CharField": f"x{next(_number)}",
        "TextField": "{}",
        "DateField": date(2026, 11, 25),
        "DateTimeField": AT,
        "JSONField": [],
    }.get(kind, next(_number))


def made(model: type[models.Model], **given: Any) -> Any:
    """A row, written as every row is: inside an action."""
    fields = fields_of(model, **given)
    with action(Actor(None, "test"), "make") as act:
        return act.create(model, **fields)


def changed(row: Any, **fields: Any) -> Any:
    with action(Actor(None, "test"), "change") as act:
        return act.change(row, **fields)


def at_rest(row: models.Model) -> dict[str, Any]:
    """The columns of a row as the database holds them."""
    names = [field.column for field in row._meta.concrete_fields]
    quoted = ", ".join(connection.ops.quote_name(name) for name in names)
    table = connection.ops.quote_name(row._meta.db_table)
    key = connection.ops.quote_name(row._meta.pk.column)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {quoted} FROM {table} WHERE {key} = %s", [row.pk])
        return dict(zip(names, cursor.fetchone(), strict=True))


def sealed_at_rest(model: type[models.Model]) -> set[str]:
    """Fields of which the database holds nothing in the clear, though they open again."""
    row = made(model)
    held, again = at_rest(row), model._default_manager.get(pk=row.pk)
    found = set()
    for field in model._meta.concrete_fields:
        value = getattr(again, field.attname)
        plain = bytes(value) if isinstance(value, bytes | memoryview) else str(value).encode()
        raw = held[field.column]
        stored = bytes(raw) if isinstance(raw, bytes | memoryview) else str(raw).encode()
        if plain == SECRET.encode() and SECRET.encode() not in stored:
            found.add(field.name)
    return found
