"""Templates: one tag a line, and each page gets exactly the fields that its template shows."""

import ast
import re
from collections.abc import Iterator
from dataclasses import fields
from importlib import import_module
from pathlib import Path

import pytest
from django.template import engines, library
from django.template.base import (
    FilterExpression,
    Node,
    NodeList,
    TextNode,
    TokenType,
    Variable,
    VariableNode,
)
from django.template.defaulttags import (
    CsrfTokenNode,
    FirstOfNode,
    ForNode,
    IfNode,
    TemplateLiteral,
    URLNode,
    WithNode,
)
from django.template.loader_tags import BlockNode, ExtendsNode, IncludeNode
from django.templatetags.i18n import BlockTranslateNode, TranslateNode
from django.templatetags.static import StaticNode
from django.test import RequestFactory

import gaiter.web
from gaiter.web.frame.context import site
from gaiter.web.frame.page import Page
from gaiter.web.frame.templatetags.gaiter_table import LAYOUT, TableNode
from tests.template_fields import ASKED_IN_VAIN

WEB = Path(gaiter.web.__file__).parent
TEMPLATES = sorted(WEB.glob("*/templates/*/*.html"))
# Elements that stand on a line of their own; what runs in a sentence does not.
_BLOCKS = (
    "article|aside|body|dd|details|div|dl|dt|fieldset|figcaption|figure|footer|form|h[1-6]|head|header|"
    "label|legend|li|main|nav|ol|option|p|section|select|summary|table|tbody|td|th|thead|tr|ul"
)


def name_of(path: Path) -> str:
    return f"{path.parent.name}/{path.name}"


@pytest.mark.parametrize("path", TEMPLATES, ids=name_of)
def test_a_template_has_one_tag_a_line(path: Path) -> None:
    for number, line in enumerate(path.read_text().split("\n"), 1):
        where = f"{name_of(path)}:{number}: {line}"
        assert len(line) <= 120, where
        assert line == line.rstrip(), where
        assert (len(line) - len(line.lstrip())) % 2 == 0, where
        assert len(re.findall(rf"<(?:{_BLOCKS})[\s>]", line)) <= 1, where


# Tags that other lines stand inside of.
_OPENS = re.compile(r" *{% (if|for|with|block|blocktrans|table)\b")
_CLOSES = re.compile(r" *{% end(if|for|with|block|blocktrans|table)\b")


@pytest.mark.parametrize("path", TEMPLATES, ids=name_of)
def test_no_line_stands_left_of_the_tag_it_is_inside_of(path: Path) -> None:
    inside: list[int] = []
    for number, line in enumerate(path.read_text().splitlines(), 1):
        indent = len(line) - len(line.lstrip())
        where = f"{name_of(path)}:{number}: {line}"
        if closed := _CLOSES.match(line):
            assert indent == inside.pop(), where
        elif line.strip():
            assert not inside or indent >= inside[-1], where
        opened = _OPENS.match(line)
        if opened and not closed and f"{{% end{opened[1]}" not in line:
            inside.append(indent)
    assert not inside


# What every template knows: the frame's own context, and what the framework adds.
_REQUEST = RequestFactory().get("/")
EVERYWHERE = {*site(_REQUEST), "request", "messages", "csrf_token", "True", "False", "None"}


def pages() -> list[type[Page]]:
    for path in WEB.glob("*/*.py"):
        import_module(f"gaiter.web.{path.parent.name}.{path.stem}")

    def below(kind: type[Page]) -> Iterator[type[Page]]:
        for each in kind.__subclasses__():
            yield each
            yield from below(each)

    return sorted(set(below(Page)), key=lambda kind: kind.template)


PAGES = pages()


def of_variable(variable: object) -> set[str]:
    """The name that a variable starts with; none where it is written out."""
    if isinstance(variable, Variable) and variable.lookups:
        return {variable.lookups[0]}
    return set()


def of_expression(expression: FilterExpression) -> set[str]:
    found = of_variable(expression.var)
    for _filter, given in expression.filters:
        for is_variable, value in given:
            found |= of_variable(value) if is_variable else set()
    return found


def of_condition(condition: object) -> set[str]:
    if condition is None:
        return set()
    if isinstance(condition, TemplateLiteral):
        return of_expression(condition.value)
    return of_condition(condition.first) | of_condition(getattr(condition, "second", None))


def of_all(expressions) -> set[str]:
    return set().union(*(of_expression(each) for each in expressions))


class Names:
    """The names a template asks of its context, across what it extends and includes."""

    def __init__(self, name: str) -> None:
        self.blocks: dict[str, BlockNode] = {}
        self.asked = self.of(self.nodes(name), set())

    @staticmethod
    def nodes(name: str) -> NodeList:
        return engines["django"].get_template(name).template.nodelist

    def of(self, nodes: NodeList, bound: set[str]) -> set[str]:
        """Names asked by some nodes in a row; what one of them names, the next ones know."""
        bound = set(bound)
        found = set()
        for node in nodes:
            asked, named = self.of_one(node, bound)
            found |= asked - bound
            bound |= named
        return found

    def of_one(  # noqa: PLR0911, PLR0912 # one kind of node a case
        self, node: Node, bound: set[str]
    ) -> tuple[set[str], set[str]]:
        """Names that one node asks, and those that it gives to the nodes after it."""
        match node:
            case TextNode() | CsrfTokenNode():
                return set(), set()
            case VariableNode():
                return of_expression(node.filter_expression), set()
            case StaticNode():
                return of_expression(node.path), set()
            case URLNode():
                return of_all([*node.args, *node.kwargs.values()]), {node.asvar} - {None}
            case FirstOfNode():
                return of_all(node.vars), {node.asvar} - {None}
            case TranslateNode():
                return of_expression(node.filter_expression), {node.asvar} - {None}
            case library.SimpleNode():
                return of_all([*node.args, *node.kwargs.values()]), {node.target_var} - {None}
            case BlockTranslateNode():
                return self.of_translation(node), {node.asvar} - {None}
            case IfNode():
                asked = set()
                for condition, inside in node.conditions_nodelists:
                    asked |= of_condition(condition) | self.of(inside, bound)
                return asked, set()
            case ForNode():
                inside = bound | {*node.loopvars, "forloop"}
                asked = of_expression(node.sequence) | self.of(node.nodelist_empty, bound)
                return asked | self.of(node.nodelist_loop, inside), set()
            case WithNode():
                given = node.extra_context
                return of_all(given.values()) | self.of(node.nodelist, bound | {*given}), set()
            case TableNode():
                inside = self.of(node.head, bound) | self.of(node.rows, bound)
                return of_all(node.given) | inside, set()
            case IncludeNode():
                given = node.extra_context
                inside = self.of(self.nodes(node.template.var), bound | {*given})
                return of_all(given.values()) | inside, set()
            case BlockNode():
                return self.of(self.blocks.get(node.name, node).nodelist, bound), set()
            case ExtendsNode():
                self.blocks |= node.blocks
                return self.of(self.nodes(node.parent_name.var), bound), set()
        raise AssertionError(f"This test does not know {type(node).__name__}: teach it.")

    @staticmethod
    def of_translation(node: BlockTranslateNode) -> set[str]:
        words = [*node.singular, *(node.plural or ())]
        inside = {
            token.contents.split("|")[0].split(".")[0].strip()
            for token in words
            if token.token_type == TokenType.VAR
        }
        given = {*node.extra_context, *([node.countervar] if node.countervar else [])}
        counter = of_expression(node.counter) if node.counter else set()
        return of_all(node.extra_context.values()) | counter | (inside - given)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.__name__)
def test_a_page_gets_exactly_what_its_template_shows(page: type[Page]) -> None:
    given = {field.name for field in fields(page)}
    asked = Names(page.template).asked
    assert asked - given - EVERYWHERE == set(), "the template asks for what the page does not give"
    assert given - asked == set(), "the page gives what its template never shows"


def test_every_template_is_a_page_or_a_piece_of_one() -> None:
    pieces = {LAYOUT}
    for path in TEMPLATES:
        pieces |= set(re.findall(r'{% (?:include|extends) "([^"]+)"', path.read_text()))
    assert {name_of(path) for path in TEMPLATES} == {page.template for page in PAGES} | pieces


def test_views_answer_with_pages_only() -> None:
    """No view hands a template a dictionary of its own: the contract above would not see it."""
    for path in WEB.rglob("*.py"):
        if path == WEB / "frame/page.py":
            continue
        called = {
            node.func.id
            for node in ast.walk(ast.parse(path.read_text()))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        assert "render" not in called, path


class Leg:
    name = "right"
    wound = None


@pytest.mark.parametrize(
    "text",
    [
        "{{ page.leg.nmae }}",
        "{% if page.leg.nmae %}{% endif %}",
        "{% if page.leg.nmae == 3 %}{% endif %}",
        "{% for each in page.leg.nmae %}{% endfor %}",
        "{% with page.leg.nmae as each %}{% endwith %}",
        "{% include 'frame/said.html' with kind='good' words=page.leg.nmae %}",
        "{{ page.leg.wound.size }}",
        "{{ page.sizes.nmae }}",
    ],
)
def test_a_misspelt_field_is_seen_wherever_a_template_asks_it(text: str) -> None:
    engines["django"].from_string(text).render({"page": {"leg": Leg(), "sizes": {}}})
    assert len(ASKED_IN_VAIN) == 1
    ASKED_IN_VAIN.clear()


@pytest.mark.parametrize(
    "text",
    [
        "{{ page.leg.name }}",
        "{% if page.leg.wound.size or page.sizes.small or given %}{% endif %}",
        "{% for each in page.sizes.small %}{% endfor %}",
    ],
)
def test_a_condition_may_ask_what_is_not_known(text: str) -> None:
    engines["django"].from_string(text).render({"page": {"leg": Leg(), "sizes": {}}})
    assert ASKED_IN_VAIN == []
