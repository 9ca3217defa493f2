"""Identities are sealed: not readable, not movable, found only by whole values."""

from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection, transaction

from gaiter.records.append_only import lifted
from gaiter.records.ledger import Actor, action
from gaiter.records.models import Note, Person, StoredFile
from gaiter.records.sealing import SealError, blind_index, seal, seal_bytes, unseal
from tests.records.models.rows import SECRET, at_rest, made

pytestmark = pytest.mark.django_db


def test_what_is_sealed_opens_and_differs_every_time() -> None:
    first, second = seal("Ada", "person.name"), seal("Ada", "person.name")
    assert first != second
    assert "Ada" not in first
    assert unseal(first, "person.name") == unseal(second, "person.name") == "Ada"


def test_a_value_cannot_be_moved_to_another_column() -> None:
    with pytest.raises(SealError, match="changed or moved"):
        unseal(seal("Ada", "person.name"), "person.phone")


def test_a_changed_value_is_refused() -> None:
    sealed = bytearray(seal_bytes(b"Ada", "person.name"))
    sealed[-1] ^= 1
    from gaiter.records.sealing import open_bytes

    with pytest.raises(SealError, match="changed or moved"):
        open_bytes(bytes(sealed), "person.name")


def test_an_old_key_still_opens_and_a_missing_one_says_so(settings) -> None:
    old = seal("Ada", "person.name")
    settings.GAITER_KEY_RING = {**settings.GAITER_KEY_RING, "current": "2"}
    assert unseal(old, "person.name") == "Ada"
    settings.GAITER_KEY_RING = {
        **settings.GAITER_KEY_RING, "keys": {"2": settings.GAITER_KEY_RING["keys"]["2"]}
    }  # fmt: skip
    with pytest.raises(SealError, match="restore the clinic's own keys"):
        unseal(old, "person.name")


@pytest.mark.parametrize(("one", "same"), [("HF-1001", "hf 1001"), ("Zoë Ång", "zoe ang")])
def test_the_index_minds_no_case_accent_or_space(one, same) -> None:
    assert blind_index(one, "number") == blind_index(same, "number")
    assert blind_index(one, "number") != blind_index(one, "name")


def test_the_database_never_sees_a_name(clinic) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, birth_date, number, phone FROM records_person")
        row = "".join(cursor.fetchone())
        cursor.execute("SELECT changes FROM records_auditentry")
        log = "".join(text for (text,) in cursor.fetchall())
    for secret in ("Ada", "Invented", "1951"):
        assert secret not in row
    assert "Ada Invented" not in log
    assert "1951-03-14" not in log


def test_a_value_cannot_be_moved_to_another_row() -> None:
    one, two = made(Note), made(Note)
    held = at_rest(one)["words"]
    with lifted(), connection.cursor() as cursor:
        cursor.execute("UPDATE records_note SET words = %s WHERE id = %s", [held, two.pk])
    assert Note.objects.get(pk=one.pk).words == SECRET
    with pytest.raises(SealError, match="changed or moved"):
        _ = Note.objects.get(pk=two.pk).words


def test_a_value_goes_in_with_its_row_only() -> None:
    note = made(Note)
    for write in (
        lambda: Note.objects.filter(pk=note.pk).update(words="past the row"),
        lambda: Note.objects.filter(words=SECRET).exists(),
    ):
        with pytest.raises(SealError, match="sealed by its row"), transaction.atomic():
            write()
    assert Note.objects.get(pk=note.pk).words == SECRET


def test_a_value_nobody_asked_for_stays_sealed_and_is_saved_as_it_was() -> None:
    note = made(Note)
    held = at_rest(note)["words"]
    again = Note.objects.get(pk=note.pk)
    with action(Actor(None, "test"), "touch"), lifted():
        again.save(update_fields=["words"])
    assert at_rest(note)["words"] == held


@pytest.mark.parametrize("broken", ["", "x", "AAAA", "£", "MQ==", "MS4="])
def test_what_is_no_sealed_value_is_a_sealing_fault(broken) -> None:
    with pytest.raises(SealError):
        unseal(broken, "person.name")


def test_what_an_earlier_version_sealed_is_bound_to_its_row() -> None:
    """As it was: sealed for its column, whatever the row."""
    note, file = made(Note), made(StoredFile)
    with lifted(), connection.cursor() as cursor:
        for row, name, held in (
            (note, "words", seal("old words", "note.words")),
            (file, "content", seal_bytes(b"old content", "storedfile.content")),
        ):
            table = row._meta.db_table
            cursor.execute(f"UPDATE {table} SET {name} = %s WHERE id = %s", [held, row.pk])
    with pytest.raises(SealError):
        _ = Note.objects.get(pk=note.pk).words
    migration = import_module("gaiter.records.migrations.0012_seals_bound_to_rows")
    with lifted():
        migration.bind(apps, None)
    assert Note.objects.get(pk=note.pk).words == "old words"
    assert StoredFile.objects.get(pk=file.pk).content == b"old content"
    assert Person.objects.get(pk=note.episode.person_id).name == SECRET
