"""Every word of a page goes through translation."""

import re
from pathlib import Path

import pytest

import gaiter.web

WEB = Path(gaiter.web.__file__).parent
TEMPLATES = sorted(WEB.glob("*/templates/*/*.html"))
# Units, the program's name and names of formats are the same in every language.
SAME_EVERYWHERE = {
    "cm", "mm", "mmHg", "kPa", "hPa", "cmH", "ms", "min", "Gaiter", "SHA", "heron", "ford", "demo",
}  # fmt: skip


def test_the_pages_of_every_feature_are_read() -> None:
    assert {path.parent.name for path in TEMPLATES} == {
        folder.parent.name for folder in WEB.glob("*/templates")
    }


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_no_word_of_a_page_stands_outside_translation(path: Path) -> None:
    text = re.sub(r"{% blocktrans.*?{% endblocktrans %}", "", path.read_text(), flags=re.S)
    text = re.sub(r"{% block body_class %}.*?{% endblock %}", "", text)
    text = re.sub(r"{%.*?%}|{{.*?}}", " ", text)
    spoken = re.findall(r'(?:aria-label|placeholder|alt|title)="([^"]*)"', text)
    bare = " ".join([re.sub(r"<[^>]*>", " ", text), *spoken])
    words = set(re.findall(r"[A-Za-z]{2,}", bare)) - SAME_EVERYWHERE
    assert words == set()
