"""Sealed values are bound to their row as well as to their column."""

from typing import Any

from django.db import migrations, models

from gaiter.core.errors import InputError
from gaiter.records.sealing import SealError, sealed_fields


def bind(apps: Any, _schema_editor: Any) -> None:
    """Opens every value as it was sealed, by its column, and seals it for its row."""
    for model in apps.get_app_config("records").get_models():
        fields = sealed_fields(model)
        if not fields:
            continue
        for row in model._base_manager.order_by("pk").iterator(chunk_size=20):
            for field in fields:
                try:
                    setattr(row, field.attname, field.opened_by_column(row))
                except SealError as error:
                    raise InputError(
                        f"{model._meta.model_name} {row.pk}: {error}; nothing was changed"
                    ) from None
            models.Model.save(row, update_fields=[field.name for field in fields])


class Migration(migrations.Migration):
    """Rows only."""

    dependencies = [("records", "0011_held_to_constraints")]
    operations = [migrations.RunPython(bind, migrations.RunPython.noop)]
