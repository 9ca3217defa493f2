"""One open visit a leg, one signature a visit, and whatever else rows are held to.

SQLite makes a table anew for a constraint, and its triggers go with the old one: they are made
again here.
"""

from typing import Any

from django.db import migrations, models
from django.db.models import Count

from gaiter.core.errors import InputError

_ONCE = (
    ("Visit", {"signed_at": None}, ("episode__reference",), "open visits of leg {0}"),
    ("OverrideRecord", {"withdrawn_at": None}, ("visit_id", "code"), "overrides at visit {0}"),
    ("ProvisionalRecord", {"withdrawn_at": None}, ("visit_id",), "provisional levels at visit {0}"),
    ("PlanRecord", {"state": "approved"}, ("visit_id",), "approved plans of visit {0}"),
    ("PlanRecord", {"state": "proposed"}, ("visit_id",), "proposals of visit {0}"),
)

_SQLITE = (
    """CREATE TRIGGER IF NOT EXISTS audit_no_update BEFORE UPDATE ON records_auditentry
    BEGIN SELECT RAISE(ABORT, 'the audit log is append-only'); END""",
    """CREATE TRIGGER IF NOT EXISTS audit_no_delete BEFORE DELETE ON records_auditentry
    BEGIN SELECT RAISE(ABORT, 'the audit log is append-only'); END""",
    """CREATE TRIGGER IF NOT EXISTS plan_no_edit BEFORE UPDATE ON records_planrecord
    WHEN OLD.document <> NEW.document OR OLD.sha256 <> NEW.sha256 OR OLD."case" <> NEW."case"
    BEGIN SELECT RAISE(ABORT, 'a plan is superseded, never edited'); END""",
    """CREATE TRIGGER IF NOT EXISTS plan_no_delete BEFORE DELETE ON records_planrecord
    BEGIN SELECT RAISE(ABORT, 'a plan is superseded, never removed'); END""",
    """CREATE TRIGGER visit_signed_once BEFORE UPDATE ON records_visit
    WHEN OLD.signed_at IS NOT NULL AND (
        NEW.signed_at IS NOT OLD.signed_at OR NEW.signed_by_id IS NOT OLD.signed_by_id
        OR NEW.next_visit IS NOT OLD.next_visit OR NEW.day IS NOT OLD.day
        OR NEW.episode_id IS NOT OLD.episode_id)
    BEGIN SELECT RAISE(ABORT, 'a signed visit is never signed again'); END""",
)
_POSTGRESQL = (
    """CREATE TRIGGER visit_signed_once BEFORE UPDATE ON records_visit FOR EACH ROW
    WHEN (OLD.signed_at IS NOT NULL AND (
        NEW.signed_at IS DISTINCT FROM OLD.signed_at
        OR NEW.signed_by_id IS DISTINCT FROM OLD.signed_by_id
        OR NEW.next_visit IS DISTINCT FROM OLD.next_visit OR NEW.day IS DISTINCT FROM OLD.day
        OR NEW.episode_id IS DISTINCT FROM OLD.episode_id))
    EXECUTE FUNCTION gaiter_refuse()""",
)


def refuse_doubles(apps: Any, _schema_editor: Any) -> None:
    """Names what stands twice already; which of two is the right one, only the clinic knows."""
    found = []
    for model, state, fields, words in _ONCE:
        rows = apps.get_model("records", model).objects.filter(**state).values_list(*fields)
        twice = rows.annotate(times=Count("pk")).filter(times__gt=1).order_by(*fields)
        found += [words.format(*row) for row in twice]
    if found:
        raise InputError(
            f"two or more {'; '.join(found)}: end all but one with the version that wrote them, "
            f"then migrate; nothing was changed"
        )


def guard(_apps: Any, schema_editor: Any) -> None:
    """Makes the triggers of this database."""
    statements = _SQLITE if schema_editor.connection.vendor == "sqlite" else _POSTGRESQL
    for statement in statements:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    """Constraints and triggers."""

    dependencies = [
        ("records", "0010_second_factors_sealed"),
    ]

    operations = [
        migrations.RunPython(refuse_doubles, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="account",
            name="username",
            field=models.CharField(
                error_messages={"unique": "This user name is taken: choose another."},
                max_length=40,
                unique=True,
            ),
        ),
        migrations.AlterField(
            model_name="entry",
            name="state",
            field=models.CharField(
                choices=[
                    ("current", "Current"),
                    ("past", "Past"),
                    ("rival", "Rival"),
                    ("after", "After"),
                ],
                max_length=7,
            ),
        ),
        migrations.AlterField(
            model_name="person",
            name="number_index",
            field=models.CharField(
                error_messages={
                    "unique": "A person with this number is in the record already: search for it."
                },
                max_length=64,
                unique=True,
            ),
        ),
        migrations.AddConstraint(
            model_name="auditentry",
            constraint=models.UniqueConstraint(
                fields=("previous",), name="one_entry_after_another"
            ),
        ),
        migrations.AddConstraint(
            model_name="bandaging",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("undone_at", None), ("undone_by", None)),
                    models.Q(("undone_at__isnull", False), ("undone_by__isnull", False)),
                    _connector="OR",
                ),
                name="undone_with_its_hand",
                violation_error_message="When it was done and by whom are kept together.",
            ),
        ),
        migrations.AddConstraint(
            model_name="callback",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("done_at", None), ("done_by", None)),
                    models.Q(("done_at__isnull", False), ("done_by__isnull", False)),
                    _connector="OR",
                ),
                name="call_with_its_hand",
                violation_error_message="When it was done and by whom are kept together.",
            ),
        ),
        migrations.AddConstraint(
            model_name="episode",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("closed_on", None), ("outcome", "")),
                    models.Q(
                        ("closed_on__isnull", False), models.Q(("outcome", ""), _negated=True)
                    ),
                    _connector="OR",
                ),
                name="closed_with_an_outcome",
                violation_error_message="An episode is closed with its outcome, on a day.",
            ),
        ),
        migrations.AddConstraint(
            model_name="overriderecord",
            constraint=models.UniqueConstraint(
                condition=models.Q(("withdrawn_at", None)),
                fields=("visit", "code"),
                name="one_override_a_stop",
                violation_error_message="This stop is set aside already: look at the visit.",
            ),
        ),
        migrations.AddConstraint(
            model_name="overriderecord",
            constraint=models.CheckConstraint(
                condition=models.Q(("maximum_mmhg__gt", 0)),
                name="override_of_a_pressure",
                violation_error_message="A pressure or a size must be more than 0: correct it.",
            ),
        ),
        migrations.AddConstraint(
            model_name="planrecord",
            constraint=models.UniqueConstraint(
                condition=models.Q(("state", "approved")),
                fields=("visit",),
                name="one_approved_plan_a_visit",
                violation_error_message="Another plan was approved a moment ago: look at it.",
            ),
        ),
        migrations.AddConstraint(
            model_name="planrecord",
            constraint=models.UniqueConstraint(
                condition=models.Q(("state", "proposed")),
                fields=("visit", "state"),
                name="one_proposal_a_visit",
                violation_error_message="Another plan was proposed a moment ago: look at it.",
            ),
        ),
        migrations.AddConstraint(
            model_name="planrecord",
            constraint=models.CheckConstraint(
                condition=models.Q(("maximum_mmhg__gt", 0)),
                name="plan_of_a_pressure",
                violation_error_message="A pressure or a size must be more than 0: correct it.",
            ),
        ),
        migrations.AddConstraint(
            model_name="provisionalrecord",
            constraint=models.UniqueConstraint(
                condition=models.Q(("withdrawn_at", None)),
                fields=("visit",),
                name="one_provisional_level_a_visit",
                violation_error_message="A provisional level was chosen already: look at it.",
            ),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(("value__gte", 0)),
                name="reading_of_something",
                violation_error_message="A reading must be 0 or more: correct it.",
            ),
        ),
        migrations.AddConstraint(
            model_name="standingorder",
            constraint=models.CheckConstraint(
                condition=models.Q(("maximum_mmhg__gt", 0)),
                name="order_of_a_pressure",
                violation_error_message="A pressure or a size must be more than 0: correct it.",
            ),
        ),
        migrations.AddConstraint(
            model_name="standingorder",
            constraint=models.CheckConstraint(
                condition=models.Q(("ends__gte", models.F("starts"))),
                name="order_ends_after_its_start",
                violation_error_message="An order ends on the day it starts, or later.",
            ),
        ),
        migrations.AddConstraint(
            model_name="stockitem",
            constraint=models.CheckConstraint(
                condition=models.Q(("width_cm__gt", 0)),
                name="a_width_of_something",
                violation_error_message="A pressure or a size must be more than 0: correct it.",
            ),
        ),
        migrations.AddConstraint(
            model_name="visit",
            constraint=models.UniqueConstraint(
                condition=models.Q(("signed_at", None)),
                fields=("episode",),
                name="one_open_visit_a_leg",
                violation_error_message="This leg has an open visit already: go on with it.",
            ),
        ),
        migrations.AddConstraint(
            model_name="visit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("signed_at", None), ("signed_by", None)),
                    models.Q(("signed_at__isnull", False), ("signed_by__isnull", False)),
                    _connector="OR",
                ),
                name="signature_with_its_hand",
                violation_error_message="When it was done and by whom are kept together.",
            ),
        ),
        migrations.AlterConstraint(
            model_name="entry",
            name="one_current_entry_a_box",
            constraint=models.UniqueConstraint(
                condition=models.Q(("state", "current")),
                fields=("visit", "path"),
                name="one_current_entry_a_box",
                violation_error_message="Somebody else filled this box a moment ago: load the page again and look.",
            ),
        ),
        migrations.AlterConstraint(
            model_name="episode",
            name="one_open_episode_a_leg",
            constraint=models.UniqueConstraint(
                condition=models.Q(("closed_on", None)),
                fields=("person", "side"),
                name="one_open_episode_a_leg",
                violation_error_message="This leg has an open episode already: go on with that one.",
            ),
        ),
        migrations.AlterConstraint(
            model_name="stockitem",
            name="one_item_a_width",
            constraint=models.UniqueConstraint(
                fields=("material", "width_cm"),
                name="one_item_a_width",
                violation_error_message="This material is on the shelf in that width already: change it there.",
            ),
        ),
        migrations.AlterConstraint(
            model_name="stockitem",
            name="no_negative_stock",
            constraint=models.CheckConstraint(
                condition=models.Q(("rolls__gte", 0)),
                name="no_negative_stock",
                violation_error_message="The shelf has fewer rolls than that: count it.",
            ),
        ),
        migrations.RunPython(guard, migrations.RunPython.noop),
    ]
