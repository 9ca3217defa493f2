"""The database itself refuses to change or remove an audit entry, or to edit a plan."""

from typing import Any

from django.db import migrations

_SQLITE = (
    """CREATE TRIGGER audit_no_update BEFORE UPDATE ON records_auditentry
    BEGIN SELECT RAISE(ABORT, 'the audit log is append-only'); END""",
    """CREATE TRIGGER audit_no_delete BEFORE DELETE ON records_auditentry
    BEGIN SELECT RAISE(ABORT, 'the audit log is append-only'); END""",
    """CREATE TRIGGER plan_no_edit BEFORE UPDATE ON records_planrecord
    WHEN OLD.document <> NEW.document OR OLD.sha256 <> NEW.sha256 OR OLD."case" <> NEW."case"
    BEGIN SELECT RAISE(ABORT, 'a plan is superseded, never edited'); END""",
    """CREATE TRIGGER plan_no_delete BEFORE DELETE ON records_planrecord
    BEGIN SELECT RAISE(ABORT, 'a plan is superseded, never removed'); END""",
)
_POSTGRESQL = (
    """CREATE FUNCTION gaiter_refuse() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION 'this row is append-only'; END $$""",
    """CREATE TRIGGER audit_append_only BEFORE UPDATE OR DELETE ON records_auditentry
    FOR EACH ROW EXECUTE FUNCTION gaiter_refuse()""",
    """CREATE TRIGGER plan_no_edit BEFORE UPDATE ON records_planrecord FOR EACH ROW
    WHEN (OLD.document <> NEW.document OR OLD.sha256 <> NEW.sha256 OR OLD."case" <> NEW."case")
    EXECUTE FUNCTION gaiter_refuse()""",
    """CREATE TRIGGER plan_no_delete BEFORE DELETE ON records_planrecord
    FOR EACH ROW EXECUTE FUNCTION gaiter_refuse()""",
)


def guard(_apps: Any, schema_editor: Any) -> None:
    """Makes the triggers of this database."""
    statements = _SQLITE if schema_editor.connection.vendor == "sqlite" else _POSTGRESQL
    for statement in statements:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    """Triggers."""

    dependencies = [("records", "0001_initial")]
    operations = [migrations.RunPython(guard, migrations.RunPython.noop)]
