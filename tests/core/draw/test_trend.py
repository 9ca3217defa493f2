"""A few values one after the other, to scale."""

import pytest

from gaiter.core.draw.trend import trend_drawing
from gaiter.core.words import Said
from tests.core.draw.drawn import SVG, parsed, texts


def test_a_trend_shows_every_value_and_starts_at_zero() -> None:
    text = trend_drawing([8.4, 6.0, 3.5], Said("mean off, mmHg"), Said("attempt")).to_text()
    assert text.count("<circle") == 3
    for shown in (">8<", ">6<", ">4<", ">0<", "mean off, mmHg, by attempt: 1: 8, 2: 6, 3: 4"):
        assert shown in text


def test_many_or_large_values_keep_their_axis_readable() -> None:
    text = trend_drawing([0.0] * 40 + [180.0], Said("off, mmHg"), Said("attempt")).to_text()
    assert ">200<" in text
    assert text.count('text-anchor="middle"') < 40


def test_dots_stand_at_their_values_between_the_ticks() -> None:
    """Ticks by 2 up to 10; three values in the middles of three equal parts."""
    drawing = trend_drawing([8.4, 6.0, 3.5], Said("mean off, mmHg"), Said("attempt"))
    found = texts(drawing)
    zero, ten = (float(found[tick].get("y")) for tick in ("0", "10"))
    dots = [(float(c.get("cx")), float(c.get("cy"))) for c in parsed(drawing).iter(f"{SVG}circle")]
    for (_, y), value in zip(dots, (8.4, 6.0, 3.5), strict=True):
        # Labels stand 4 px under their line.
        assert y == pytest.approx(zero - 4 + (ten - zero) * value / 10, abs=0.01)
    # Between 44 px on the left and 16 on the right of 520: parts of 153.3 px.
    assert [x for x, _ in dots] == pytest.approx([120.67, 274.0, 427.33], abs=0.01)


@pytest.mark.parametrize(
    ("most", "ticks"),
    [
        (5.0, ["0", "1", "2", "3", "4", "5", "6"]),
        (5.1, ["0", "2", "4", "6"]),
        (26.0, ["0", "10", "20", "30"]),
    ],
)
def test_ticks_are_round_and_end_above_the_largest(most: float, ticks: list[str]) -> None:
    drawing = trend_drawing([most], Said("off"), Said("attempt"))
    quiet = [e.text for e in parsed(drawing).iter(f"{SVG}text") if e.get("text-anchor") == "end"]
    assert quiet[: len(ticks)] == ticks
    assert quiet[len(ticks)] == "attempt"
