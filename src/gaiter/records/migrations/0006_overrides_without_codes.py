"""An override names its one stop."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """The list of stops goes."""

    dependencies = [("records", "0005_one_override_a_stop")]
    operations = [
        migrations.RemoveField(model_name="overriderecord", name="codes"),
        migrations.AlterField(
            model_name="overriderecord", name="code", field=models.CharField(max_length=60)
        ),
    ]
