"""A check keeps its verdict, and what was done about it is a row of its own."""

from typing import Any

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import gaiter.records.sealing

# Boxes of checks that were kept before; a "no" in one of the first asked to take the bandage off.
_OF_TOES = {"colour", "warm", "touch", "moves"}
_PUT_RIGHT = ("redone", "taken_off")


def judge_open_visits(apps: Any, _schema_editor: Any) -> None:
    """A bad check of a visit that is still open asks for what it would ask for today."""
    checks = apps.get_model("records", "Check").objects.filter(
        bandaging__visit__signed_at=None, verdict=""
    )
    for check in checks:
        if not check.bad or check.deed in _PUT_RIGHT:
            continue
        grave = _OF_TOES & set(check.bad) or check.answers.get("pain", 0) >= 7
        check.verdict = "take it off now" if grave else "loosen and look again"
        check.failed = list(check.bad)
        check.save(update_fields=["verdict", "failed"])


class Migration(migrations.Migration):
    """Verdicts and deeds."""

    dependencies = [
        ("records", "0006_overrides_without_codes"),
    ]

    operations = [
        migrations.AddField(
            model_name="check",
            name="verdict",
            field=models.CharField(blank=True, default="", max_length=22),
        ),
        migrations.AddField(
            model_name="check",
            name="failed",
            field=models.JSONField(default=list, help_text="Boxes that were not good, in words"),
        ),
        migrations.CreateModel(
            name="Deed",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("loosened", "loosened"),
                            ("taken_off", "taken off"),
                            ("redone", "taken off and bandaged again"),
                            ("called", "prescriber called"),
                            ("recovered", "looked again: as before the bandage"),
                            ("not_recovered", "looked again: not as before"),
                            ("handed_over", "handed over as an emergency"),
                            ("cleared", "cleared by a prescriber"),
                        ],
                        max_length=14,
                    ),
                ),
                ("words", gaiter.records.sealing.SealedText()),
                ("at", models.DateTimeField()),
                (
                    "bandaging",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="deeds",
                        to="records.bandaging",
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.RunPython(judge_open_visits, migrations.RunPython.noop),
    ]
