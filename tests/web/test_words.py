"""Every word of a page goes through translation."""

import ast
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


MODULES = sorted(WEB.rglob("*.py"))


def english_of_errors(text: str) -> list[str]:
    """Names of what was caught, or is called an error, and is shown as its English sentence."""
    tree = ast.parse(text)
    caught = {"error"} | {
        node.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ExceptHandler) and node.name is not None
    }
    shown: list[ast.expr] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "str":
            shown += node.args
        elif isinstance(node, ast.FormattedValue):
            shown.append(node.value)
    return [node.id for node in shown if isinstance(node, ast.Name) and node.id in caught]


def test_an_error_shown_in_english_is_found() -> None:
    text = 'try:\n    f()\nexcept E as refusal:\n    show(str(refusal), f"{refusal}", str(3))'
    assert english_of_errors(text) == ["refusal", "refusal"]


@pytest.mark.parametrize("path", MODULES, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_no_page_shows_the_english_sentence_of_an_error(path: Path) -> None:
    assert english_of_errors(path.read_text()) == []
