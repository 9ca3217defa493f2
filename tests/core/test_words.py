"""What is said is a template with values: formats, languages, what is refused."""

import pytest
from pydantic import BaseModel, ValidationError

from gaiter.core.words import (
    AND,
    NOTHING,
    SEMICOLON,
    Said,
    Sentence,
    Several,
    as_document,
    from_document,
    joined,
    words,
)

CAPPED = Said("At most {cap:g} mmHg: {why}.", {"cap": 40.0, "why": Said("fragile skin")}, "capped")


def german(msgid: str) -> str:
    return {
        "At most {cap:g} mmHg: {why}.": "{why}, darum höchstens {cap:.1f} mmHg.",
        "fragile skin": "verletzliche Haut",
        "an arm": "ein Arm",
        "an ankle": "ein Knöchel",
        "{first} and {second}": "{first} und {second}",
    }.get(msgid, msgid)


def test_english_is_the_template_with_its_values() -> None:
    assert CAPPED.text == str(CAPPED) == "At most 40 mmHg: fragile skin."


def test_a_language_moves_values_and_writes_numbers_its_own_way() -> None:
    assert CAPPED.told(german) == "verletzliche Haut, darum höchstens 40.0 mmHg."


@pytest.mark.parametrize(
    "wrong",
    ["Höchstens viel: {why}.", "{cap:g} {why} {other}", "{cap:g} {why", "{cap!r} {why}", "{} {}",
     "{cap:d} {why}", "{cap:99999999g} {why}", "{cap.real} {why}", ""],
)  # fmt: skip
def test_a_translation_that_leaves_a_value_out_is_not_used(wrong: str) -> None:
    assert CAPPED.told(lambda _msgid: wrong) != wrong
    assert "40" in CAPPED.told(lambda _msgid: wrong)
    assert "At most" in CAPPED.told(lambda _msgid: wrong)


def test_a_name_that_looks_like_a_msgid_stays_a_name() -> None:
    said = Said("set by {by}", {"by": "fragile skin"})
    assert said.told(german) == "set by fragile skin"
    assert Said("set by {by}", {"by": "{by} {cap:g}"}).text == "set by {by} {cap:g}"


def test_words_in_a_row_are_joined_as_their_language_joins_them() -> None:
    assert words(["an arm", "an ankle"], AND).told(german) == "ein Arm und ein Knöchel"
    assert words(["a", "b", "c"], SEMICOLON, capital=True).told(str) == "A; b; c"
    assert words(["toes Cold"], capital=True).told(str) == "Toes Cold"
    assert words(["a", "b"]).told(str) == "a, b"


def test_a_template_without_values_is_its_own_text() -> None:
    assert Said("Set {aside} 100 %").text == "Set {aside} 100 %"


@pytest.mark.parametrize(
    "template", ["{other}", "{cap", "{cap:9999999999}", "{cap.__class__}", "{cap!r}", "{0}", "{}"]
)
def test_a_template_names_its_own_values_and_nothing_else(template: str) -> None:
    with pytest.raises(ValueError, match=r"must name values that it has \(cap\); received"):
        Said(template, {"cap": 40})


def test_a_row_holds_something_and_joins_two() -> None:
    with pytest.raises(ValueError, match="at least one"):
        Several(())
    with pytest.raises(ValueError, match="must name first and second"):
        Several((Said("a"),), "{first}")


def test_what_was_said_comes_back_from_its_document() -> None:
    said = Said(
        "{n} {x:g} {name} {row}",
        {"n": 3, "x": 2.5, "name": "a name", "row": words(["an arm", "an ankle"], AND)},
        "code",
    )
    assert from_document(as_document(said)) == said


def test_a_text_kept_before_there_were_templates_still_reads() -> None:
    assert from_document("Toes feel: cold").text == "Toes feel: cold"


def test_a_document_with_an_unknown_part_is_refused() -> None:
    with pytest.raises(ValueError, match="extra|unexpected"):
        from_document({**as_document(CAPPED), "style": "bold"})


class Document(BaseModel):
    said: Sentence = NOTHING


def test_a_sentence_of_a_document_is_a_text_or_a_text_with_its_template() -> None:
    assert Document(said=Said("Tape")).model_dump() == {"said": "Tape"}
    assert Document().model_dump() == {"said": ""}
    written = Document(said=CAPPED).model_dump()["said"]
    assert written["text"] == "At most 40 mmHg: fragile skin."
    assert written.keys() == {"text", "template", "values", "code"}
    coded = Document(said=Said("Tape", code="tape")).model_dump()["said"]
    assert coded == {"text": "Tape", "template": "Tape", "code": "tape"}
    for said in (CAPPED, Said("Tape"), Said("Tape", code="tape"), NOTHING):
        made = Document(said=said)
        assert Document.model_validate_json(made.model_dump_json()) == made


def test_a_text_beside_a_template_says_what_it_says() -> None:
    written = as_document(CAPPED)
    with pytest.raises(ValidationError, match="must say what its template and values say"):
        Document(said={**written, "text": "At most 60 mmHg: fragile skin."})
    with pytest.raises(ValidationError, match="must say what its template and values say"):
        Document(said={**written, "values": {**written["values"], "cap": 60}})
    # Checks kept before a text stood beside the template.
    old = {key: part for key, part in written.items() if key != "text"}
    assert Document(said=old).said == CAPPED


def test_sentences_in_a_row_are_one_whose_joint_a_language_may_change() -> None:
    row = joined([Said("an arm"), Said("an ankle"), CAPPED], AND)
    assert row.text == "an arm and an ankle and At most 40 mmHg: fragile skin."
    assert joined([Said("an arm"), Said("an ankle")], AND).told(german) == "ein Arm und ein Knöchel"
    assert joined([CAPPED]) == CAPPED
    assert joined([]) == NOTHING


def test_nothing_said_is_no_sentence_and_words_are_found_in_the_english_one() -> None:
    assert CAPPED
    assert not NOTHING
    assert "40 mmHg" in CAPPED
    assert "{cap" not in CAPPED
