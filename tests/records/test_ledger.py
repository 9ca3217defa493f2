"""Every write is one action; the audit log cannot be bent unnoticed."""

import threading
from datetime import timedelta

import pytest
import time_machine
from django.conf import settings
from django.db import DatabaseError, connection, transaction

from gaiter.core.errors import InputError
from gaiter.records.actions.people import write_note
from gaiter.records.ledger import AlreadyDoneError, action, broken_at, note_opening
from gaiter.records.models import AuditEntry, Note, Person


def test_a_row_is_never_written_outside_an_action(clinic) -> None:
    clinic.person.phone = "555"
    with pytest.raises(RuntimeError, match="outside an action"):
        clinic.person.save()
    with pytest.raises(RuntimeError, match="never deleted"):
        clinic.person.delete()


def test_an_action_that_fails_leaves_nothing(clinic) -> None:
    before = AuditEntry.objects.count()

    def fails() -> None:
        with action(clinic.actor(), "try", clinic.person) as act:
            act.change(clinic.person, phone="555")
            raise InputError("no way")

    with pytest.raises(InputError, match="no way"):
        fails()
    assert AuditEntry.objects.count() == before
    assert Person.objects.get(pk=clinic.person.pk).phone == ""


def test_the_entry_says_who_when_what_from_where_before_and_after(clinic) -> None:
    before = clinic.accounts["bandager"].initials
    with action(clinic.actor(), "name anew", clinic.episode) as act:
        act.change(clinic.accounts["bandager"], initials="K7")
    entry = AuditEntry.objects.last()
    assert (entry.who, entry.role, entry.where) == ("bandager", "bandager", "127.0.0.1")
    assert entry.subject == f"episode:{clinic.episode.pk}"
    assert f'"before": {{"initials": "{before}"}}' in entry.changes
    assert '"after": {"initials": "K7"}' in entry.changes


def test_a_form_sent_twice_counts_once(clinic) -> None:
    write_note(clinic.actor(), clinic.episode, "one", "token")
    with pytest.raises(AlreadyDoneError, match="sent twice"):
        write_note(clinic.actor(), clinic.episode, "one", "token")
    assert Note.objects.count() == 1


@pytest.mark.parametrize("token", ["x" * 65, "\x00", "\ud800"])
def test_a_token_that_no_form_of_ours_has_is_refused(clinic, token) -> None:
    """A stricter database takes no null character and nothing longer than its column."""
    before = AuditEntry.objects.count()
    with pytest.raises(InputError, match="older than the program"):
        write_note(clinic.actor(), clinic.episode, "one", token)
    assert AuditEntry.objects.count() == before


def test_the_chain_holds_until_an_entry_is_changed(clinic) -> None:
    note_opening(clinic.actor(), "open record", clinic.person)
    assert broken_at() is None
    entry = AuditEntry.objects.order_by("number")[2]
    with Unguarded() as cursor:
        cursor.execute(
            "UPDATE records_auditentry SET who = 'nobody' WHERE number = %s", [entry.number]
        )
    assert broken_at() == entry.number


def test_the_chain_notices_an_entry_taken_out(clinic) -> None:
    with Unguarded() as cursor:
        cursor.execute("DELETE FROM records_auditentry WHERE number = 2")
    assert broken_at() == 2


def test_a_clock_that_goes_back_reorders_nothing(clinic) -> None:
    """The chain goes by number, whatever the clock of the server says."""
    last = AuditEntry.objects.order_by("number").last()
    with time_machine.travel(last.at - timedelta(days=400), tick=False):
        note_opening(clinic.actor(), "open record", clinic.person)
        note_opening(clinic.actor(), "open leg", clinic.episode)
    note_opening(clinic.actor(), "open again", clinic.person)
    later = list(AuditEntry.objects.filter(number__gt=last.number).order_by("number"))
    assert [entry.verb for entry in later] == ["open record", "open leg", "open again"]
    assert later[0].at < last.at
    assert [entry.previous for entry in later] == [last.hash, later[0].hash, later[1].hash]
    assert broken_at() is None


class Unguarded:
    """A cursor of somebody who has taken the database's own guard away."""

    def __enter__(self):
        self.cursor = connection.cursor()
        if connection.vendor == "postgresql":
            self.cursor.execute("ALTER TABLE records_auditentry DISABLE TRIGGER USER")
        else:
            self.cursor.execute("DROP TRIGGER audit_no_update")
            self.cursor.execute("DROP TRIGGER audit_no_delete")
        return self.cursor

    def __exit__(self, *_):
        self.cursor.close()


@pytest.mark.parametrize(
    "statement",
    ["UPDATE records_auditentry SET who = 'x'", "DELETE FROM records_auditentry"],
)
def test_the_database_refuses_to_change_the_log(clinic, statement) -> None:
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        connection.cursor().execute(statement)


def test_an_entry_is_never_saved_again(clinic) -> None:
    with pytest.raises(RuntimeError, match="never changed"):
        AuditEntry.objects.first().save()


@pytest.mark.skipif(
    "sqlite" in settings.DATABASES["default"]["ENGINE"],
    reason="the in-memory test database knows one writer; tests/browser has one on a file",
)
@pytest.mark.django_db(transaction=True)
def test_two_writers_at_once_keep_one_chain() -> None:
    from tests.clinic import small_clinic

    clinic = small_clinic()
    failures = []

    def write(letter: str) -> None:
        try:
            for number in range(8):
                write_note(clinic.actor(), clinic.episode, f"{letter}{number}")
        except Exception as error:
            failures.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=write, args=(letter,)) for letter in "ab"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert Note.objects.count() == 16
    assert broken_at() is None
