"""What is wrong with given values is typed: by path, by kind, with and without its name."""

from typing import Any

import pytest

from gaiter.core.case import Case, SafetyCase
from gaiter.core.errors import FieldError
from gaiter.core.problems import Problem, Wrong, judged, value_problem
from tests.strategies import case_mapping

LEG = "legs.right"
BALL = f"{LEG}.girth_cm.metatarsal_heads"
AMPUTATED = {f"{LEG}.findings.forefoot_amputation": True}


def problem(**changes: Any) -> Problem:
    """The one problem of a case with something changed."""
    [found] = judged(Case, case_mapping(**changes))
    return found


def test_what_is_right_is_the_record_itself() -> None:
    assert isinstance(judged(Case, case_mapping()), Case)
    assert isinstance(judged(SafetyCase, case_mapping()), SafetyCase)


@pytest.mark.parametrize(
    ("changes", "about", "code", "words"),
    [
        ({f"{LEG}.girth_cm.calf": None}, f"{LEG}.girth_cm.calf", Wrong.MISSING,
         "required and missing; give 18 to 95 cm"),
        ({f"{LEG}.girth_cm.calf": 9}, f"{LEG}.girth_cm.calf", Wrong.VALUE, "must be 18 to 95 cm"),
        ({"person.shoe": 9}, "person.shoe", Wrong.UNKNOWN, "unknown field"),
        ({"person.sex": "other"}, "person.sex", Wrong.VALUE, "must be one of"),
        ({f"{LEG}.girth_cm.ankle": 50, f"{LEG}.girth_cm.calf": 40}, f"{LEG}.girth_cm.ankle",
         Wrong.CONTRADICTION, "must be at most the calf's 40 cm; received 50 cm"),
        ({BALL: None}, BALL, Wrong.MISSING, "is required: measure it in cm"),
        (AMPUTATED, BALL, Wrong.CONTRADICTION, "is given on a foot with forefoot_amputation"),
        ({**AMPUTATED, BALL: None, f"{LEG}.girth_cm.instep": None}, f"{LEG}.girth_cm.instep",
         Wrong.MISSING, "is required after a forefoot amputation"),
        ({f"{LEG}.arterial.measured_on": "2026-11-26"}, f"{LEG}.arterial.measured_on",
         Wrong.CONTRADICTION, "must be on or before today, 2026-11-25; received 2026-11-26"),
        ({f"{LEG}.findings.bypass": "none", f"{LEG}.findings.bypass_route": "typed"},
         f"{LEG}.findings", Wrong.CONTRADICTION, "bypass is 'none' but bypass_route is given"),
    ],
)  # fmt: skip
def test_a_problem_says_which_value_to_correct(changes, about, code, words) -> None:
    found = problem(**changes)
    assert (found.about, found.code) == (about, code)
    assert found.words.text.startswith(words)


@pytest.mark.parametrize("received", [10**400, -(10**400), 1e308, float("inf")])
def test_a_number_beyond_every_leg_is_answered_in_a_sentence(received) -> None:
    node = {"type": "number", "minimum": 18, "maximum": 95, "unit": "cm"}
    assert value_problem(node, received).text.startswith("must be 18 to 95 cm; received ")


def test_a_line_can_be_shown_whatever_names_are_in_it() -> None:
    shown = str(Problem("a\x1b[31m\x00b", "x" * 70_000 + ": correct it"))
    assert shown.startswith("a\\x1b[31m\\x00b: xxx")
    assert shown.endswith("xxx: correct it")
    assert len(shown) < 1300
    assert str(Problem("å", "1 × 2 – “3”")) == "å: 1 × 2 – “3”"


def test_a_contradiction_is_printed_at_its_table_with_the_name_in_the_sentence() -> None:
    found = problem(**{f"{LEG}.girth_cm.ankle": 50, f"{LEG}.girth_cm.calf": 40})
    assert found.field == LEG
    assert str(found) == (
        "legs.right: girth_cm.ankle must be at most the calf's 40 cm; received 50 cm: were ankle "
        "and calf swapped?"
    )


def test_a_rule_of_the_whole_case_has_no_table() -> None:
    found = problem(**{f"{LEG}.arterial.measured_on": "2026-11-26"})
    assert found.field == ""
    assert str(found).startswith("legs.right.arterial.measured_on must be on or before today")


def test_an_error_of_a_record_carries_its_parts() -> None:
    error = FieldError("girth_cm.ankle", "must be less", missing=True)
    assert (error.path, error.words.text, error.missing) == ("girth_cm.ankle", "must be less", True)
    assert str(error) == "girth_cm.ankle must be less"


def test_a_name_that_no_line_can_show_is_printed_as_signs_and_short() -> None:
    one = Problem("stock.\x00\u202e" + "x" * 5000, "\x1b[31m is unknown\nname it")
    assert str(one) == "stock.\\x00\\u202e" + "x" * 58 + "…: \\x1b[31m is unknown\nname it"
