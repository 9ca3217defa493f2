"""Promises that the repository makes about itself."""

import ast
import re
import subprocess
import tomllib
from pathlib import Path

import pytest

from gaiter import __version__
from gaiter.files.case_file import read_case
from scripts.safety_page import page

ROOT = Path(__file__).parents[1]


def tracked() -> list[Path]:
    names = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, check=True, capture_output=True, text=True
    ).stdout.split("\n")
    return [ROOT / name for name in names if name]


@pytest.mark.parametrize("name", ["clinic", "dev"])
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
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert project["version"] == __version__


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
    named = set(re.findall(r"^\| `(\w+)`", (ROOT / "docs/architecture.md").read_text(), re.M))
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
