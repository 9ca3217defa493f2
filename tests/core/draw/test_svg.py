"""The small builder for SVG: numbers, names, escaping, nesting."""

from xml.etree import ElementTree

import pytest

from gaiter.core.draw.svg import Drawing, number
from tests.core.draw.drawn import SVG, parsed


@pytest.mark.parametrize(
    ("value", "text"),
    [(2.0, "2"), (-0.004, "0"), (0.0, "0"), (3.14159, "3.14"), (-1.5, "-1.5"), (100.0, "100"),
     (0.005001, "0.01"), (1e6, "1000000")],
)  # fmt: skip
def test_numbers_have_at_most_two_decimals_and_no_negative_nothing(value: float, text: str) -> None:
    assert number(value) == text


def drawing() -> Drawing:
    return Drawing(120, 80.5, "A title", "What it shows")


def test_the_size_the_title_and_the_words_are_there() -> None:
    root = parsed(drawing())
    assert (root.get("viewBox"), root.get("width"), root.get("height")) == (
        "0 0 120 80.5", "120", "80.5",
    )  # fmt: skip
    assert (root.get("role"), root.get("aria-label")) == ("img", "A title")
    assert [root.findtext(f"{SVG}title"), root.findtext(f"{SVG}desc")] == [
        "A title", "What it shows",
    ]  # fmt: skip


def test_names_of_styles_are_those_of_svg() -> None:
    made = drawing()
    made.line(1, 2, 3, 4.005, stroke_width=1.5)
    made.rectangle(0, 0, 10, 5, class_="band")
    (line,) = parsed(made).iter(f"{SVG}line")
    assert [line.get(n) for n in ("x1", "y1", "x2", "y2", "stroke-width")] == [
        "1", "2", "3", "4", "1.5",
    ]  # fmt: skip
    (band,) = parsed(made).iter(f"{SVG}rect")
    assert band.get("class") == "band"


@pytest.mark.parametrize(("closed", "path"), [(False, "M0 0L1 2.5"), (True, "M0 0L1 2.5Z")])
def test_a_curve_is_a_path_open_or_closed(closed: bool, path: str) -> None:
    made = drawing()
    made.curve([(0, 0), (1, 2.5)], closed=closed)
    (curve,) = parsed(made).iter(f"{SVG}path")
    assert curve.get("d") == path
    assert curve.get("fill") == "none"


def test_words_are_escaped() -> None:
    made = drawing()
    made.text(1, 2, '<script> & "more"')
    assert "<script>" not in made.to_text()
    (text,) = parsed(made).iter(f"{SVG}text")
    assert text.text == '<script> & "more"'


def test_a_drawing_inside_another_stands_at_its_place_and_is_a_copy() -> None:
    outer, inner = drawing(), drawing()
    inner.circle(1, 1, 2)
    outer.place(inner, 10, 20.25)
    inner.circle(5, 5, 2)
    nested = next(iter(parsed(outer).findall(f"{SVG}svg")))
    assert (nested.get("x"), nested.get("y"), nested.get("width")) == ("10", "20.25", "120")
    assert len(list(nested.iter(f"{SVG}circle"))) == 1
    # One name space for the whole document.
    assert outer.to_text().count("xmlns=") == 1
    assert len(list(parsed(inner).iter(f"{SVG}circle"))) == 2


def test_what_is_clipped_names_its_curve() -> None:
    made = drawing()
    pen = made.clipped([(0, 0), (1, 0), (1, 1)], "leg")
    pen.circle(0, 0, 3)
    root: ElementTree.Element = parsed(made)
    (clip,) = root.iter(f"{SVG}clipPath")
    assert clip.get("id") == "leg"
    assert next(iter(clip)).get("d") == "M0 0L1 0L1 1Z"
    (group,) = root.iter(f"{SVG}g")
    assert group.get("clip-path") == "url(#leg)"
    assert [one.tag for one in group] == [f"{SVG}circle"]
