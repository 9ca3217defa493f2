"""Nobody but its owner opens a clinic's files, whatever the mask was when it was started."""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from gaiter.core.errors import InputError
from gaiter.operations.closed_files import close_files
from gaiter.operations.environment import read_environment

pytestmark = pytest.mark.long

FILES = ("secret", "keys.json", "clinic.sqlite3", "clinic.sqlite3-wal", "clinic.sqlite3-shm",
         "clinic.sqlite3-journal")  # fmt: skip
ROOT = Path(__file__).parents[2]


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.fixture
def folder(tmp_path):
    """A clinic's folder as a careless copy leaves it."""
    made = tmp_path / "data"
    made.mkdir()
    for name in FILES:
        (made / name).write_text("x")
        (made / name).chmod(0o600)
    made.chmod(0o700)
    return made


@pytest.fixture
def clinic(folder):
    return read_environment({"GAITER_DATA": str(folder)})


def test_what_is_closed_is_left_as_it_is_without_a_word(clinic) -> None:
    assert close_files(clinic) == ""


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("bit", [0o040, 0o020, 0o010, 0o004, 0o002, 0o001])
def test_any_right_of_others_is_taken_and_said(folder, clinic, name, bit) -> None:
    (folder / name).chmod(0o600 | bit)
    said = close_files(clinic)
    assert f"{folder / name} ({0o600 | bit:04o})" in said
    assert said.count("(0") == 1
    assert mode(folder / name) == 0o600
    assert close_files(clinic) == ""


def test_an_open_folder_is_closed_and_its_owner_gets_in(folder, clinic) -> None:
    folder.chmod(0o755)
    assert f"{folder} (0755)" in close_files(clinic)
    assert mode(folder) == 0o700


def test_keys_elsewhere_are_closed_as_well(clinic, tmp_path, monkeypatch) -> None:
    keys = tmp_path / "elsewhere.json"
    keys.write_text("x")
    keys.chmod(0o640)
    monkeypatch.setenv("GAITER_KEYS", str(keys))
    assert f"{keys} (0640)" in close_files(clinic)
    assert mode(keys) == 0o600


def test_what_cannot_be_closed_is_refused_with_what_to_do(folder, clinic, monkeypatch) -> None:
    """Whoever is not the owner gets this fault of the system."""
    (folder / "keys.json").chmod(0o644)

    def refuse(self, _mode):
        raise PermissionError(1, "Operation not permitted", str(self))

    monkeypatch.setattr(Path, "chmod", refuse)
    words = r"mode 0644.*Operation not permitted.*its owner run `chmod go-rwx .*keys\.json`"
    with pytest.raises(InputError, match=words):
        close_files(clinic)


def run(folder: Path, *arguments: str) -> str:
    """A command under the loosest mask; what it said."""
    kept = {name: value for name, value in os.environ.items() if "GAITER" not in name}
    done = subprocess.run(
        [sys.executable, "-m", "gaiter", *arguments], env={**kept, "GAITER_DATA": str(folder)},
        cwd=ROOT, umask=0, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return done.stdout + done.stderr


def test_every_file_of_a_new_clinic_and_its_backup_is_closed(tmp_path) -> None:
    data, copy = tmp_path / "data", tmp_path / "copy.gaiter"
    assert "Open to other users" not in run(data, "migrate")
    run(data, "account", "alder", "--name", "Bea Alder", "--initials", "BA")
    run(data, "backup", str(copy))
    made = [data, *data.iterdir(), copy]
    assert {path.name for path in made} >= {"data", "secret", "keys.json", "clinic.sqlite3"}
    assert [path.name for path in made if mode(path) & 0o077] == []
    (data / "clinic.sqlite3").chmod(0o644)
    assert "clinic.sqlite3 (0644)" in run(data, "audit", "verify")
    assert mode(data / "clinic.sqlite3") == 0o600
