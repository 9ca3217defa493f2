"""What the role that serves the clinic may do in PostgreSQL: no more than the clinic does.

One role owns the tables and runs ``gaiter migrate``; another serves. The statements are made from
the models, so a new table is in them from its first day.
"""

import re

from django.apps import apps
from django.db import connection, models

from gaiter.core.errors import InputError
from gaiter.records.append_only import columns_of, kept_models

# The framework's own tables: looked at when the server starts.
_LOOKED_AT = ("auth", "contenttypes")
_MIGRATIONS = "django_migrations"


def role_statements(role: str) -> list[str]:
    """Statements of SQL that make the serving role and say what it may do.

    Run by the owner of the clinic's database, who may also make roles; as often as wanted.

    Parameters
    ----------
    role : str
        Its name: small letters, digits and _, 1 to 63 of them, no digit first.

    Raises
    ------
    InputError
        If it is no such name.
    """
    if not re.fullmatch(r"[a-z_][a-z0-9_]{0,62}", role) or role.startswith("pg_"):
        raise InputError(
            f"a role is called by 1 to 63 small letters, digits and _, no digit first and not pg_; "
            f"received {role!r}: choose another name"
        )
    named = _quoted(role)
    database = "DO $$ BEGIN EXECUTE format('{words}', current_database()); END $$"
    return [
        f"DO $$ BEGIN IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '{role}') THEN "
        f"CREATE ROLE {named} LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOINHERIT NOREPLICATION "
        f"NOBYPASSRLS; END IF; END $$",
        database.format(words="REVOKE CREATE, TEMPORARY ON DATABASE %I FROM PUBLIC"),
        database.format(words=f"GRANT CONNECT ON DATABASE %I TO {named}"),
        "REVOKE CREATE ON SCHEMA public FROM PUBLIC",
        f"REVOKE ALL ON SCHEMA public FROM {named}",
        f"GRANT USAGE ON SCHEMA public TO {named}",
        # What an older version allowed goes first, columns included.
        f"REVOKE ALL ON ALL TABLES IN SCHEMA public FROM {named}",
        f"REVOKE ALL ON ALL SEQUENCES IN SCHEMA public FROM {named}",
        # An action asks for the number of a new row before it writes it; it sets none back.
        f"GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO {named}",
        f"GRANT SELECT ON {_quoted(_MIGRATIONS)} TO {named}",
        *(
            f"GRANT {rights} ON {_quoted(model._meta.db_table)} TO {named}"
            for model in apps.get_models(include_auto_created=True)
            if model._meta.managed and not model._meta.proxy
            for rights in [_rights(model)]
        ),
    ]


def owner_that_serves() -> str:
    """Name of the role that serves, where it owns the clinic's tables and could drop them."""
    if connection.vendor != "postgresql":
        return ""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT current_user FROM pg_tables WHERE schemaname = current_schema() "
            "AND tablename = %s AND pg_has_role(current_user, tableowner, 'USAGE')",
            [_MIGRATIONS],
        )
        found = cursor.fetchone()
    return found[0] if found else ""


def _rights(model: type[models.Model]) -> str:
    """What the clinic does with a table, the columns named that it changes."""
    if model in kept_models():
        changing = ", ".join(map(_quoted, columns_of(model, changing=True)))
        return f"SELECT, INSERT, UPDATE ({changing})" if changing else "SELECT, INSERT"
    if model._meta.app_label in _LOOKED_AT:
        return "SELECT"
    # Sessions, tries and whatever else passes.
    return "SELECT, INSERT, UPDATE, DELETE"


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'
