"""Slips of unit and of spelling are named with what to type instead."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.files.case_file import case_from_mapping
from gaiter.files.wording import FileError, Problem
from tests.strategies import case_mapping, legs, percentile_leg

LEG = "legs.right"
REQUIRED_GIRTHS = (
    Landmark.METATARSAL_HEADS,
    Landmark.ANKLE,
    Landmark.CALF,
    Landmark.BELOW_KNEE,
)


def refusal(**changes: object) -> FileError:
    with pytest.raises(FileError) as error:
        case_from_mapping(case_mapping(**changes))
    return error.value


def measured(leg, per_cm: float) -> dict[str, object]:
    """A leg as typed by someone whose tape reads another unit."""
    places = [place for place in Landmark if place in leg.position_cm]
    return {
        f"{LEG}.foot_length_cm": leg.foot_length_cm * per_cm,
        f"{LEG}.girth_cm": {place.value: girth * per_cm for place, girth in leg.girth_cm.items()},
        f"{LEG}.position_cm": {place.value: leg.position_cm[place] * per_cm for place in places},
    }


@given(legs())
def test_a_published_leg_in_cm_is_accepted(leg) -> None:
    assert case_from_mapping(case_mapping(**measured(leg, 1)))


@pytest.mark.long
@given(legs())
def test_a_published_leg_in_millimetres_is_never_accepted(leg) -> None:
    """Every one of the 14 lengths lies outside its range and is recognised."""
    problems = refusal(**measured(leg, 10)).problems
    assert len(problems) == 14
    assert all("this looks like millimetres" in problem.text for problem in problems)


@pytest.mark.long
@given(legs())
def test_a_published_leg_in_inches_is_never_accepted(leg) -> None:
    """Ankle girth and the heights of ankle, calf and knee cannot pass for centimetres."""
    inches = {p.field: p.text for p in refusal(**measured(leg, 1 / 2.54)).problems}
    for name in ("girth_cm.ankle", "position_cm.ankle", "position_cm.calf"):
        assert "this looks like inches" in inches[f"{LEG}.{name}"]


@pytest.mark.long
@given(legs())
def test_a_published_leg_in_metres_is_never_accepted(leg) -> None:
    problems = refusal(**measured(leg, 0.01)).problems
    assert len(problems) == 14
    assert all("this looks like metres" in problem.text for problem in problems)


@pytest.mark.parametrize("sex", list(Sex))
@pytest.mark.parametrize("index", [0, 1, 2])
@pytest.mark.parametrize("place", REQUIRED_GIRTHS)
def test_one_girth_in_millimetres_is_answered_with_the_same_girth_in_cm(sex, index, place) -> None:
    girth_cm = round(percentile_leg(sex, index).girth_cm[place], 1)
    (problem,) = refusal(**{f"{LEG}.girth_cm.{place}": girth_cm * 10}).problems
    assert problem.field == f"{LEG}.girth_cm.{place}"
    assert f"give {girth_cm:g} cm" in problem.text


@given(st.sampled_from([-225.0, 0, 1e6, 3.1]))
def test_a_value_that_is_no_slip_of_unit_gets_no_guess(value: float) -> None:
    (problem,) = refusal(**{f"{LEG}.girth_cm.ankle": value}).problems
    assert "looks like" not in problem.text
    assert "13 to 60 cm" in problem.text


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"stock": {"short_stretch": {"rolls": 1, "relaxed_length_cm": 4.5}}},
         "stock.short_stretch.relaxed_length_cm: must be 50 to 3000 cm; received 4.5: this looks "
         "like metres, give 450 cm"),
        ({"stock": {"short_stretch": {"rolls": 1, "widths_cm": [10, 100]}}},
         "stock.short_stretch.widths_cm.1: must be 2 to 30 cm; received 100: this looks like "
         "millimetres, give 10 cm"),
        ({"stock": {"short_stretch": {"rolls": 1, "widths_cm": []}}},
         "stock.short_stretch.widths_cm: must hold at least 1; received none: add one"),
        ({"legs": {}}, "legs: must hold at least 1; received none: add one"),
        ({"person.heart_failure_class": True},
         "person.heart_failure_class: must be a whole number, 0 to 4 class; received True"),
        ({f"{LEG}.findings.rest_pain": "no"},
         "findings.rest_pain: must be true or false; received 'no'"),
        ({"bandager": None}, "bandager: required and missing; give a table with at least training"),
        ({"schema": None}, "schema: required and missing; give 'gaiter.case/1'"),
        ({f"{LEG}.girth_cm.ankle": "26"},
         "girth_cm.ankle: must be 13 to 60 cm; received '26': remove the quotation marks"),
        ({"person.age_years": "71"}, "received '71': remove the quotation marks"),
        ({"person.diabetes": "false"},
         "person.diabetes: must be true or false; received 'false': remove the quotation marks"),
        ({f"{LEG}.girth_cm.ankle": "thin"}, "received 'thin': correct it"),
        ({f"{LEG}.findings.clot": "none"},
         "findings.clot: must be a table; received 'none': write clot = { state = \"none\" }"),
        ({f"{LEG}.findings.toes": "cold"}, "write toes = { warmth = \"cold\" }"),
        ({f"{LEG}.findings.clot": "perhaps"},
         "write clot = { ... } with any of state, anticoagulated, signs, old_signs"),
        ({f"{LEG}.wound": "small"}, "write wound = { ... } with at least place, of place, side,"),
        ({"arms": 134}, "arms: must be a table; received 134: write arms = { ... } with any of"),
        ({"stock": "everything"},
         "stock: must be a table; received 'everything': write [stock] on a line of its own"),
        ({f"{LEG}.provisional": {"by": "Dr Alder", "words": "short"}},
         "provisional.words: must be text of 10 to 2000 characters; received 'short'"),
        ({"today": 1764028800}, "today: must be a date such as 2026-11-25; received 1764028800"),
    ],
)  # fmt: skip
def test_the_sentence(changes: dict, sentence: str) -> None:
    assert sentence in str(refusal(**changes))


def test_what_stands_under_an_unknown_name_is_not_judged() -> None:
    (problem,) = refusal(**{"legs.Right": {"purpose": "beauty", "girth_cm": {"ankle": 3}}}).problems
    assert problem.field == "legs.Right"
    assert "must be one of 'right' or 'left'" in problem.text


def test_the_other_leg_is_still_judged() -> None:
    wrong = {"legs.middle": {}, f"{LEG}.girth_cm.ankle": 225}
    assert {p.field for p in refusal(**wrong).problems} == {"legs.middle", f"{LEG}.girth_cm.ankle"}


def test_so_many_problems_are_listed_and_the_rest_counted() -> None:
    error = FileError("case.toml", [Problem(f"field{number}", "is wrong") for number in range(53)])
    lines = str(error).splitlines()
    assert lines[49] == "case.toml: field49: is wrong"
    assert lines[50:] == ["case.toml: and 3 more"]
    assert len(error.problems) == 53
