"""The role that serves does what the clinic does, and nothing besides."""

from datetime import timedelta

import pytest
from django.apps import apps
from django.conf import settings
from django.db import DatabaseError, connection, transaction
from django.urls import reverse

from gaiter.core.errors import InputError
from gaiter.operations.database_roles import owner_that_serves, role_statements
from gaiter.records.actions.checks import GOOD_ANSWERS, record_check
from gaiter.records.actions.grants import issue_link
from gaiter.records.actions.people import close_episode, write_note
from gaiter.records.actions.plans import record_bandaging, withdraw_plan
from gaiter.records.actions.visits import sign_visit
from gaiter.records.append_only import CHANGING, guard, kept_models, lifted, unguarded
from gaiter.records.ledger import broken_at
from gaiter.records.models import Note, Role
from tests.clinic import PASSWORD

postgresql = pytest.mark.skipif(
    "sqlite" in settings.DATABASES["default"]["ENGINE"], reason="SQLite knows no roles"
)
ROLE = "gaiter_serves"


@pytest.mark.parametrize("role", ["", "9a", "Serves", "a b", 'a"b', "a'b", "a;b", "x" * 64, "pg_x"])
def test_a_name_that_would_need_quoting_is_refused(role) -> None:
    with pytest.raises(InputError, match="1 to 63 small letters"):
        role_statements(role)


def test_every_table_is_named_once() -> None:
    """A new model's table is in the statements without anybody's doing."""
    said = [line for line in role_statements(ROLE) if line.startswith("GRANT SELECT")]
    for model in apps.get_models(include_auto_created=True):
        assert sum(f' ON "{model._meta.db_table}" TO' in line for line in said) == 1
    assert len(said) == len(apps.get_models(include_auto_created=True)) + 1  # and migrations


def test_no_row_of_the_record_may_be_removed_and_only_named_columns_change() -> None:
    said = "\n".join(role_statements(ROLE))
    assert f'GRANT SELECT, INSERT ON "records_auditentry" TO "{ROLE}"' in said
    assert f'GRANT SELECT, INSERT, UPDATE ("state") ON "records_entry" TO "{ROLE}"' in said
    assert "TRUNCATE" not in said
    removable = [line for line in said.split("\n") if "DELETE" in line]
    assert sorted(line.split('"')[1] for line in removable) == [
        "entrance_session",
        "entrance_tries",
    ]


@pytest.fixture
def serving(db):
    """The connection is the serving role's; everything is undone after the test."""
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        for statement in role_statements(ROLE):
            cursor.execute(statement)
        cursor.execute(f"SET ROLE {ROLE}")
    yield
    with connection.cursor() as cursor:
        cursor.execute("RESET ROLE")


def said(statement: str) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


@postgresql
def test_the_clinic_works(clinic, serving, client) -> None:
    answer = client.post(reverse("sign-in"), {"username": "prescriber", "password": PASSWORD})
    assert answer.status_code == 302
    assert client.get(reverse("visit", args=[clinic.visit.pk])).status_code == 200
    clinic.fill({"leg.findings.new_pain": False})
    write_note(clinic.actor(), clinic.episode, "A note.")
    withdraw_plan(clinic.actor(Role.PRESCRIBER), clinic.proposed(), "Not this one, another.")
    day = clinic.visit.day + timedelta(days=2)
    bandaging = record_bandaging(clinic.actor(), clinic.visit, clinic.approved(), day)
    record_check(clinic.actor(), bandaging, "after", GOOD_ANSWERS)
    sign_visit(clinic.actor(), clinic.visit, day)
    close_episode(clinic.actor(), clinic.episode, "moved")
    issue_link(clinic.actor(Role.MANAGER), clinic.accounts[Role.BANDAGER])
    client.post(reverse("sign-out"))
    assert broken_at() is None
    assert Note.objects.get().words == "A note."


@postgresql
@pytest.mark.parametrize("model", kept_models(), ids=lambda model: model.__name__)
def test_no_table_of_the_record_is_emptied_and_none_that_only_grows_changes(serving, model) -> None:
    table, key = model._meta.db_table, model._meta.pk.column
    statements = [f"DELETE FROM {table}", f"TRUNCATE {table} CASCADE",
                  f"UPDATE {table} SET {key} = {key}", f"DROP TABLE {table} CASCADE",
                  f"ALTER TABLE {table} DISABLE TRIGGER ALL"]  # fmt: skip
    if model.__name__ not in CHANGING:
        columns = [connection.ops.quote_name(f.column) for f in model._meta.concrete_fields]
        statements += [f"UPDATE {table} SET {column} = {column}" for column in columns]
    for statement in statements:
        with pytest.raises(DatabaseError, match=r"permission denied|must be owner"):
            said(statement)


@postgresql
@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TABLE mine (a int)",
        "CREATE TEMPORARY TABLE mine (a int)",
        "CREATE SCHEMA mine",
        "CREATE ROLE other",
        "CREATE FUNCTION gaiter_mine() RETURNS int LANGUAGE sql AS 'SELECT 1'",
        "CREATE OR REPLACE FUNCTION gaiter_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RETURN NEW; END $$",
        "SELECT * FROM pg_authid",
        "SELECT pg_read_file('/etc/passwd')",
        "COPY records_note TO PROGRAM 'cat'",
        "SET session_replication_role = replica",
        "DELETE FROM django_migrations",
        "INSERT INTO django_migrations (app, name, applied) VALUES ('a', 'b', now())",
    ],
)
def test_nothing_besides_is_allowed(serving, statement) -> None:
    with pytest.raises(DatabaseError, match="permission denied|must be owner|must be superuser"):
        said(statement)


@postgresql
def test_only_the_owner_lifts_or_makes_triggers_and_that_is_said(serving) -> None:
    with pytest.raises(InputError, match="GAITER_DATABASE of their owner"), lifted():
        pytest.fail("they rested")
    said("RESET ROLE")
    name = "note_no_delete"
    with connection.cursor() as cursor:
        cursor.execute("SELECT tgname FROM pg_trigger WHERE tgname LIKE %s", [f"{name}%"])
        name = cursor.fetchone()[0]
    said(f"ALTER TABLE records_note DISABLE TRIGGER {name}")
    said(f"SET ROLE {ROLE}")
    assert unguarded() == ["records_note"]
    with pytest.raises(InputError, match="does not own records_note"):
        guard()


@postgresql
def test_an_owner_that_serves_is_known_by_its_name(serving) -> None:
    assert owner_that_serves() == ""
    said("RESET ROLE")
    assert owner_that_serves() == connection.settings_dict["USER"]


def test_sqlite_knows_no_owner(db) -> None:
    if connection.vendor == "sqlite":
        assert owner_that_serves() == ""
