"""Promises that the repository makes about itself."""

import ast
import os
import re
import subprocess
import sys
import tomllib
from importlib.metadata import version
from pathlib import Path

import pytest
from packaging.version import Version

from gaiter import __version__
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.applied.readings import Readings
from gaiter.core.landmark import Side
from gaiter.core.plan import plan
from gaiter.files.case_file import read_case
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.document_file import read_document
from gaiter.files.policy_file import shipped_policy
from gaiter.sheets.content import sheet_content
from scripts.safety_page import page

ROOT = Path(__file__).parents[1]


def tracked() -> list[Path]:
    names = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, check=True, capture_output=True, text=True
    ).stdout.split("\n")
    return [ROOT / name for name in names if name]


@pytest.mark.parametrize("name", ["base", "clinic", "dev"])
def test_locks_carry_hashes_and_no_addresses(name: str) -> None:
    text = (ROOT / "requirements" / f"{name}.txt").read_text()
    assert "http" not in text
    assert "--index" not in text
    for entry in re.findall(r"^[\w-]+==.*?(?=^\w|\Z)", text, re.M | re.S):
        assert "--hash=sha256:" in entry


def test_no_registry_host_is_named_anywhere() -> None:
    hosts = [word + ".org" for word in ("pypi", "npmjs", "pythonhosted")] + ["registry." + "npm"]
    for path in tracked():
        if path.suffix in {".ttf"} or not path.is_file():
            continue
        text = path.read_text(errors="ignore")
        assert not [host for host in hosts if host in text], path


def test_versions_agree() -> None:
    """One version, from git at the time of installing; whoever asks gets that one."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    assert project["project"]["dynamic"] == ["version"]
    assert "version" not in project["project"]
    assert __version__ == version("gaiter")
    assert str(Version(__version__)) == __version__  # as PEP 440 writes it
    case = read_case(ROOT / "examples/inner-ankle-ulcer.toml")
    made = plan(case, shipped_policy(), shipped_catalogue(), samples=64)
    assert made.versions.gaiter == __version__
    assert f"Gaiter {__version__};" in str(sheet_content(made, made.legs[Side.RIGHT]))
    readings = read_document(ROOT / "examples/readings/inner-ankle-ulcer.toml", Readings)
    assert applied_pressure(made, readings).gaiter == __version__


def test_without_an_installation_the_version_is_not_invented() -> None:
    script = "import gaiter; print(gaiter.__version__)"
    # Isolated from what is installed, with nothing but the source on the path.
    said = subprocess.run(
        [sys.executable, "-S", "-c", script], env={"PYTHONPATH": str(ROOT / "src")},
        cwd=ROOT / "docs", check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    assert said in ("0+unknown\n", f"{__version__}\n")


def test_the_architecture_lists_every_room() -> None:
    rooms = {
        path.relative_to(ROOT).parts[2]
        for path in tracked()
        if path.is_relative_to(ROOT / "src/gaiter") and len(path.relative_to(ROOT).parts) > 3
    }
    listed = re.findall(
        r"^\| `src/gaiter/(\w+)`", (ROOT / "docs/architecture.md").read_text(), re.M
    )
    assert sorted(listed) == sorted(rooms)
    top = {path.relative_to(ROOT).parts[0] for path in tracked() if path.parent != ROOT}
    named = set(re.findall(r"^\| `([\w.]+)`", (ROOT / "docs/architecture.md").read_text(), re.M))
    assert named == {name for name in top if not name.startswith(".")} - {"src"}


def test_the_map_of_the_core_lists_every_room() -> None:
    text = (ROOT / "src/gaiter/core/README.md").read_text()
    first = re.findall(r"^\| (`.*?) \|", text, re.M)
    listed = {name.strip("`/") for cell in first for name in cell.split(", ")}
    core = ROOT / "src/gaiter/core"
    rooms = {
        path.relative_to(core).parts[0].removesuffix(".py")
        for path in tracked()
        if path.is_relative_to(core) and path.suffix == ".py" and path.name != "__init__.py"
    }
    assert listed == rooms


def test_one_girth_walks_through_ten_rooms_at_most() -> None:
    text = (ROOT / "src/gaiter/core/README.md").read_text()
    walk = text.split("## One girth")[1].split("A girth meets")[0]
    rooms = re.findall(r"`([\w/]+)`", walk)
    assert 2 < len(rooms) <= 10
    for room in rooms:
        assert any((ROOT / "src/gaiter" / base / room).is_dir() for base in ("", "core")), room


def test_an_underscore_is_a_translation_and_nothing_else() -> None:
    for path in tracked():
        if path.suffix == ".py" and path.is_relative_to(ROOT / "src"):
            stored = [
                node.lineno
                for node in ast.walk(ast.parse(path.read_text()))
                if isinstance(node, ast.Name) and node.id == "_" and isinstance(node.ctx, ast.Store)
            ]
            assert not stored, f"{path}: {stored}"


def test_the_safety_page_is_what_the_rules_say() -> None:
    assert (ROOT / "docs/safety.md").read_text() == page(), "run python scripts/safety_page.py"


def test_the_case_in_the_documentation_is_a_case(tmp_path: Path) -> None:
    block = re.search(r"```toml\n(schema.*?)```", (ROOT / "docs/case.md").read_text(), re.S)
    assert block
    path = tmp_path / "case.toml"
    path.write_text(block.group(1))
    assert read_case(path).legs


# Stands for every Python: notes what it is asked for, and makes a copy of itself as "venv".
NOTING_PYTHON = """#!/bin/sh
echo "$*" >> "$NOTES"
if [ "$2" = venv ]; then mkdir -p "$3/bin" && cp "$0" "$3/bin/python"; fi
"""


def test_a_new_commit_installs_gaiter_alone(tmp_path: Path) -> None:
    notes, tools = tmp_path / "notes", tmp_path / "tools"
    tools.mkdir()
    (tools / "python3").write_text(NOTING_PYTHON)
    (tools / "python3").chmod(0o755)
    (tmp_path / "lock.txt").write_text("one==1\n")
    (tmp_path / "pyproject.toml").write_text("[project]\n")

    def run(*words: str) -> None:
        names = {"NOTES": str(notes), "PATH": f"{tools}:{os.environ['PATH']}"}
        names |= {f"GIT_{one}_{two}": "a@b" for one in ("AUTHOR", "COMMITTER")
                  for two in ("NAME", "EMAIL")}  # fmt: skip
        subprocess.run(words, cwd=tmp_path, env=names, check=True, capture_output=True)

    def installed() -> tuple[bool, bool]:
        """Whether the lock was installed, and whether Gaiter was."""
        notes.write_text("")
        run("sh", "-euc", f". {ROOT}/scripts/environment.sh; environment env lock.txt")
        said = notes.read_text()
        return "--require-hashes -r lock.txt" in said, "--editable ." in said

    run("git", "init", "--quiet")
    run("git", "commit", "--quiet", "--allow-empty", "-m", "one")
    assert installed() == (True, True)
    assert installed() == (False, False)
    run("git", "commit", "--quiet", "--allow-empty", "-m", "two")
    assert installed() == (False, True)
    (tmp_path / "pyproject.toml").write_text("[project]\nname = 'x'\n")
    assert installed() == (False, True)
    (tmp_path / "lock.txt").write_text("one==2\n")
    assert installed() == (True, True)
    assert installed() == (False, False)


def test_check_knows_its_words() -> None:
    said = subprocess.run(
        [ROOT / "check", "relaese"], check=False, capture_output=True, text=True
    )  # fmt: skip
    assert said.returncode == 2
    assert (
        said.stderr
        == "./check takes no word, long, docs, mutants, release or faults; received relaese\n"
    )
    assert not said.stdout


def test_every_link_between_the_documents_leads_somewhere() -> None:
    pages = [path for path in tracked() if path.suffix == ".md"]
    assert ROOT / "docs/library.md" in pages
    for page_path in pages:
        for target in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", page_path.read_text()):
            assert (page_path.parent / target).exists(), f"{page_path.name}: {target}"


def test_every_page_is_in_the_index_of_the_documentation() -> None:
    listed = (ROOT / "docs/index.md").read_text().split("\n")
    for path in (ROOT / "docs").glob("*.md"):
        assert path.stem in {"index", *listed}, f"{path.name} is missing in docs/index.md"
