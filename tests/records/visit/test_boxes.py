"""What somebody types into a box, and what is answered when it cannot be used."""

import pytest

from gaiter.core.check.boxes import TOES
from gaiter.core.errors import InputError
from gaiter.core.safety import RULES, Subject
from gaiter.records.visit.boxes import (
    OPENINGS,
    SECTIONS,
    BoxKind,
    box_path,
    boxes,
    question_path,
)

ANKLE = boxes()["leg.girth_cm.ankle"]


def test_every_box_stands_in_one_section_and_every_field_of_the_case_has_a_box() -> None:
    listed = [path for section in SECTIONS for path in section.paths]
    assert sorted(listed) == sorted(boxes())
    assert "leg.girth_cm.below_knee" in listed
    assert len(listed) == len(set(listed))
    assert len([p for p in listed if p.startswith("leg.findings.")]) > 30


def test_every_question_that_the_rules_need_is_asked_in_the_first_section() -> None:
    first = SECTIONS[0]
    assert first.key == "screen"
    needed = {path for rule in RULES.values() for path in rule.needs} - {"person.age_years"}
    assert {box_path(path) for path in needed} <= set(first.paths)


def test_questions_stand_under_the_first_rule_that_needs_them_in_the_order_of_the_rules() -> None:
    titles = [group.title for group in SECTIONS[0].groups]
    subjects = [subject.value for subject in Subject if subject.value in titles]
    assert [title for title in titles if title in subjects] == subjects
    for group in SECTIONS[0].groups:
        for path in group.paths:
            needing = [r for r in RULES.values() if question_path(path) in r.needs]
            if needing and group.title in subjects:
                assert needing[0].subject.value == group.title


def test_a_box_and_its_question_are_one_each_way() -> None:
    for path in boxes():
        assert box_path(question_path(path)) == path


@pytest.mark.parametrize("toe", TOES, ids=lambda toe: toe.key)
def test_the_toes_are_asked_with_the_answers_that_the_check_compares(toe) -> None:
    asked = boxes()[f"toes.{toe.key}"]
    assert set(asked.choices) == set(toe.answers)
    assert asked.label == toe.label


def test_the_white_toe_and_new_boxes_can_be_said() -> None:
    assert boxes()["toes.colour"].parsed("white") == "white"
    assert boxes()["leg.start"].choices == ["low", "full"]
    assert boxes()["arms.unusable"].choices == ["left", "right"]
    for name in ("pregnancy", "sickle_cell", "raynaud", "can_be_taken_off"):
        assert boxes()[f"person.{name}"].kind is BoxKind.ANSWER


def test_what_is_asked_only_after_another_answer_says_after_which() -> None:
    for path, opening in OPENINGS.items():
        assert path in boxes()
        assert set(opening.paths) <= set(boxes())
    since = OPENINGS["leg.findings.clot.old_signs.whole_leg_swollen"]
    sign = "leg.findings.clot.signs.whole_leg_swollen"
    assert since.is_open({sign: True})
    assert not since.is_open({sign: False})
    assert not since.is_open({})
    observer = OPENINGS["person.daily_observer"]
    assert observer.is_open({"person.can_report_pain": False})
    assert not observer.is_open({"person.can_report_pain": True})


@pytest.mark.parametrize(
    ("text", "unit", "value"), [("24", "cm", 24.0), ("24,5", "cm", 24.5), (" 10 ", "in", 25.4)]
)
def test_numbers_as_people_type_them(text, unit, value) -> None:
    assert ANKLE.parsed(text, unit) == value


def test_width_and_depth_have_boxes_of_their_own_with_how_to_take_them() -> None:
    section = next(one for one in SECTIONS if one.key == "measure")
    [group] = [one for one in section.groups if one.title]
    assert group.paths == (
        "leg.width_cm.ankle", "leg.depth_cm.ankle", "leg.width_cm.calf", "leg.depth_cm.calf",
    )  # fmt: skip
    assert "side to side at the same height as the girth" in group.hint
    assert "between a book and the wall" in group.hint
    width = boxes()["leg.width_cm.ankle"]
    assert (width.label, width.unit) == ("Width of the ankle, side to side at its girth", "cm")
    assert width.parsed("6,2") == 6.2
    with pytest.raises(InputError, match="must be 2.5 to 19 cm; received 62"):
        width.parsed("62")


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
