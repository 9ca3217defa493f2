"""A file is there whole or not at all; what was there before stays until then."""

import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from gaiter.files.plan_file import write_folder
from gaiter.files.whole_file import sync_file, whole_file, write_new, write_whole
from gaiter.files.wording import FileError


class Disk:
    """What the operating system is asked to do, in order; the n-th of it fails."""

    def __init__(self, monkeypatch, fail_at: int = 0) -> None:
        self.asked: list[str] = []
        self.fail_at = fail_at
        for name in ("fsync", "link"):
            self._watch(monkeypatch, os, name)
        self._watch(monkeypatch, Path, "replace")

    def _watch(self, monkeypatch, where, name: str) -> None:
        real = getattr(where, name)

        def watched(*given, **named):
            self.asked.append(name)
            if len(self.asked) == self.fail_at:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            return real(*given, **named)

        monkeypatch.setattr(where, name, watched)


def held(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_content_lies_on_the_disk_before_its_name_does_and_the_name_after(
    tmp_path, monkeypatch
) -> None:
    disk = Disk(monkeypatch)
    write_whole(tmp_path / "a", b"new")
    assert disk.asked == ["fsync", "replace", "fsync"]
    disk.asked.clear()
    write_new(tmp_path / "b", b"new")
    assert disk.asked == ["fsync", "link", "fsync"]
    disk.asked.clear()
    write_folder(tmp_path, {"c": b"1", "d": b"2"})
    assert disk.asked[-3:] == ["replace", "replace", "fsync"]
    assert disk.asked[:-3] == ["fsync", "replace", "fsync"] * 2


@pytest.mark.parametrize("fail_at", [1, 2])
def test_a_write_that_fails_leaves_what_was_there(tmp_path, monkeypatch, fail_at) -> None:
    write_whole(tmp_path / "a", b"old")
    with monkeypatch.context() as patch:
        Disk(patch, fail_at)
        with pytest.raises(OSError, match="No space left"):
            write_whole(tmp_path / "a", b"new")
    assert held(tmp_path) == {"a": b"old"}


def test_a_block_that_fails_leaves_what_was_there(tmp_path) -> None:
    write_whole(tmp_path / "a", b"old")

    def fails() -> None:
        with whole_file(tmp_path / "a") as stream:
            stream.write(b"half")
            sync_file(stream)
            raise InterruptedError

    with pytest.raises(InterruptedError):
        fails()
    assert held(tmp_path) == {"a": b"old"}


# Each of two files beside its place: content, move, folder (1 to 6); then a second name for the old
# one and the move, twice (7 to 10); the folder (11). Without a second name the old one is moved.
@pytest.mark.parametrize("fail_at", range(1, 12))
def test_a_folder_is_as_before_when_the_disk_fills_up_at_any_step(
    tmp_path, monkeypatch, fail_at
) -> None:
    old, new = {"a": b"old a", "b": b"old b"}, {"a": b"new a", "b": b"new b"}
    write_folder(tmp_path, old)
    with monkeypatch.context() as patch:
        disk = Disk(patch, fail_at)
        if fail_at in (7, 9):
            write_folder(tmp_path, new)
        else:
            with pytest.raises(FileError, match="No space left on device"):
                write_folder(tmp_path, new)
        assert len(disk.asked) >= fail_at
    assert held(tmp_path) == (new if fail_at in (7, 9) else old)


def test_who_may_read_a_file_is_as_of_any_other_unless_it_is_private(tmp_path) -> None:
    before = os.umask(0o027)
    try:
        write_whole(tmp_path / "result", b"")
        write_whole(tmp_path / "secret", b"", private=True)
        write_new(tmp_path / "key", b"")
    finally:
        os.umask(before)
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in tmp_path.iterdir()}
    assert modes == {"result": 0o640, "secret": 0o600, "key": 0o600}


def test_a_link_stays_one_and_a_pipe_is_written_straight_away(tmp_path) -> None:
    (tmp_path / "link").symlink_to(tmp_path / "real")
    write_whole(tmp_path / "link", b"1")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"1"
    write_whole(Path(os.devnull), b"1")
    assert not Path(os.devnull).is_file()


def test_a_new_file_never_takes_the_place_of_another(tmp_path) -> None:
    write_new(tmp_path / "key", b"first")
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "key", b"second")
    assert held(tmp_path) == {"key": b"first"}


def test_a_file_larger_than_there_is_room_for_leaves_the_old_one(tmp_path) -> None:
    """The operating system itself refuses: no file of this process may grow beyond 64 KiB."""
    write_whole(tmp_path / "a", b"old")
    script = """
import resource, sys
from pathlib import Path
from gaiter.files.whole_file import write_whole
resource.setrlimit(resource.RLIMIT_FSIZE, (65536, 65536))
try:
    write_whole(Path(sys.argv[1]), bytes(200_000))
except OSError as error:
    print(error.strerror)
"""
    run = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path / "a")], capture_output=True, text=True,
        check=True,
    )  # fmt: skip
    assert run.stdout == "File too large\n"
    assert held(tmp_path) == {"a": b"old"}
