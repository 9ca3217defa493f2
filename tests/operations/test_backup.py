"""A backup restores to the same rows, is read by nobody without the key, or is refused in words."""

import contextlib
import errno
import fcntl
import json
import os
import random
import shutil
import sqlite3
import stat
import subprocess
import sys
import tempfile

import pytest
from django.db import transaction

from gaiter.core.errors import InputError
from gaiter.operations import backup, rows, sealed_file
from gaiter.operations.backup import read_backup, write_backup
from gaiter.records.entrance.models import Session
from gaiter.records.ledger import broken_at
from gaiter.records.models import AuditEntry, Check, Entry, Note, Person, StockItem, StoredFile
from tests.folder_clinic import ROOT
from tests.records.models.rows import AT, SECRET, made

pytestmark = [pytest.mark.django_db, pytest.mark.long]


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
        Session.objects.create(
            key_hash="somebody", content=b"x", began_at=AT, seen_at=AT, ends_at=AT
        )
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


def test_flipped_and_cut_backups_are_refused_in_one_sentence_and_nothing_is_kept(
    monkeypatch, tmp_path
) -> None:
    """Three hundred of each kind, drawn once for all; pieces are small so that there are many."""
    monkeypatch.setattr(sealed_file, "_PIECE", 500)
    path = tmp_path / "clinic.gaiter"
    with clinic_that_goes():
        write_backup(path)
    whole, draw = path.read_bytes(), random.Random(12)
    for number in range(600):
        place = draw.randrange(len(whole))
        turned = bytes([whole[place] ^ 1 << draw.randrange(8)])
        path.write_bytes(
            whole[:place] if number % 2 else whole[:place] + turned + whole[place + 1 :]
        )
        with pytest.raises(InputError) as refused:
            read_backup(path)
        assert "\n" not in str(refused.value)
    assert not any(table.objects.exists() for table in (Person, StockItem, AuditEntry, Note))
    path.write_bytes(whole)
    assert read_backup(path).rows > 0


class Filling:
    """Fails as a full disk does at the n-th write to a file."""

    def __init__(self, monkeypatch, fail_at: int) -> None:
        self.count = 0
        real = os.fdopen

        def opened(*given, **named):
            file = real(*given, **named)
            filling = self

            class Watched:
                def __getattr__(self, name):
                    return getattr(file, name)

                def __enter__(self):
                    return self

                def __exit__(self, *_):
                    file.close()

                def write(self, content):
                    filling.count += 1
                    if filling.count == fail_at:
                        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
                    return file.write(content)

            return Watched()

        monkeypatch.setattr(os, "fdopen", opened)


# The name of the file, and three pieces of what four rows come to.
@pytest.mark.parametrize("fail_at", [1, 2, 3, 4])
def test_a_disk_that_fills_up_leaves_the_last_backup(file, monkeypatch, fail_at) -> None:
    before = file.read_bytes()
    monkeypatch.setattr(sealed_file, "_PIECE", 500)
    with monkeypatch.context() as patch:
        filling = Filling(patch, fail_at)
        with clinic_that_goes(), pytest.raises(InputError, match="No space left on device"):
            write_backup(file)
        assert filling.count == fail_at
    assert file.read_bytes() == before
    assert [path.name for path in file.parent.iterdir()] == [file.name]


def test_what_a_killed_backup_left_is_taken_away_and_one_at_work_is_not(tmp_path) -> None:
    left = tmp_path / ".yesterday.gaiter.gaiter-unfinished"
    left.write_bytes(b"gaiter.backup/2\n")
    at_work = tmp_path / ".other.gaiter.gaiter-unfinished"
    with at_work.open("wb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        with clinic_that_goes():
            write_backup(tmp_path / "today.gaiter")
            with pytest.raises(InputError, match="is being written by another backup: wait"):
                write_backup(tmp_path / "other.gaiter")
        assert at_work.exists()
    assert sorted(path.name for path in tmp_path.iterdir()) == [at_work.name, "today.gaiter"]


def test_a_backup_whose_older_keys_are_not_here_is_refused_whole(file, settings) -> None:
    """The file opens, but what lies in it is sealed under a key that is not held."""
    both = settings.GAITER_KEY_RING
    path = file.with_name("second.gaiter")
    with clinic_that_goes():
        settings.GAITER_KEY_RING = {**both, "current": "2"}
        write_backup(path)
    settings.GAITER_KEY_RING = {**both, "current": "2", "keys": {"2": both["keys"]["2"]}}
    with pytest.raises(InputError, match="sealed under the key 1, which .* does not hold"):
        read_backup(path)
    assert not Person.objects.exists()
    settings.GAITER_KEY_RING = both
    assert read_backup(path).rows > 0


# On a clinic in a folder: a writer comes as soon as the first piece is written.
_WRITER = """
import sqlite3, sys
from pathlib import Path
import django
django.setup()
from django.conf import settings
from django.db import connection
from gaiter.operations import rows
from gaiter.operations.backup import write_backup
real, done = rows.write_row, []
def with_a_writer(file, table, values):
    if not done:
        other = sqlite3.connect(settings.DATABASES["default"]["NAME"], timeout=0)
        other.execute("UPDATE records_account SET name = 'Meanwhile'")
        other.commit()
        other.close()
        done.append(True)
    real(file, table, values)
from gaiter.operations import backup
backup.write_row = with_a_writer
report = write_backup(Path(sys.argv[1]))
print("written", len(done), report.rows)
"""


def test_nobody_waits_for_a_backup_and_it_is_of_one_moment(real, empty, tmp_path) -> None:
    """The writer would be told at once that the database is locked."""
    file = tmp_path / "copy.gaiter"
    code, said = real.python(_WRITER, str(file))
    assert (code, said.startswith("written 1 ")) == (0, True), said
    with sqlite3.connect(real.database) as database:
        assert set(database.execute("SELECT name FROM records_account")) == {("Meanwhile",)}
    database.close()
    empty.folder.mkdir(mode=0o700)
    shutil.copy(real.keys, empty.keys)
    code, said = empty.run("restore", str(file))
    assert code == 0, said
    with sqlite3.connect(empty.database) as database:
        names = {name for (name,) in database.execute("SELECT name FROM records_account")}
    database.close()
    assert "Meanwhile" not in names
    assert len(names) == 4


_LIMITED = """
import resource, signal, sys
import django
django.setup()
from pathlib import Path
from gaiter.core.errors import InputError
from gaiter.operations.backup import write_backup
from gaiter.records.models import Account
Account.objects.count()  # as a server that runs, SQLite has its shared memory already
resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
try:
    write_backup(Path(sys.argv[1]))
except InputError as error:
    print(error)
"""


def test_the_system_itself_refuses_more_and_no_half_a_backup_stays(real, tmp_path) -> None:
    """No file of the process may grow beyond two thousand bytes."""
    file = tmp_path / "copy.gaiter"
    code, said = real.python(_LIMITED, str(file))
    assert code == 0, said
    assert said == f"{file} cannot be written (File too large): choose another place\n"
    assert [path.name for path in tmp_path.iterdir()] == ["data"]


_KILLED = """
import os, sys
import django
django.setup()
from pathlib import Path
from gaiter.operations import backup
proved = backup._prove
def killed(*_):
    os._exit(9)
backup._prove = killed
backup.write_backup(Path(sys.argv[1]))
"""


def test_a_killed_backup_leaves_nothing_but_a_sealed_file(real, tmp_path) -> None:
    file = tmp_path / "copy.gaiter"
    with sqlite3.connect(real.database) as database:
        (name,) = next(iter(database.execute("SELECT name FROM records_account LIMIT 1")))
    database.close()
    before = set(os.listdir(tempfile.gettempdir()))
    code, _said = real.python(_KILLED, str(file))
    assert code == 9
    (left,) = set(tmp_path.iterdir()) - {real.folder}
    assert stat.S_IMODE(left.stat().st_mode) == 0o600
    assert left.read_bytes().startswith(b"gaiter.backup/2\n")
    assert name.encode() not in left.read_bytes()
    assert [p for p in set(os.listdir(tempfile.gettempdir())) - before if "scratch" in p] == []
    assert real.run("backup", str(file))[0] == 0
    assert set(tmp_path.iterdir()) == {real.folder, file}


# Ends the process, as a kill does, before a row is put or, at "end", before what was put is kept.
_KILLED_RESTORE = """
import os, sys
from gaiter.cli import clinic_commands
migrated, when = clinic_commands.migrated, sys.argv.pop(1)
def first():
    migrated()
    from gaiter.operations import backup
    put, done = backup.put_row, []
    def counted(*given):
        done.append(1)
        if str(len(done)) == when:
            os._exit(9)
        put(*given)
    backup.put_row = counted
    if when == "end":
        backup.require_keys = lambda: os._exit(9)
clinic_commands.migrated = first
from gaiter.cli import main
main()
"""


def test_a_killed_restore_leaves_an_empty_database(real, empty, tmp_path) -> None:
    file = tmp_path / "copy.gaiter"
    assert json.loads(real.run("backup", str(file), "--json")[1])["rows"] > 60
    empty.folder.mkdir(mode=0o700)
    shutil.copy(real.keys, empty.keys)
    for when in ("1", "60", "end"):
        assert empty.python(_KILLED_RESTORE, when, "restore", str(file))[0] == 9
        with sqlite3.connect(empty.database) as database:
            for table in ("account", "auditentry", "entry", "mark"):
                assert database.execute(f"SELECT count(*) FROM records_{table}").fetchone() == (0,)
        database.close()
    assert empty.run("restore", str(file))[0] == 0
    assert empty.run("audit", "verify") == real.run("audit", "verify")


def test_a_backup_that_cannot_be_used_changes_nothing_where_it_was_to_go(
    real, empty, tmp_path
) -> None:
    file = tmp_path / "copy.gaiter"
    assert real.run("backup", str(file))[0] == 0
    whole = file.read_bytes()
    file.write_bytes(whole[:-1])
    empty.folder.mkdir(mode=0o700)
    shutil.copy(real.keys, empty.keys)
    code, said = empty.run("restore", str(file))
    assert (code, said) == (2, f"{file} was cut short or changed since it was written: use "
                               f"another copy\n")  # fmt: skip
    file.write_bytes(whole)
    code, said = empty.run("restore", str(file))
    assert code == 0, said
    before = real.held()
    code, said = real.run("restore", str(file))
    assert (code, "the database is not empty" in said) == (2, True)
    assert real.held() == before


@pytest.mark.long
def test_memory_does_not_grow_with_the_database(tmp_path) -> None:
    """The script itself ends with 1 where more than 100 MB are taken."""
    done = subprocess.run(
        [sys.executable, "benchmarks/backup_memory.py", "--folder", str(tmp_path)], cwd=ROOT,
        env={**os.environ, "PYTHONPATH": f"{ROOT / 'src'}:{ROOT}"}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.count("MB more memory") == 2
