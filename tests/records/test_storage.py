"""A full disk is told from every other fault."""

import errno
import sqlite3

import pytest
from django.db import OperationalError

from gaiter.records.storage import has_room, is_full


def of_sqlite(limit_pages: int) -> BaseException:
    """What SQLite says when no page more may be written."""
    database = sqlite3.connect(":memory:")
    try:
        database.execute("CREATE TABLE t (c)")
        database.execute(f"PRAGMA max_page_count = {limit_pages}")
        database.execute("INSERT INTO t VALUES (zeroblob(1000000))")
    except sqlite3.Error as error:
        return error
    finally:
        database.close()
    raise AssertionError("there was room")


class DiskFullOfPostgresqlError(Exception):
    sqlstate = "53100"


@pytest.mark.parametrize(
    "cause",
    [
        of_sqlite(3),
        OSError(errno.ENOSPC, "No space left on device"),
        OSError(errno.EDQUOT, "Disk quota exceeded"),
        OSError(errno.EFBIG, "File too large"),
        DiskFullOfPostgresqlError(),
    ],
    ids=["sqlite", "disk", "quota", "limit", "postgresql"],
)
def test_a_full_disk_is_known_by_whoever_says_it(cause) -> None:
    assert is_full(cause)
    told = OperationalError("in other words")
    told.__cause__ = cause
    assert is_full(told)


@pytest.mark.parametrize(
    "error",
    [
        None,
        OSError(errno.ENOENT, "No such file or directory"),
        OperationalError("database is locked"),
        sqlite3.OperationalError("database or disk is full"),
        ValueError("disk is full"),
    ],
)
def test_nothing_else_is_taken_for_one(error) -> None:
    """A message alone is no proof: it may quote what somebody typed."""
    assert not is_full(error)


def test_room_is_asked_for_and_given_back(tmp_path) -> None:
    assert has_room(tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EDQUOT])
def test_no_room_is_said(tmp_path, monkeypatch, number) -> None:
    def full(*_: object) -> None:
        raise OSError(number, "full")

    monkeypatch.setattr("os.posix_fallocate", full)
    assert not has_room(tmp_path)


def test_another_fault_of_the_folder_stays_one(tmp_path) -> None:
    with pytest.raises(FileNotFoundError):
        has_room(tmp_path / "none")
