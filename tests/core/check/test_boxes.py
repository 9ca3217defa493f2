"""The boxes of a check: what may be seen, from good to bad, in one list for every page."""

from typing import get_args

import pytest

from gaiter.core.case.findings import Toes
from gaiter.core.check.boxes import CHECK_BOXES, FIT, PAIN_MOST, TOES, Seen
from gaiter.core.safety.rules.toes import BAD_COLOURS

GRAVITY = list(Seen)


@pytest.mark.parametrize("box", CHECK_BOXES.values(), ids=list(CHECK_BOXES))
def test_answers_go_from_one_good_one_to_the_worst(box) -> None:
    seen = [GRAVITY.index(one) for one in box.answers.values()]
    assert seen == sorted(seen)
    assert list(box.answers.values()).count(Seen.GOOD) == 1
    assert box.answers[box.good] is Seen.GOOD
    assert [box.rank(answer) for answer in box.answers] == list(range(len(box.answers)))


def test_an_answer_that_a_box_does_not_offer_has_no_rank() -> None:
    with pytest.raises(ValueError, match="lukewarm"):
        CHECK_BOXES["warmth"].rank("lukewarm")


@pytest.mark.parametrize(
    ("key", "answer", "seen"),
    [
        # No blood or no nerve: grave. White, blue and grey whatever was seen before the bandage.
        ("colour", "white", Seen.GRAVE_ALWAYS),
        ("colour", "bluer", Seen.GRAVE_ALWAYS),
        ("colour", "greyer", Seen.GRAVE_ALWAYS),
        ("colour", "paler", Seen.GRAVE),
        ("colour", "redder", Seen.WATCH),
        ("warmth", "cold", Seen.GRAVE),
        ("warmth", "cool", Seen.WATCH),
        ("refill", "slower", Seen.WATCH),
        ("feeling", "some toes", Seen.GRAVE),
        ("feeling", "no toe", Seen.GRAVE),
        ("movement", "some toes", Seen.GRAVE),
        ("movement", "no toe", Seen.GRAVE),
        # A tight edge, discomfort or a shoe are loosened.
        ("fingers", "no", Seen.WATCH),
        ("comfort", "no", Seen.WATCH),
        ("shoe", "no", Seen.WATCH),
    ],
)
def test_how_grave_each_answer_is(key, answer, seen) -> None:
    assert CHECK_BOXES[key].answers[answer] is seen


def test_every_bad_answer_is_in_the_table_above() -> None:
    bad = sum(len(box.answers) - 1 for box in CHECK_BOXES.values())
    assert bad == 15


def test_colour_refill_and_warmth_tell_of_blood_and_nothing_else_does() -> None:
    assert [box.key for box in CHECK_BOXES.values() if box.of_blood] == [
        "colour", "refill", "warmth",
    ]  # fmt: skip


def test_toes_come_before_the_fit_and_each_key_is_used_once() -> None:
    assert list(CHECK_BOXES) == [box.key for box in (*TOES, *FIT)]
    assert len(CHECK_BOXES) == len(TOES) + len(FIT) == 8
    assert PAIN_MOST == 10


def test_the_boxes_of_the_toes_are_those_of_the_case() -> None:
    for box in TOES:
        choices, _none = get_args(Toes.model_fields[box.key].annotation)
        listed = get_args(choices) or [colour.value for colour in choices]
        assert set(box.answers) == set(listed), box.key
        assert box.label == Toes.model_fields[box.key].description
    assert set(Toes.model_fields) == {box.key for box in TOES}


def test_what_stops_before_bandaging_is_grave_under_a_bandage() -> None:
    colour = CHECK_BOXES["colour"].answers
    assert {c for c, seen in colour.items() if seen in (Seen.GRAVE, Seen.GRAVE_ALWAYS)} == {
        c.value for c in BAD_COLOURS
    }
