"""An override of several stops becomes one record a stop."""

from typing import Any

from django.db import migrations


def split(apps: Any, _schema_editor: Any) -> None:
    """One row a code; the first code stays in the row it was in."""
    overrides = apps.get_model("records", "OverrideRecord")
    for row in list(overrides.objects.order_by("pk")):
        first, *rest = row.codes or [""]
        row.code = first
        row.save(update_fields=["code"])
        for code in rest:
            row.pk, row.code = None, code
            row.save(force_insert=True)


class Migration(migrations.Migration):
    """Rows only: a table that waits for its foreign keys cannot be altered at the same time."""

    dependencies = [("records", "0004_plan_in_force")]
    operations = [migrations.RunPython(split, migrations.RunPython.noop)]
