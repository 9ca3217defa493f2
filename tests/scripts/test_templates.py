"""Every template that is said is collected for a catalogue."""

import ast
import re
from collections.abc import Iterator
from typing import Any

import pytest

from gaiter.core.case import Case
from gaiter.core.errors import InputError
from gaiter.core.problems import judged
from gaiter.core.safety import RULES
from gaiter.core.words import Said, Several, Value
from gaiter.records.visit.boxes import boxes
from scripts.templates import all_templates, pot, templates_in
from tests.said import CASES, EXAMPLES, bench, said_in
from tests.strategies import case_mapping

COLLECTED = frozenset(all_templates())


def templates_of(value: Value) -> Iterator[str]:
    """The template of what is said, and those of the words inside it."""
    if isinstance(value, Several):
        yield value.joint
        for item in value.items:
            yield from templates_of(item)
    elif isinstance(value, Said):
        yield value.template
        for inside in value.values.values():
            yield from templates_of(inside)


@pytest.mark.parametrize("name", [*CASES, *EXAMPLES])
def test_every_template_of_a_plan_is_collected(name: str) -> None:
    made = bench(name).plan
    reasons = [reason.said for leg in made.legs.values() for reason in leg.decision.reasons]
    found = {text for said in (*said_in(made), *reasons) for text in templates_of(said)}
    assert found - COLLECTED - {""} == set()


@pytest.mark.parametrize("text", ["99999", "q" * 12_000, "230"])
@pytest.mark.parametrize("unit", ["cm", "in"])
def test_every_template_of_a_refused_box_is_collected(text: str, unit: str) -> None:
    refused = []
    for box in boxes().values():
        try:
            box.parsed(text, unit)
        except InputError as error:
            refused.append(error.said)
    assert refused
    assert {one for said in refused for one in templates_of(said)} - COLLECTED == set()


@pytest.mark.parametrize(
    "changes",
    [{"legs.right.girth_cm.ankle": 50}, {"legs.right.girth_cm.calf": None}, {"person": 3},
     {"person.shoe": 9}, {"person.sex": "other"}, {"today": 3}, {"legs.right.purpose": "q"},
     {"legs.right.findings.bypass": "none", "legs.right.findings.bypass_route": "typed"},
     {"legs.right.arterial.measured_on": "2099-01-01"}, {"stock": {}}, {"legs.right": "x"}],
    ids=lambda changes: next(iter(changes)),
)  # fmt: skip
def test_every_template_of_a_refused_case_is_collected(changes: dict[str, Any]) -> None:
    problems = judged(Case, case_mapping(**changes))
    assert isinstance(problems, tuple)
    told = [said for one in problems for said in (one.line, one.words)]
    assert {text for said in told for text in templates_of(said)} - COLLECTED == set()


def test_a_literal_one_of_two_and_a_constant_are_found() -> None:
    text = '''
_ONE, OTHER = "one {n}", "other"
_ROW = {1: "first", 2: "se" "cond"}
def told(n, why):
    """Said("in a docstring")"""
    Said("plain")
    Said(_ONE if n else "none", {"n": n})
    Said(_ROW[n])
    words(["a", "b"])
    Said(why)
    print("printed")
'''
    assert list(templates_in(text)) == [
        "plain", "one {n}", "other", "none", "first", "second", "a", "b",
    ]  # fmt: skip


def test_the_file_holds_every_template_as_it_is() -> None:
    texts = ['{n} "turns"', "two\nlines", "a \\ stroke"]
    read = [ast.literal_eval(text) for text in re.findall(r"^msgid (.*)$", pot(texts), re.M)]
    assert read == ["", *texts]


def test_rules_answers_and_materials_are_collected() -> None:
    assert {rule.text for rule in RULES.values()} <= COLLECTED
    assert {"venous ulcer", "below knee", "back of the calf", "Four layers"} <= COLLECTED
    assert {"rise from the ankle to the calf", "Soft, next to the skin."} <= COLLECTED
