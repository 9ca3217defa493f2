"""Content reaches the template as data; the same content gives the same tagged bytes."""

import io
from datetime import date

import pypdf
import pytest
import typst

from gaiter.core.landmark import Side
from gaiter.sheets.content import sheet_content
from gaiter.sheets.render import rendered_pdf
from tests.sheets import small_plan as small
from tests.sheets.test_sheet import bars_mm, text_of

EMPTY = '<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10"/>'
NAMES = ("leg", "map", "profile")


def sheet(leg=None, **changes) -> bytes:
    whole = small.plan(legs={Side.RIGHT: leg or small.leg()}, **changes)
    legs = [{**sheet_content(whole, one), "approval": ""} for one in whole.legs.values()]
    drawings = {f"{name}-right": EMPTY for name in NAMES}
    return rendered_pdf("sheet.typ", {"legs": legs}, drawings, whole.today)


def made_on(pdf: bytes) -> date:
    return pypdf.PdfReader(io.BytesIO(pdf)).metadata.creation_date.date()


def test_the_day_in_the_file_is_the_one_that_is_given() -> None:
    assert made_on(rendered_pdf("bench.typ", {}, {}, date(2026, 11, 9))) == date(2026, 11, 9)
    assert made_on(rendered_pdf("bench.typ", {}, {}, None)) == date(2026, 1, 1)


def test_the_same_content_gives_the_same_bytes_and_other_content_others() -> None:
    assert sheet() == sheet()
    assert sheet() != sheet(seed=8)


def test_lengths_on_the_gauge_are_true_to_a_third_of_a_millimetre(tmp_path) -> None:
    """Calibration, marks at 13 and 15 cm, and half of 8 and of 10 cm of width."""
    layer = small.elastic(overlap=0.5)
    leg = small.leg(systems=(small.system(layers=(small.wool(), layer)),))
    found = bars_mm(sheet(leg), 4, tmp_path)
    assert found == pytest.approx([100.0, 130.0, 150.0, 40.0, 50.0], abs=0.3)


def test_the_pages_print_what_the_content_says(tmp_path) -> None:
    first, second, *_rest = text_of(sheet(), tmp_path)
    for said in ("15.0 cm", "13.0 cm", "each turn covers three quarters", "LATEX ALLERGY"):
        assert said in first
    for said in ("31–48", "22.5", "57 %", "static stiffness 18 mmHg", "01234567"):
        assert said in second


def test_a_letter_that_the_font_lacks_is_no_reason_to_print_nothing(tmp_path) -> None:
    label = small.plan().case.model_copy(update={"reference": "Heron \u05d0 ford"})
    pages = text_of(sheet(case=label), tmp_path)
    assert len(pages) == 4
    assert "Heron" in pages[0]


def test_a_fault_of_the_template_is_not_passed_over() -> None:
    with pytest.raises(typst.TypstError):
        rendered_pdf("sheet.typ", {"legs": [{}]}, {}, None)


@pytest.mark.parametrize("label", ["#panic()", "$x$", '"; #sys.inputs', "@ref <b> *bold*"])
def test_content_is_never_run(label, tmp_path) -> None:
    case = small.plan().case.model_copy(update={"reference": label})
    assert label in " ".join(text_of(sheet(case=case), tmp_path))
