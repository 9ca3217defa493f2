"""The hazard log names controls and tests that exist, and risks that add up."""

import ast
import re

import pytest

from tests.hazard_controls import (
    CONTROL,
    HAZARD,
    LOG,
    NOT_SWITCHED,
    RISK,
    SWITCHES,
    controls,
)
from tests.switching import ROOT

TEXT = LOG.read_text()
SECTIONS = re.split(r"(?m)^## ", TEXT)[1:]
# The classes that the log must hold at least, by a word of their titles.
CLASSES = (
    "Ischaemic toes", "stale plan", "foot is pressed", "falsely normal", "low systolic",
    "30 to 50", "expired arterial test", "never asked", "recurrent clot", "decompensating heart",
    "unsafe override", "over-stretched", "towards the knee", "read as the target",
    "cannot feel or tell", "wrong patient or leg", "child", "left on too long", "policy weakens",
    "wrong unit", "lost write", "wrong version", "server is down", "wrong clock", "hostile value",
    "killed process", "bad check",
)  # fmt: skip


def names_in(path: str) -> set[str]:
    tree = ast.parse((ROOT / path).read_text())
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


def test_every_line_of_a_control_is_read() -> None:
    assert len(CONTROL.findall(TEXT)) == len(re.findall(r"(?m)^- ", TEXT))
    codes = [control.code for control in controls()]
    assert len(codes) == len(set(codes))


@pytest.mark.parametrize("control", controls(), ids=lambda c: c.code)
def test_a_control_names_a_test_and_a_place_that_exist(control) -> None:
    path, _colons, name = control.test.partition("::")
    assert (ROOT / path).is_file(), control.test
    assert name in names_in(path), control.test
    place, _colons, part = control.where.partition("::")
    assert (ROOT / place).is_file(), control.where
    assert part in (ROOT / place).read_text(), control.where


def test_every_control_is_switched_off_or_says_why_not() -> None:
    codes = {control.code for control in controls()}
    assert codes == set(SWITCHES) | set(NOT_SWITCHED)
    assert not set(SWITCHES) & set(NOT_SWITCHED)


@pytest.mark.parametrize("code", SWITCHES)
def test_a_switch_finds_what_it_switches_off(code) -> None:
    """A switch that misses its place would leave its control on, and its test green."""
    assert SWITCHES[code].found()


@pytest.mark.parametrize("section", SECTIONS, ids=lambda s: s[:3])
def test_a_hazard_has_cause_harm_risks_and_a_control(section) -> None:
    assert "\nCause: " in section
    assert "\nHarm: " in section
    assert CONTROL.search(section)
    found = RISK.search(section)
    assert found
    severity, before, first, still, after, last = map(int, found.groups())
    assert severity == still
    assert severity * before == first
    assert severity * after == last < first
    assert 1 <= severity <= 5
    assert 1 <= after <= before <= 5
    # From 10 a risk is not acceptable: the log then has no business to be shipped.
    assert last < 10


def test_every_known_class_has_its_hazard() -> None:
    titles = " | ".join(title for _code, title in HAZARD.findall(TEXT))
    assert [words for words in CLASSES if words.lower() not in titles.lower()] == []


def test_a_test_that_does_not_exist_is_noticed() -> None:
    assert "test_nothing_such" not in names_in("tests/test_hazards.py")
    line = "- `H99a` Something: `src/gaiter/cli/output.py`, shown by `tests/none.py::test_x`."
    assert CONTROL.findall(line) == [
        ("H99a", "Something", "src/gaiter/cli/output.py", "tests/none.py::test_x")
    ]
