"""Every step list of docs/steps.md is followed on a copy of the program; what follows is run."""

import os
import re
import shutil
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs/steps.md"
MOST_FILES = 3
DOCUMENTS = ("case", "plan", "policy", "systems", "bench", "readings", "applied")
_STEP = re.compile(
    r"^(?:In `(?P<file>[^`]+)`, (?P<where>before|after|instead of) the line `(?P<line>[^`\n]+)`"
    r"|At the end of `(?P<end>[^`]+)`"
    r"|A new file `(?P<new>[^`]+)`):\n\n```\w+\n(?P<text>.*?)```$",
    re.M | re.S,
)


@dataclass(frozen=True)
class Step:
    """One block of a list and where it goes."""

    path: str
    text: str
    where: str
    line: str = ""

    def follow(self, tree: Path) -> None:
        target = tree / self.path
        if self.where == "new":
            assert not target.exists(), f"{self.path} is no new file"
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(self.text)
            return
        lines = target.read_text().splitlines(keepends=True)
        at = len(lines)
        if self.line:
            found = [n for n, line in enumerate(lines) if line.strip() == self.line]
            # Two records may hold a like line; the list means the first.
            assert found, f"{self.path} has no line {self.line!r}: mend docs/steps.md"
            at = found[0] + (self.where != "before")
            if self.where == "instead of":
                lines[found[0]] = ""
        target.write_text("".join([*lines[:at], self.text, *lines[at:]]))


def steps() -> dict[str, list[Step]]:
    """The steps of every list, by its heading."""
    found = defaultdict(list)
    for section in re.split(r"^## ", PAGE.read_text(), flags=re.M)[1:]:
        heading = section.split("\n", 1)[0]
        for match in _STEP.finditer(section):
            part = match.groupdict()
            path = part["file"] or part["end"] or part["new"]
            where = part["where"] or ("new" if part["new"] else "end")
            found[heading].append(Step(path, part["text"], where, part["line"] or ""))
        assert section.count("```") == 2 * len(found[heading]), f"{heading}: a block is not read"
    return found


def test_every_kind_of_change_has_its_list() -> None:
    assert list(steps()) == [
        "A visit field",
        "A safety rule",
        "A page",
        "A landmark",
        "A material",
        "A bandage system",
    ]


@pytest.mark.parametrize("heading", list(steps()))
def test_no_list_changes_more_than_three_files(heading: str) -> None:
    assert 1 <= len({step.path for step in steps()[heading]}) <= MOST_FILES


def _named_paths() -> Iterator[str]:
    text = PAGE.read_text()
    yield from re.findall(r"`((?:src|tests|scripts|docs)/[\w/.]+\.\w+)`", text)
    yield from (f"src/gaiter/{name}" for name in re.findall(r"`((?:core|data)/[\w/.]+)`", text))


def test_every_file_that_a_list_names_is_there() -> None:
    new = {step.path for part in steps().values() for step in part if step.where == "new"}
    missing = [path for path in _named_paths() if path not in new and not (ROOT / path).exists()]
    assert not missing


@pytest.fixture(scope="module")
def followed(tmp_path_factory) -> Path:
    """A copy of the program with every list followed."""
    tree = tmp_path_factory.mktemp("followed")
    leave = shutil.ignore_patterns("__pycache__", "gaiter-data", "browser")
    for name in ("src", "tests", "scripts", "examples", "docs"):
        shutil.copytree(ROOT / name, tree / name, ignore=leave)
    shutil.copy(ROOT / "pyproject.toml", tree)
    for part in steps().values():
        for step in part:
            step.follow(tree)
    return tree


def run(tree: Path, *command: str) -> str:
    """What a command in the copy prints."""
    known = {
        **os.environ,
        "PYTHONPATH": str(tree / "src"),
        "GAITER_DATA": str(tree / "data"),
        "GAITER_STEPS_FOLLOWED": "1",
    }
    done = subprocess.run(
        [sys.executable, *command], cwd=tree, env=known, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
    return done.stdout


def test_what_must_follow_follows(followed: Path) -> None:
    """In a process of its own, for an enumeration cannot be changed in a running one."""
    run(followed, "scripts/answer.py", "leg.findings.burn", "false")
    for command in ("scripts/case_page.py", "scripts/safety_page.py"):
        run(followed, command)
    for document in DOCUMENTS:
        written = run(followed, "-m", "gaiter", "schema", document)
        (followed / f"src/gaiter/data/schemas/{document}-1.schema.json").write_text(written)
    run(followed, "-m", "ruff", "check", "src")
    run(
        followed, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "tests/followed_steps.py",
        "tests/files/test_case_page.py", "tests/files/test_plan_file.py",
    )  # fmt: skip
