"""Whoever changes the record past the program is found, and what was changed is named."""

from datetime import timedelta

import pytest
from django.db import connection

from gaiter.core.errors import InputError
from gaiter.records import ledger
from gaiter.records.actions.accounts import change_account
from gaiter.records.actions.people import add_person, write_note
from gaiter.records.actions.plans import leave_order, record_bandaging
from gaiter.records.actions.readings import Read, record_readings
from gaiter.records.ledger import broken_at, chained
from gaiter.records.models import Account, AuditEntry, Person, Role
from gaiter.records.proof import against_anchor, append_head, head, proof, take_in
from gaiter.records.sealing import SealError
from tests.records.models.rows import at_rest

WORDS = "Spoken to on the telephone today."


def past_the_program(statement: str, *values) -> None:
    """Somebody writes into the database by hand, its guards taken away."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
            for (name,) in cursor.fetchall():
                cursor.execute(f"DROP TRIGGER {name}")
            cursor.execute(statement, values)
        else:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute("SET session_replication_role = replica")
            cursor.execute(statement, values)
            cursor.execute("SET session_replication_role = DEFAULT")


def found() -> list[tuple[str, str]]:
    return [(fault.row, fault.field) for fault in proof().faults]


@pytest.fixture
def busy(clinic):
    """A clinic with a plan, a bandage, a reading, a note, a second person and an order."""
    clinic.plan = clinic.approved()
    bandaging = record_bandaging(
        clinic.actor(), clinic.visit, clinic.plan, clinic.visit.day + timedelta(days=1)
    )
    record_readings(clinic.actor(), bandaging, [Read("sensor", 0, "gaiter", 31.0)])
    clinic.note = write_note(clinic.actor(), clinic.episode, "A note.")
    clinic.other = add_person(
        clinic.actor(), name="Bo Invented", birth_date=clinic.person.born, number="T-2"
    )
    day = clinic.actor().today
    leave_order(
        clinic.actor(Role.PRESCRIBER), person=None, maximum_mmhg=40, words=WORDS, starts=day,
        ends=day + timedelta(days=3),
    )  # fmt: skip
    assert found() == []
    return clinic


def test_every_row_is_compared(busy) -> None:
    told = proof()
    assert told.rows > 40
    assert told.head == head()


def test_swapped_names_are_found_and_do_not_open(busy) -> None:
    one, two = at_rest(busy.person)["name"], at_rest(busy.other)["name"]
    for key, name in ((busy.person.pk, two), (busy.other.pk, one)):
        past_the_program("UPDATE records_person SET name = %s WHERE id = %s", name, key)
    assert found() == [(f"person:{busy.person.pk}", "name"), (f"person:{busy.other.pk}", "name")]
    with pytest.raises(SealError, match="changed or moved"):
        _ = Person.objects.get(pk=busy.person.pk).name


def test_swapped_fingerprints_of_numbers_are_found(busy) -> None:
    past_the_program(
        "UPDATE records_person SET name_index = number_index WHERE id = %s", busy.person.pk
    )
    assert found() == [(f"person:{busy.person.pk}", "name_index")]


def test_a_forged_approval_is_found(busy) -> None:
    busy.fill({"leg.girth_cm.ankle": 24.0})
    plan = busy.proposed()
    past_the_program("UPDATE records_planrecord SET state = 'superseded' WHERE state = 'approved'")
    past_the_program(
        "UPDATE records_planrecord SET state = 'approved', approved_by_id = %s WHERE id = %s",
        busy.accounts[Role.PRESCRIBER].pk, plan.pk,
    )  # fmt: skip
    assert found() == [
        (f"planrecord:{busy.plan.pk}", "state"),
        (f"planrecord:{plan.pk}", "state"),
        (f"planrecord:{plan.pk}", "approved_by_id"),
    ]


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("reading", "value", 12.0),
        ("standingorder", "maximum_mmhg", 80.0),
        ("planrecord", "maximum_mmhg", 80.0),
        ("planrecord", "document", "{}"),
        ("bandaging", "off_by", "2027-01-01"),
        ("visit", "day", "2026-11-01"),
    ],
)
def test_a_changed_value_is_found(busy, table, column, value) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT min(id) FROM records_{table}")
        key = cursor.fetchone()[0]
    past_the_program(f"UPDATE records_{table} SET {column} = %s", value)
    assert found() == [(f"{table}:{key}", column)]


def test_a_promoted_role_and_a_password_of_ones_own_are_found(busy) -> None:
    nurse = busy.accounts[Role.BANDAGER]
    doctor = busy.accounts[Role.PRESCRIBER]
    past_the_program("UPDATE records_account SET role = 'prescriber' WHERE id = %s", nurse.pk)
    past_the_program(
        "UPDATE records_account SET password = %s WHERE id = %s", nurse.password, doctor.pk
    )
    assert found() == [(f"account:{doctor.pk}", "password"), (f"account:{nurse.pk}", "role")]


def test_a_deleted_row_is_found(busy) -> None:
    past_the_program("DELETE FROM records_note WHERE id = %s", busy.note.pk)
    assert found() == [(f"note:{busy.note.pk}", "")]


def test_an_inserted_row_is_found(busy) -> None:
    past_the_program(
        "INSERT INTO records_note (words, at, author_id, episode_id) "
        "SELECT words, at, author_id, episode_id FROM records_note"
    )
    assert [row for row, _field in found()] == [f"note:{busy.note.pk + 1}"]


def test_a_change_that_the_program_has_built_on_since_is_found(busy) -> None:
    nurse = busy.accounts[Role.BANDAGER]
    past_the_program("UPDATE records_account SET role = 'prescriber' WHERE id = %s", nurse.pk)
    nurse.refresh_from_db()
    change_account(busy.actor(Role.MANAGER), nurse, role=Role.LEARNER)
    (fault,) = proof().faults
    assert (fault.row, fault.field) == (f"account:{nurse.pk}", "role")
    assert "before entry" in fault.what


def test_a_log_made_anew_without_the_keys_does_not_hold(busy) -> None:
    """Every entry hashed again by SHA-256, as whoever owns the database could."""
    past_the_program("UPDATE records_auditentry SET who = 'nobody' WHERE number = 3")
    previous = ledger.FIRST_HASH
    for entry in AuditEntry.objects.order_by("number"):
        entry.previous = previous
        previous = ledger.unkeyed_hash(entry)
        past_the_program(
            "UPDATE records_auditentry SET previous = %s, hash = %s WHERE number = %s",
            entry.previous, previous, entry.number,
        )  # fmt: skip
    assert broken_at() is None
    assert found()[0] == ("audit log", "")


def test_an_unkeyed_entry_never_follows_a_keyed_one(busy) -> None:
    last = AuditEntry.objects.latest("number")
    past_the_program(
        "UPDATE records_auditentry SET hash = %s WHERE number = %s",
        ledger.unkeyed_hash(last), last.number,
    )  # fmt: skip
    assert broken_at() == last.number


def test_a_log_of_an_earlier_version_goes_on_under_the_key(busy) -> None:
    """Its entries held no account, and were hashed without a key."""
    previous = ledger.FIRST_HASH
    for entry in AuditEntry.objects.order_by("number"):
        entry.previous = previous
        if entry.verb == "add account":
            entry.changes = '[{"account": "somebody"}]'
        previous = ledger.unkeyed_hash(entry)
        past_the_program(
            "UPDATE records_auditentry SET previous = %s, hash = %s, changes = %s "
            "WHERE number = %s",
            entry.previous, previous, entry.changes, entry.number,
        )  # fmt: skip
    assert take_in() == Account.objects.count()
    assert found() == []
    assert [keyed for _entry, keyed in chained()][-2:] == [False, True]
    assert take_in() == 0
    past_the_program("UPDATE records_account SET role = 'prescriber' WHERE role = 'bandager'")
    assert [field for _row, field in found()] == ["role"]


def test_a_keyed_log_takes_nothing_in(busy) -> None:
    past_the_program("UPDATE records_account SET role = 'prescriber' WHERE role = 'bandager'")
    assert take_in() == 0
    assert [field for _row, field in found()] == ["role"]


def test_an_end_that_was_taken_away_is_found_by_its_anchor(busy, tmp_path) -> None:
    file = tmp_path / "anchors"
    append_head(file, "2026-11-25")
    write_note(busy.actor(), busy.episode, "Another note.")
    noted = append_head(file, "2026-11-26")
    assert file.read_text().splitlines()[-1] == f"{noted.number} {noted.hash} 2026-11-26"
    assert file.stat().st_mode & 0o077 == 0
    assert against_anchor(file) == 2
    past_the_program("DELETE FROM records_auditentry WHERE number = %s", noted.number)
    past_the_program("DELETE FROM records_note WHERE id = %s", busy.note.pk + 1)
    # The log alone holds, as if nothing had ever been written.
    assert found() == []
    with pytest.raises(InputError, match=f"entry {noted.number} is not the one"):
        against_anchor(file)


@pytest.mark.parametrize(
    ("text", "words"),
    [("", "holds no anchor"), ("x y", "line 1"), ("7", "line 1"), ("9" * 30 + " x", "line 1"),
     (b"\xff\xfe", "cannot be read"), (None, "cannot be read")],
)  # fmt: skip
def test_a_file_that_holds_no_anchor_is_refused(busy, tmp_path, text, words) -> None:
    file = tmp_path / "anchors"
    if text is not None:
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(InputError, match=words):
        against_anchor(file)
