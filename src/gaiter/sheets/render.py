"""Sets the sheet in type: template, vendored fonts, tagged PDF."""

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typst

if TYPE_CHECKING:
    from typst import PDFStandard

_DATA = Path(str(resources.files("gaiter.data")))
_TEMPLATES, _FONTS = _DATA / "sheets", _DATA / "fonts"


@cache
def _compiler(template: str) -> typst.Compiler:
    """One compiler and one set of fonts for the process: loading fonts takes longest."""
    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[_FONTS]
    )
    return typst.Compiler(_TEMPLATES / template, root=_TEMPLATES, font_paths=fonts)


def rendered_pdf(
    template: str, content: Mapping[str, Any], drawings: Mapping[str, str], on: date | None
) -> bytes:
    """The template filled with content, as a tagged PDF; the same input gives the same bytes.

    Parameters
    ----------
    template : str
        File name of the template.
    content : Mapping
        JSON-like content; it reaches the template as data, never as code.
    drawings : Mapping[str, str]
        SVG documents by name.
    on : date or None
        Date put into the PDF; a sheet that belongs to no day has a fixed one.

    Returns
    -------
    bytes
    """
    inputs = {"content": json.dumps(content, ensure_ascii=False)}
    inputs |= {f"svg-{name}": svg for name, svg in drawings.items()}
    day = on or date(2026, 1, 1)
    on_day = datetime(day.year, day.month, day.day, tzinfo=UTC)
    try:
        return _compiled(template, inputs, on_day, ["ua-1"])
    except typst.TypstError as error:
        # A letter that the vendored font lacks may not stand in a PDF/UA file; the sheet is
        # then tagged all the same and shows a box for that letter.
        if "could not be displayed with font" not in str(error):
            raise
        return _compiled(template, inputs, on_day, [])


def _compiled(
    template: str, inputs: dict[str, str], on: datetime, standards: list["PDFStandard"]
) -> bytes:
    pdf = _compiler(template).compile(
        format="pdf", sys_inputs=inputs, pdf_standards=standards, timestamp=on
    )
    assert isinstance(pdf, bytes)  # one output format, no output path
    return pdf
