"""The database says under which keys it is sealed, and whether it is a demonstration."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """Marks."""

    dependencies = [
        ("records", "0012_seals_bound_to_rows"),
    ]

    operations = [
        migrations.CreateModel(
            name="Mark",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=60, unique=True)),
                ("value", models.CharField(max_length=64)),
            ],
            options={
                "abstract": False,
            },
        ),
    ]
