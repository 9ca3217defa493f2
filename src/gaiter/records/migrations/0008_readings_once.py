"""A place is kept by its one name; what is taken from a document says by which version."""

from typing import Any

from django.db import migrations, models
from django.db.models import Value
from django.db.models.functions import Replace


def name_places(apps: Any, _schema_editor: Any) -> None:
    """Places that were kept by their printed names get the names of the landmarks."""
    readings = apps.get_model("records", "Reading").objects.filter(place__contains=" ")
    readings.update(place=Replace("place", Value(" "), Value("_")))


class Migration(migrations.Migration):
    """Places and versions."""

    dependencies = [
        ("records", "0007_checks_with_a_verdict"),
    ]

    operations = [
        migrations.RunPython(name_places, migrations.RunPython.noop),
        migrations.AddField(
            model_name="appliedrecord",
            name="taken",
            field=models.PositiveSmallIntegerField(default=1),
        ),
        migrations.AddField(
            model_name="attempt",
            name="taken",
            field=models.PositiveSmallIntegerField(default=1),
        ),
    ]
