"""What the database refuses because of another row, said in words."""

from collections.abc import Iterator

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
    text = str(error)
    for marks, words in _constraints():
        if any(mark in text for mark in marks):
            return ClashError(words)
    return StaleError()


def _constraints() -> Iterator[tuple[tuple[str, ...], str]]:
    """How the databases name each constraint, and what it says."""
    for model in apps.get_app_config("records").get_models():
        table = model._meta.db_table
        for constraint in model._meta.constraints:
            marks = [f'"{constraint.name}"', f": {constraint.name}"]
            if isinstance(constraint, models.UniqueConstraint):
                columns = [model._meta.get_field(name).column for name in constraint.fields]
                marks.append("failed: " + ", ".join(f"{table}.{column}" for column in columns))
            yield tuple(marks), str(constraint.get_violation_error_message())
        for field in model._meta.concrete_fields:
            if field.unique and not field.primary_key:
                marks = [f"failed: {table}.{field.column}", f'"{table}_{field.column}_']
                yield tuple(marks), str(field.error_messages["unique"])
