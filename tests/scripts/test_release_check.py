"""A release is held up by old locks, and by packages with published faults."""

import os
import subprocess
from datetime import UTC, datetime, timedelta

import pytest

from scripts import known_faults
from scripts.release_check import OLDEST_LOCKS_DAYS, packages_are_kept_up
from tests.switching import ROOT

MADE = datetime(2026, 3, 1, tzinfo=UTC)


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """A folder whose locks were committed that day, and something else long after."""

    def git(*words: str, at: datetime) -> None:
        day = {"GIT_AUTHOR_DATE": at.isoformat(), "GIT_COMMITTER_DATE": at.isoformat()}
        who = ["-c", "user.name=A", "-c", "user.email=a@clinic.example"]
        subprocess.run(["git", *who, *words], cwd=tmp_path, check=True, env={**os.environ, **day})

    (tmp_path / "requirements").mkdir()
    for number, (name, at) in enumerate(
        (("requirements/base.txt", MADE), ("README.md", MADE + timedelta(days=500)))
    ):
        (tmp_path / name).write_text("x")
        if number == 0:
            git("init", "--quiet", at=at)
        git("add", ".", at=at)
        git("commit", "--quiet", "-m", "x", at=at)
    answers = {"code": 0}
    monkeypatch.setattr(known_faults, "main", lambda _given: answers["code"])
    return tmp_path, answers


def test_a_release_with_old_locks_or_a_published_fault_is_held_up(kept, capsys) -> None:
    folder, answers = kept
    last = MADE + timedelta(days=OLDEST_LOCKS_DAYS)
    packages_are_kept_up(folder, last)
    assert "Locks of 90 days, no published faults" in capsys.readouterr().out
    with pytest.raises(SystemExit, match="91 days old, more than 90: make them anew"):
        packages_are_kept_up(folder, last + timedelta(days=1))
    answers["code"] = known_faults.FOUND
    with pytest.raises(SystemExit, match="has a published fault"):
        packages_are_kept_up(folder, last)


def test_without_a_network_it_is_said_that_nothing_was_compared(kept, capsys) -> None:
    folder, answers = kept
    answers["code"] = known_faults.NO_ANSWER
    packages_are_kept_up(folder, MADE)
    assert capsys.readouterr().out.startswith("NOT COMPARED with published faults")


def test_a_release_asks_first() -> None:
    text = (ROOT / "scripts/release_check.py").read_text()
    body = text.partition("def main() -> None:")[2]
    assert body.index("packages_are_kept_up(ROOT") < body.index("_run(")
