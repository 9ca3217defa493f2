"""Recovery codes are kept as slow hashes, which are longer than fingerprints."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """A longer column."""

    dependencies = [
        ("records", "0014_teams"),
    ]

    operations = [
        migrations.AlterField(
            model_name="recoverycode",
            name="fingerprint",
            field=models.CharField(max_length=128),
        ),
    ]
