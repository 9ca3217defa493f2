"""The output folder is complete or untouched, and what else lies in it is left alone."""

import os
from pathlib import Path

import pytest

from gaiter.files.plan_file import write_folder
from gaiter.files.wording import FileError


def content(folder: Path) -> dict[str, str]:
    return {p.name: p.read_text() for p in folder.iterdir() if p.is_file()}


def test_the_working_folder_itself_can_be_filled(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    write_folder(Path("."), {"a.txt": b"1"})
    assert content(tmp_path) == {"a.txt": "1"}


def test_a_link_to_a_folder_stays_a_link(tmp_path: Path) -> None:
    real, link = tmp_path / "real", tmp_path / "link"
    real.mkdir()
    link.symlink_to(real)
    write_folder(link, {"a.txt": b"1"})
    assert link.is_symlink()
    assert content(real) == {"a.txt": "1"}


def test_other_files_are_not_even_copied(tmp_path: Path) -> None:
    other = tmp_path / "other.txt"
    other.write_text("kept")
    before = other.stat()
    write_folder(tmp_path, {"a.txt": b"1"})
    after = other.stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)


def test_when_the_last_file_cannot_be_put_all_are_as_before(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("old")
    (tmp_path / "c.txt").mkdir()
    with pytest.raises(FileError, match="cannot be written"):
        write_folder(tmp_path, {"a.txt": b"new", "b.txt": b"new", "c.txt": b"new"})
    assert content(tmp_path) == {"a.txt": "old"}
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.txt", "c.txt"]


def test_a_move_that_fails_half_way_is_undone(tmp_path: Path, monkeypatch) -> None:
    """The disk fails after the old file was moved aside and before the new one is in place."""
    for name in ("a.txt", "b.txt"):
        (tmp_path / name).write_text("old")
    real_replace = Path.replace

    def replace(self: Path, target: Path) -> Path:
        if self.parent.name == "new" and self.name == "b.txt":
            raise OSError(5, os.strerror(5))
        return real_replace(self, target)

    monkeypatch.setattr(Path, "replace", replace)
    with pytest.raises(FileError, match="Input/output error"):
        write_folder(tmp_path, {"a.txt": b"new", "b.txt": b"new"})
    assert content(tmp_path) == {"a.txt": "old", "b.txt": "old"}


def test_folders_made_on_the_way_are_taken_away_again(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot be written"):
        write_folder(tmp_path / "x" / "y", {"no/such.txt": b"1"})
    assert list(tmp_path.iterdir()) == []
    write_folder(tmp_path / "x" / "y", {"a.txt": b"1"})
    assert content(tmp_path / "x" / "y") == {"a.txt": "1"}
