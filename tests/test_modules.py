"""Every module of the core has a test file of its name in the folder that mirrors its own."""

from pathlib import Path

ROOT = Path(__file__).parent.parent
CORE = ROOT / "src/gaiter/core"

_DECISIONS = (
    "every rule's questions, limits and words are rows of tables over all of them: "
    "tests/core/safety/{test_decision,test_limits,test_unasked,test_attacks}.py"
)
_CASE = "fields and their limits are read through the whole case: tests/core/case/test_case.py"
# Modules without one, and where they are tested instead. This list only gets shorter.
WITHOUT = {
    "arrays.py": "names of types",
    "case/findings.py": _CASE,
    "case/leg.py": _CASE,
    "case/person.py": _CASE,
    "leg/measurements.py": "fields only",
    "safety/rules/clot.py": _DECISIONS,
    "safety/rules/heart.py": _DECISIONS,
    "safety/rules/infection.py": _DECISIONS,
    "safety/rules/local.py": _DECISIONS,
    "safety/rules/nerves.py": _DECISIONS,
    "safety/rules/person.py": _DECISIONS,
    "safety/rules/red_flags.py": _DECISIONS,
    "safety/rules/skin.py": _DECISIONS,
    "safety/rules/toes.py": _DECISIONS,
    "safety/rules/unasked.py": _DECISIONS,
    "safety/rules/vessels.py": _DECISIONS,
    "spread/compiled.py": "beside the plain sums, number by number: tests/core/spread/test_sums.py",
}


def _modules() -> dict[str, Path]:
    """Path of the test file of every module of the core."""
    return {
        path.relative_to(CORE).as_posix(): ROOT
        / "tests/core"
        / path.relative_to(CORE).parent
        / f"test_{path.name}"
        for path in CORE.rglob("*.py")
        if path.name != "__init__.py"
    }


def test_every_module_has_its_test_file_or_says_where_it_is_tested() -> None:
    missing = {name for name, test in _modules().items() if not test.exists()}
    assert sorted(missing - set(WITHOUT)) == []


def test_what_has_a_test_file_or_is_gone_is_not_listed() -> None:
    modules = _modules()
    assert [name for name in WITHOUT if name not in modules or modules[name].exists()] == []
