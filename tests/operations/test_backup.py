"""A backup restores to the same rows, is read by nobody without the key, or is refused in words."""

import contextlib
import stat

import pytest
from django.contrib.sessions.models import Session
from django.db import transaction

from gaiter.core.errors import InputError
from gaiter.operations import backup, rows
from gaiter.operations.backup import read_backup, write_backup
from gaiter.records.ledger import broken_at
from gaiter.records.models import AuditEntry, Check, Entry, Person, StockItem, StoredFile
from tests.records.models.rows import AT, SECRET, made

pytestmark = pytest.mark.django_db


class EmptyAgainError(Exception):
    """Takes the clinic away, so that the database is a new one."""


@contextlib.contextmanager
def clinic_that_goes():
    """A few rows of every kind of column, gone when the block is left."""
    with contextlib.suppress(EmptyAgainError), transaction.atomic():
        made(Person, birth_date="1951-03-14", created_at=AT)
        made(StoredFile, content=b"%PDF " + bytes(range(256)))
        made(Check, answers={"pain": "8"}, failed=["toes pale"])
        made(Entry, value=23.5, words=None)
        made(Entry, value=None, words="washed")
        made(StockItem, width_cm=7.5, rolls=3, curve={"usual_stretch": 0.5})
        Session.objects.create(session_key="somebody", session_data="x", expire_date=AT)
        yield
        raise EmptyAgainError


@pytest.fixture
def file(tmp_path):
    """A backup, the clinic gone since."""
    path = tmp_path / "clinic.gaiter"
    with clinic_that_goes():
        write_backup(path)
    assert not Person.objects.exists()
    return path


def test_everything_comes_back_as_it_was(tmp_path) -> None:
    path = tmp_path / "clinic.gaiter"
    with clinic_that_goes():
        written = write_backup(path)
        audit = AuditEntry.objects.count()
    read = read_backup(path)
    assert read == written
    assert written.audit == audit == AuditEntry.objects.count() > 0
    assert broken_at() is None
    person = Person.objects.earliest("pk")
    assert (person.name, person.birth_date, person.created_at) == (SECRET, "1951-03-14", AT)
    assert bytes(StoredFile.objects.get().content) == b"%PDF " + bytes(range(256))
    assert Check.objects.get().answers == {"pain": "8"}
    assert {(e.value, e.words) for e in Entry.objects.all()} == {(23.5, None), (None, "washed")}
    item = StockItem.objects.get()
    assert (item.width_cm, item.rolls, item.curve) == (7.5, 3, {"usual_stretch": 0.5})


def test_nobody_is_signed_in_by_a_restore(file) -> None:
    read_backup(file)
    assert not Session.objects.exists()


def test_new_rows_go_on_after_the_restored_ones(file) -> None:
    read_backup(file)
    newest = StockItem.objects.latest("pk").pk
    assert made(StockItem, material="new").pk > newest


def test_the_file_is_private_and_nothing_in_it_is_in_the_clear(file) -> None:
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    content = file.read_bytes()
    for secret in (SECRET.encode(), b"1951-03-14", b"records_person", b"wool"):
        assert secret not in content
    assert [path.name for path in file.parent.iterdir()] == [file.name]


def test_a_database_that_holds_somebody_is_left_alone(file) -> None:
    made(Person)
    with pytest.raises(InputError, match="not empty: restore into a new one"):
        read_backup(file)
    assert Person.objects.count() == 1


SPOILT = "was cut short or changed since it was written: use another copy"


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda whole: whole[: len(whole) // 2], SPOILT),
        (lambda whole: whole[:-9], SPOILT),
        (lambda whole: whole[:90] + bytes([whole[90] ^ 1]) + whole[91:], SPOILT),
        (lambda whole: whole + b"x", SPOILT),
        (lambda _whole: b"hello", "is no backup of Gaiter"),
        (lambda _whole: b"", "is no backup of Gaiter"),
        (lambda whole: whole[:16], SPOILT),
        (lambda whole: whole[:32], SPOILT),
        (
            lambda whole: b"gaiter.backup/1" + whole[15:],
            "by an earlier version .* restore it there",
        ),
    ],
    ids=[
        "half",
        "end",
        "one bit",
        "more",
        "another file",
        "nothing",
        "its name",
        "no piece",
        "earlier",
    ],
)
def test_a_file_that_is_not_whole_is_refused_and_nothing_kept(file, spoil, words) -> None:
    file.write_bytes(spoil(file.read_bytes()))
    with pytest.raises(InputError, match=words):
        read_backup(file)
    assert not Person.objects.exists()


def test_without_the_clinics_keys_it_stays_closed(file, settings) -> None:
    settings.GAITER_KEY_RING = {
        "keys": {"9": bytes(32)}, "current": "9", "index": bytes(32),
    }  # fmt: skip
    with pytest.raises(InputError, match="restore the clinic's own keys"):
        read_backup(file)


def test_a_backup_of_another_version_is_refused(file, monkeypatch) -> None:
    monkeypatch.setattr(backup, "_migrations", lambda: [["records", "0099_to_come"]])
    with pytest.raises(InputError, match="written by another version"):
        read_backup(file)
    assert not Person.objects.exists()


def test_a_place_that_cannot_be_written_or_read_is_named(tmp_path) -> None:
    with pytest.raises(InputError, match="nowhere/x cannot be written"):
        write_backup(tmp_path / "nowhere" / "x")
    with pytest.raises(InputError, match="cannot be read"):
        read_backup(tmp_path / "none")


def test_a_backup_that_does_not_prove_itself_leaves_the_last_one(file, monkeypatch) -> None:
    """A column comes back from its table changed."""
    before = file.read_bytes()
    real = rows._column

    def other(field, value, vendor):
        return 24 if field.name == "rolls" else real(field, value, vendor)

    monkeypatch.setattr(rows, "_column", other)
    with clinic_that_goes(), pytest.raises(InputError, match="does not restore to the same rows"):
        write_backup(file)
    assert file.read_bytes() == before
    assert [path.name for path in file.parent.iterdir()] == [file.name]
