"""Every module of the rooms beside the core has its test file, or a line here that says why not."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCE, TESTS = ROOT / "src" / "gaiter", ROOT / "tests"
ROOMS = ("api", "cli", "files", "operations", "outlets", "records", "sheets", "web")

# A module without a test file of its own name, and where or why it needs none.
ELSEWHERE = {
    "records/apps.py": "the framework's description of the application: three names",
    "records/models/constraints.py": "each where it stands: tests/records/test_clash.py",
    "records/entrance/apps.py": "the framework's description of the application: three names",
    "records/entrance/models.py": "fields only, filled by tests/records/entrance/test_sessions.py "
    "and tests/records/entrance/test_tries.py",
    "sheets/__init__.py": "the whole sheet and its drawings: tests/sheets/test_sheet.py",
    "api/examples.py": "copied out as a program does: tests/api/test_planned.py",
    "cli/__init__.py": "the command as a whole: tests/cli/test_main.py",
    "cli/commands.py": "the command as a whole: tests/cli/test_main.py",
    **dict.fromkeys(
        (
            "web/accounts/pages.py",
            "web/frame/page.py",
            "web/frame/pages.py",
            "web/off/pages.py",
            "web/papers/pages.py",
            "web/people/pages.py",
            "web/plan/pages.py",
            "web/practice/pages.py",
            "web/sheet/pages.py",
            "web/stock/pages.py",
            "web/teams/pages.py",
            "web/today/pages.py",
            "web/visit/pages.py",
        ),
        "every page's fields against its template: tests/web/test_templates.py",
    ),
    "web/accounts/step_up.py": "on the pages that ask: tests/web/accounts/test_views.py and "
    "tests/web/accounts/test_factor.py",
    **dict.fromkeys(
        (
            "web/frame/apps.py",
            "web/frame/context.py",
            "web/frame/forms.py",
            "web/frame/request.py",
        ),
        "what every page stands in: tests/web/test_pages.py",
    ),
    "web/frame/verbs.py": "every address with every verb: tests/web/frame/test_access.py",
    "web/frame/templatetags/gaiter_words.py": "words in a made-up language: "
    "tests/web/test_language.py",
    **dict.fromkeys(
        ("web/practice/task.py", "web/practice/yardsticks.py"),
        "a practice bandage from task to record: tests/web/practice/test_views.py",
    ),
    "web/sheet/views.py": "the same plan on sheet and steps: tests/web/test_plan_in_force.py",
    "web/visit/readings.py": "boxes of a reading, answered: tests/web/test_deeds.py",
    "operations/demo/aside.py": "a demo as it is made: tests/cli/test_clinic_commands.py",
    "operations/fingerprint.py": "with the static files it is for: tests/web/test_static.py",
}


def modules() -> list[str]:
    """Modules that hold code, by their path; what a migration does is tested with its table."""
    found = []
    for room in ROOMS:
        for path in sorted((SOURCE / room).rglob("*.py")):
            # An address list holds no code; every address is in the access grid.
            if "migrations" in path.parts or path.name == "urls.py":
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
