"""A clinic in a folder of its own, and the commands of whoever runs it."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
_SMALL = """
import django
django.setup()
from tests.clinic import small_clinic
made = small_clinic()
made.fill()
"""


class Clinic:
    """A folder with SQLite database, keys and secret."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.database = folder / "clinic.sqlite3"
        self.keys = folder / "keys.json"

    def environment(self, **more: str) -> dict[str, str]:
        """What a process needs to work on it."""
        kept = {name: value for name, value in os.environ.items() if "GAITER" not in name}
        return {
            **kept, "GAITER_DATA": str(self.folder),
            "DJANGO_SETTINGS_MODULE": "gaiter.operations.settings", **more,
        }  # fmt: skip

    def run(self, *arguments: str, **more: str) -> tuple[int, str]:
        """Exit code of a command and everything it said."""
        return self._told(["-m", "gaiter", *arguments], **more)

    def python(self, script: str, *arguments: str, **more: str) -> tuple[int, str]:
        """The same of a few lines of Python."""
        return self._told(["-c", script, *arguments], **more)

    def _told(self, arguments: list[str], **more: str) -> tuple[int, str]:
        done = subprocess.run(
            [sys.executable, *arguments], cwd=ROOT, env=self.environment(**more),
            capture_output=True, text=True, check=False, timeout=120,
        )  # fmt: skip
        return done.returncode, done.stdout + done.stderr

    def held(self) -> dict[str, bytes]:
        """Every file of the folder, without the log of SQLite, which reading makes too."""
        return {
            path.name: path.read_bytes()
            for path in self.folder.iterdir()
            if not path.name.endswith(("-wal", "-shm"))
        }


@pytest.fixture(scope="session")
def kept_clinic(tmp_path_factory) -> Path:
    made = Clinic(tmp_path_factory.mktemp("kept") / "data")
    assert made.run("migrate")[0] == 0
    code, said = made.python(_SMALL)
    assert code == 0, said
    assert made.run("migrate")[0] == 0  # leaves check values of the keys
    return made.folder


@pytest.fixture
def real(kept_clinic, tmp_path) -> Clinic:
    """A clinic with accounts and one person, for this test alone."""
    shutil.copytree(kept_clinic, tmp_path / "data")
    return Clinic(tmp_path / "data")


@pytest.fixture
def empty(tmp_path) -> Clinic:
    """A place where no clinic is yet."""
    return Clinic(tmp_path / "empty")
