"""A case refuses what cannot be and never reads one answer as another."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from gaiter.core.case import (
    Arterial,
    Case,
    Clot,
    ClotSigns,
    Findings,
    Girths,
    Leg,
    Person,
    Positions,
    StockItem,
    Toes,
    Wound,
)
from tests.strategies import case, case_mapping

F, A, L = "legs.right.findings.", "legs.right.arterial.", "legs.right."
NO_BALL = {"legs.right.girth_cm.metatarsal_heads": None, f"{F}forefoot_amputation": True}
RECORDS = (Arterial, Clot, ClotSigns, Findings, Girths, Person, Positions, StockItem, Wound, Leg)


def fields_of_type(*wanted: str) -> list[tuple[type[BaseModel], str]]:
    """Fields of all records whose JSON Schema has one of these types."""
    found = []
    for record in RECORDS:
        for name, node in record.model_json_schema()["properties"].items():
            choices = node.get("anyOf", [node])
            if any(choice.get("type") in wanted for choice in choices):
                found.append((record, name))
    return found


def named(error: ValidationError) -> set[str]:
    return {str(detail["loc"][0]) for detail in error.errors() if detail["loc"]}


YES_OR_NO = fields_of_type("boolean")
NUMBERS = fields_of_type("number", "integer")


def test_there_are_questions_and_numbers_to_try() -> None:
    assert len(YES_OR_NO) > 40
    assert len(NUMBERS) > 30


@pytest.mark.parametrize(("record", "name"), YES_OR_NO)
@pytest.mark.parametrize("slip", ["no", "false", "n", 0, 1, 0.0, "", "unknown"])
def test_only_true_and_false_answer_a_question(record, name: str, slip: object) -> None:
    with pytest.raises(ValidationError) as error:
        record.model_validate({name: slip})
    assert name in named(error.value)


@pytest.mark.parametrize(("record", "name"), NUMBERS)
@pytest.mark.parametrize("slip", [True, False, "1", "30", float("nan"), float("inf"), -1e9])
def test_only_a_number_in_range_is_a_number(record, name: str, slip: object) -> None:
    with pytest.raises(ValidationError) as error:
        record.model_validate({name: slip})
    assert name in named(error.value)


@pytest.mark.parametrize("name", ["today", f"{A}measured_on"])
@pytest.mark.parametrize("slip", [0, 1, 86_400, 1_764_028_800, 20261125, 1.5, True])
def test_a_number_is_no_date(name: str, slip: float) -> None:
    with pytest.raises(ValidationError, match="must be a date such as 2026-11-25; received"):
        case(**{name: slip})


def test_dates_come_as_dates_and_as_text() -> None:
    assert case(today="2026-11-25") == case(today=date(2026, 11, 25))


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({**NO_BALL, f"{A}toe_mmhg": 80.0}, "arterial.toe_mmhg is given on a foot with forefoot"),
        ({**NO_BALL, f"{L}wound": {"place": "toe"}}, "wound.place is 'toe' on a foot with"),
        ({f"{L}wound": {"place": "inner ankle", "side": "outer"}},
         "place is 'inner ankle' but side is 'outer'"),
        ({f"{L}wound": {"place": "shin", "side": "back"}}, "place is 'shin' but side is 'back'"),
        ({"legs.right.position_cm.metatarsal_heads": 26.0},
         "position_cm.metatarsal_heads must be less than foot_length_cm, 25 cm; received 26 cm"),
        ({"stock": {"short_stretch": {"rolls": 1, "curve": {
            "usual_stretch": 0.9, "usual_tension_n_per_cm": 2.0, "locking_stretch": 0.5}}}},
         "usual_stretch must be below locking_stretch, 0.5; received 0.9"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(changes: dict, sentence: str) -> None:
    with pytest.raises(ValidationError, match=sentence):
        case(**changes)


def test_a_wound_on_the_foot_that_is_left_is_possible() -> None:
    assert case(**NO_BALL, **{f"{L}wound": {"place": "top of foot", "side": "inner"}})


@pytest.mark.parametrize("widths", [[], [-3], [0], [100], [True], ["10"], [10, float("nan")]])
def test_widths_of_rolls_that_nobody_sells(widths: list) -> None:
    with pytest.raises(ValidationError) as error:
        StockItem.model_validate({"rolls": 1, "widths_cm": widths})
    assert named(error.value) == {"widths_cm"}


def test_every_field_with_a_number_has_its_unit_and_range() -> None:
    for record, name in NUMBERS:
        node = record.model_json_schema()["properties"][name]
        assert node["unit"], (record, name)
        choice = node.get("anyOf", [node])[0]
        assert choice["minimum"] < choice["maximum"], (record, name)


def test_every_question_is_described() -> None:
    for record, name in YES_OR_NO:
        assert record.model_json_schema()["properties"][name]["description"], (record, name)


@given(st.sampled_from(sorted(Findings.model_fields)))
def test_a_finding_left_out_stays_unsaid(name: str) -> None:
    mapping = case_mapping(**{f"{F}{name}": None})
    value = getattr(Case.model_validate(mapping).legs["right"].findings, name)
    assert value in (None, Clot(), Toes())
