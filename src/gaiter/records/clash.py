"""What the database refuses because of another row, said in words."""

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db import IntegrityError, models
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError


class ClashError(InputError):
    """Another row forbids what was to be written."""


class StaleError(ClashError):
    """Somebody else changed the same a moment ago."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "Somebody else changed this a moment ago, and nothing of yours was recorded: load "
                "the page again and look."
            )
        )


def clash_of(error: IntegrityError) -> ClashError:
    """The refusal in words: those of the constraint, or that somebody else was quicker."""
    text = str(error).strip()
    for named, columns, words in _constraints():
        # PostgreSQL names the constraint; SQLite that of a check, and the columns of what is once.
        if any(name in text for name in named) or (columns and text.endswith(columns)):
            return ClashError(words)
    return StaleError()


def _constraints() -> Iterator[tuple[tuple[str, ...], str, str]]:
    """How the databases name each constraint, and what it says."""
    for model in apps.get_app_config("records").get_models():
        table = model._meta.db_table
        for constraint in model._meta.constraints:
            columns = ""
            if isinstance(constraint, models.UniqueConstraint):
                fields: list[Any] = [model._meta.get_field(name) for name in constraint.fields]
                columns = ": " + ", ".join(f"{table}.{field.column}" for field in fields)
            named: tuple[str, ...] = (f'"{constraint.name}"', f"failed: {constraint.name}")
            yield named, columns, str(constraint.get_violation_error_message())
        for field in model._meta.concrete_fields:
            # The framework's own words are a template, and speak of tables.
            said = str(field.error_messages["unique"])
            if field.unique and not field.primary_key and "%(" not in said:
                named = (f'"{table}_{field.column}_',)
                yield named, f": {table}.{field.column}", said
