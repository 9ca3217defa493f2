"""The leg with its turns, from the front and the inner side."""

import re

import pytest

from gaiter.core.draw.leg_drawing import bare_leg_drawing, leg_drawing
from gaiter.core.landmark import Side
from gaiter.core.plan.rebuilt import bandaged_leg_of
from tests.core.draw.drawn import SVG, both_legs, described, parsed


def test_every_turn_is_numbered_in_a_view_that_shows_it() -> None:
    leg = both_legs().legs[Side.RIGHT]
    drawn = parsed(leg_drawing(leg, leg.systems[0], bandaged_leg_of(leg)))
    words = [e.text or "" for e in drawn.iter(f"{SVG}text")]
    turns = max(layer.turns for layer in leg.systems[0].layers if layer.presses)
    numbers = {int(word) for word in words if word.isdigit()}
    assert numbers == set(range(1, turns + 1))


def test_landmarks_carry_their_girth_with_its_unit() -> None:
    leg = both_legs().legs[Side.RIGHT]
    text = leg_drawing(leg, leg.systems[0], bandaged_leg_of(leg)).to_text()
    assert "ankle 22.5 cm" in text
    assert "calf 37.0 cm" in text


def test_toes_of_a_right_leg_point_left_seen_from_the_inner_side() -> None:
    """And a left leg is the mirror image: its labels are on the other side."""
    right, left = both_legs().legs[Side.RIGHT], both_legs().legs[Side.LEFT]
    ends = [
        e.get("text-anchor")
        for leg in (right, left)
        for e in parsed(leg_drawing(leg, leg.systems[0], bandaged_leg_of(leg))).iter(f"{SVG}text")
        if (e.text or "").startswith("calf")
    ]
    assert ends == ["start", "end"]


def test_same_plan_same_bytes_and_no_colour_alone() -> None:
    leg = both_legs().legs[Side.RIGHT]
    once, again = (
        leg_drawing(leg, leg.systems[0], bandaged_leg_of(leg)).to_text() for _ in range(2)
    )
    assert once == again
    assert not re.search(r"\d\.\d{3,}", once)


def test_a_stopped_leg_cannot_be_drawn() -> None:
    stopped = both_legs().legs[Side.RIGHT].model_copy(update={"surface": None})
    with pytest.raises(ValueError, match="holds no surface"):
        bandaged_leg_of(stopped)


def test_the_words_name_fabric_turns_and_ends() -> None:
    leg = both_legs().legs[Side.RIGHT]
    system = leg.systems[0]
    layer = [one for one in system.layers if one.presses][-1]
    assert described(leg_drawing(leg, system, bandaged_leg_of(leg))) == (
        f"{layer.title}, {layer.pattern}, {layer.turns} turns from the metatarsal heads to just "
        f"below the knee; turn numbers in order."
    )


def test_a_bare_leg_tells_its_girths_and_an_earlier_leg_is_broken_behind_it() -> None:
    measured = bandaged_leg_of(both_legs().legs[Side.LEFT]).measured
    now = bare_leg_drawing(measured, Side.LEFT)
    assert described(now) == (
        "metatarsal heads 23.0 cm, ankle 22.5 cm, gaiter 27.0 cm, calf 37.0 cm, below knee 34.0 cm"
    )
    with_before = bare_leg_drawing(measured, Side.LEFT, measured)
    assert described(with_before).endswith("; the broken line is the leg before")
    assert now.to_text().count('stroke-dasharray="5 4"') == 0
    assert with_before.to_text().count('stroke-dasharray="5 4"') == 2
