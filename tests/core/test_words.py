"""What is said is a template with values: formats, languages, what is refused."""

import pytest

from gaiter.core.words import (
    AND,
    SEMICOLON,
    Said,
    Several,
    as_document,
    from_document,
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
