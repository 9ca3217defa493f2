"""What somebody types into a box, and what is answered when it cannot be used."""

import pytest

from gaiter.core.errors import InputError
from gaiter.records.fields import SECTIONS, boxes

ANKLE = boxes()["leg.girth_cm.ankle"]


def test_every_box_stands_in_one_section_and_every_field_of_the_case_has_a_box() -> None:
    listed = [path for section in SECTIONS for path in section.paths]
    assert sorted(listed) == sorted(boxes())
    assert "leg.girth_cm.below_knee" in listed
    assert len([p for p in listed if p.startswith("leg.findings.")]) > 30


@pytest.mark.parametrize(
    ("text", "unit", "value"), [("24", "cm", 24.0), ("24,5", "cm", 24.5), (" 10 ", "in", 25.4)]
)
def test_numbers_as_people_type_them(text, unit, value) -> None:
    assert ANKLE.parsed(text, unit) == value


def test_an_inch_goes_there_and_back() -> None:
    assert ANKLE.shown(ANKLE.parsed("9.3", "in"), "in") == "9.3"


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("240", "cm", "13 to 60 cm; received 240.0: this looks like millimetres, give 24 cm"),
        ("9.4", "cm", "this looks like inches, give 23.9 cm"),
        ("24", "in", "5.1 to 23.6 in; received 24 in"),
        ("abc", "cm", "received 'abc'"),
        ("nan", "cm", "received 'nan'"),
        ("1e999", "cm", "received '1e999'"),
        ("😀", "cm", "received '😀'"),
        ("<script>alert(1)</script>", "cm", "received '<script>"),
    ],
)
def test_what_is_no_girth_is_answered_in_words(text, unit, words) -> None:
    with pytest.raises(InputError) as error:
        ANKLE.parsed(text, unit)
    assert words in str(error.value)


@pytest.mark.parametrize(
    ("path", "text", "words"),
    [
        ("person.diabetes", "maybe", "true or false"),
        ("leg.wound.place", "knee", "one of inner ankle"),
        ("leg.arterial.measured_on", "2026-02-30", "a date such as"),
        ("look.pain", "3.5", "whole number, 0 to 10"),
        ("care.note", "x" * 10_001, "at most 10000 characters"),
    ],
)
def test_other_kinds_say_what_they_take(path, text, words) -> None:
    with pytest.raises(InputError, match=words):
        boxes()[path].parsed(text)


def test_none_of_a_list_is_an_answer_and_nothing_ticked_is_not() -> None:
    allergies = boxes()["person.allergies"]
    assert allergies.parsed(["none"]) == []
    assert allergies.parsed([]) is None
    assert allergies.parsed(["latex", "dyes"]) == ["latex", "dyes"]


def test_a_long_note_in_any_script_is_kept_whole() -> None:
    note = "مرحبا 😀 " * 1000
    assert boxes()["care.note"].parsed(note) == note.strip()
