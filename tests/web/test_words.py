"""Every word of a page goes through translation."""

import re
from pathlib import Path

import pytest

import gaiter.web.frame

TEMPLATES = Path(gaiter.web.frame.__file__).parent / "templates"
# Units, the program's name and names of formats are the same in every language.
SAME_EVERYWHERE = {
    "cm", "mm", "mmHg", "kPa", "hPa", "cmH", "ms", "min", "Gaiter", "SHA", "heron", "ford", "demo",
}  # fmt: skip


@pytest.mark.parametrize("path", sorted(TEMPLATES.rglob("*.html")), ids=lambda p: p.stem)
def test_no_word_of_a_page_stands_outside_translation(path: Path) -> None:
    text = re.sub(r"{% blocktrans.*?{% endblocktrans %}", "", path.read_text(), flags=re.S)
    text = re.sub(r"{% block body_class %}.*?{% endblock %}", "", text)
    text = re.sub(r"{%.*?%}|{{.*?}}", " ", text)
    spoken = re.findall(r'(?:aria-label|placeholder|alt|title)="([^"]*)"', text)
    bare = " ".join([re.sub(r"<[^>]*>", " ", text), *spoken])
    words = set(re.findall(r"[A-Za-z]{2,}", bare)) - SAME_EVERYWHERE
    assert words == set()
