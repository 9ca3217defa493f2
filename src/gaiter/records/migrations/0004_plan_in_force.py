"""Plans that end, bandages undone, provisional levels, and what was done about stops."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import gaiter.records.sealing


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0003_applied_and_practice"),
    ]

    operations = [
        migrations.AddField(
            model_name="bandaging",
            name="undone_at",
            field=models.DateTimeField(null=True),
        ),
        migrations.AddField(
            model_name="bandaging",
            name="undone_by",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="bandaging",
            name="undone_why",
            field=gaiter.records.sealing.SealedText(null=True),
        ),
        migrations.AddField(
            model_name="overriderecord",
            name="aim_high_mmhg",
            field=models.FloatField(null=True),
        ),
        migrations.AddField(
            model_name="overriderecord",
            name="aim_low_mmhg",
            field=models.FloatField(help_text="null: made before an aim was asked for", null=True),
        ),
        migrations.AddField(
            model_name="overriderecord",
            name="code",
            field=models.CharField(default="", max_length=60),
        ),
        migrations.AddField(
            model_name="overriderecord",
            name="vascular_by",
            field=models.CharField(blank=True, max_length=80),
        ),
        migrations.AddField(
            model_name="overriderecord",
            name="vascular_on",
            field=models.DateField(null=True),
        ),
        migrations.AddField(
            model_name="planrecord",
            name="accepted",
            field=models.JSONField(
                help_text="Places above their maximum that the prescriber accepted by name",
                null=True,
            ),
        ),
        migrations.AddField(
            model_name="planrecord",
            name="ended_at",
            field=models.DateTimeField(null=True),
        ),
        migrations.AddField(
            model_name="planrecord",
            name="ended_by",
            field=models.ForeignKey(
                help_text="Who withdrew it; null: replaced, or voided by the program",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="planrecord",
            name="ended_why",
            field=gaiter.records.sealing.SealedText(null=True),
        ),
        migrations.AlterField(
            model_name="planrecord",
            name="state",
            field=models.CharField(
                choices=[
                    ("proposed", "waits for approval"),
                    ("approved", "approved"),
                    ("superseded", "superseded"),
                    ("withdrawn", "withdrawn"),
                    ("voided", "voided by what was found"),
                ],
                max_length=10,
            ),
        ),
        migrations.CreateModel(
            name="ProvisionalRecord",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("words", gaiter.records.sealing.SealedText()),
                ("at", models.DateTimeField()),
                ("withdrawn_at", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "order",
                    models.ForeignKey(
                        help_text="The clinic's order that a bandager chose it under; null: a prescriber chose",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        to="records.standingorder",
                    ),
                ),
                (
                    "visit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="provisionals",
                        to="records.visit",
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="StopAction",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=60)),
                ("referred_to", models.CharField(max_length=120)),
                ("on", models.DateField()),
                ("words", gaiter.records.sealing.SealedText()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "visit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="stop_actions",
                        to="records.visit",
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="StopCleared",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=60)),
                ("words", gaiter.records.sealing.SealedText()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "episode",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="stops_cleared",
                        to="records.episode",
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
    ]
