"""Every module of the rooms beside the core has its test file, or a line here that says why not."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCE, TESTS = ROOT / "src" / "gaiter", ROOT / "tests"
ROOMS = ("records", "files", "sheets", "operations", "outlets")

# A module without a test file of its own name, and where or why it needs none.
ELSEWHERE = {
    "records/apps.py": "the framework's description of the application: three names",
    "sheets/__init__.py": "the whole sheet and its drawings: tests/sheets/test_sheet.py",
    "operations/fingerprint.py": "with the static files it is for: tests/web/test_static.py",
}


def modules() -> list[str]:
    """Modules that hold code, by their path; what a migration does is tested with its table."""
    found = []
    for room in ROOMS:
        for path in sorted((SOURCE / room).rglob("*.py")):
            if "migrations" in path.parts:
                continue
            nodes = ast.parse(path.read_text()).body
            if path.name == "__init__.py" and not any(
                isinstance(node, ast.FunctionDef | ast.ClassDef) for node in nodes
            ):
                continue
            found.append(path.relative_to(SOURCE).as_posix())
    return found


def has_tests(module: str) -> bool:
    """Whether a file of tests with its name lies where the module lies."""
    path = Path(module)
    beside = TESTS / path.parent / f"test_{path.name}"
    return beside.is_file() and "def test_" in beside.read_text()


@pytest.mark.parametrize("module", modules())
def test_a_module_has_its_test_file_or_a_reason(module) -> None:
    assert has_tests(module) or module in ELSEWHERE


def test_every_reason_is_of_a_module_that_exists_and_names_files_that_do() -> None:
    assert set(ELSEWHERE) <= set(modules())
    for why in ELSEWHERE.values():
        named = [word for word in why.split() if word.startswith("tests/")]
        assert all((ROOT / word).is_file() for word in named)


def test_a_module_without_a_file_is_noticed() -> None:
    assert has_tests("records/ledger.py")
    assert not has_tests("records/apps.py")
    assert not has_tests("records/actions/ledger.py")
    assert "records/models/__init__.py" not in modules()
