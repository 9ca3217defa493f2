"""A drawing is lettered in the font that it names, not in whatever a browser falls back to."""

import base64
from pathlib import Path

import pytest

import gaiter.data
from gaiter.core.draw.svg import Drawing

pytestmark = pytest.mark.long

FONT = Path(gaiter.data.__path__[0]) / "fonts/SourceSans3-Regular.woff2"


def test_a_drawing_is_lettered_in_its_font(chromium) -> None:
    drawing = Drawing(100, 20, "Words", "One line of words.")
    drawing.text(0, 12, "gaiter 23 mmHg")
    source = f"data:font/woff2;base64,{base64.b64encode(FONT.read_bytes()).decode()}"
    face = f'@font-face {{ font-family: "Source Sans 3"; src: url("{source}"); }}'
    page = chromium.new_page()
    page.set_content(f"<style>{face}</style>{drawing.to_text()}")
    page.evaluate("document.fonts.ready.then(() => null)")
    browser = page.context.new_cdp_session(page)
    browser.send("DOM.enable")
    browser.send("CSS.enable")
    root = browser.send("DOM.getDocument")["root"]["nodeId"]
    found = browser.send("DOM.querySelector", {"nodeId": root, "selector": "svg text"})
    used = browser.send("CSS.getPlatformFontsForNode", {"nodeId": found["nodeId"]})["fonts"]
    page.close()
    assert [(font["postScriptName"], font["isCustomFont"]) for font in used] == [
        ("SourceSans3-Regular", True)
    ]
