"""Writes every template that is said, for a catalogue: ``python scripts/templates.py gaiter.pot``.

What pages and papers say themselves is collected by ``manage.py makemessages``; this collects the
rest: the templates of ``Said`` in the program's text, the rules, the words of the case and of the
check, and what the shipped catalogue, systems and policy hold.
"""

import ast
import importlib
import inspect
import pkgutil
import sys
from calendar import month_abbr
from collections.abc import Iterable, Iterator
from enum import StrEnum
from itertools import combinations
from pathlib import Path
from types import ModuleType
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

import gaiter.core
from gaiter.core import case
from gaiter.core.check import CHECK_BOXES, words
from gaiter.core.landmark import LEG_SITES, Landmark
from gaiter.core.leg.body_model import BONY_PLACES
from gaiter.core.leg.places import place_names
from gaiter.core.plan.alternatives import KINDS
from gaiter.core.plan.pressures import Rise
from gaiter.core.policy import BOUNDS
from gaiter.core.safety import RULES, label_of, screen_paths
from gaiter.core.words import AND, COMMA, OR, SEMICOLON, THEN
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from gaiter.records.visit.boxes import SECTIONS, boxes
from gaiter.sheets import content

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "src/gaiter"
# Calls whose first argument is a template, or a row of them.
_SAYS = frozenset({"Said", "words", "InputError"})


def templates_in(text: str) -> Iterator[str]:
    r"""Every template that a module's text says, in its order.

    A template may be a literal, one of two, or a constant of the module: a text, a tuple or a
    dictionary of texts.

    Examples
    --------
    >>> list(templates_in('_WORST = "worst: {place}"\nSaid(_WORST if bad else "good", values)'))
    ['worst: {place}', 'good']
    """
    tree = ast.parse(text)
    constants = {
        target.id: node.value
        for node in tree.body
        if isinstance(node, ast.Assign)
        for target_group in node.targets
        for target in ast.walk(target_group)
        if isinstance(target, ast.Name)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in _SAYS and node.args:
            yield from _texts(node.args[0], constants)


def _texts(node: ast.expr, constants: dict[str, ast.expr]) -> Iterator[str]:
    """Texts that an expression may have as its value."""
    match node:
        case ast.Constant(value=str() as text):
            yield text
        case ast.IfExp(body=one, orelse=other):
            yield from (*_texts(one, constants), *_texts(other, constants))
        case ast.Name(id=name) if name in constants:
            yield from _texts(constants[name], {})
        case ast.Subscript(value=row) | ast.Starred(value=row):
            yield from _texts(row, constants)
        case ast.ListComp(elt=one) | ast.GeneratorExp(elt=one):
            yield from _texts(one, constants)
        case ast.Dict(values=row) | ast.Tuple(elts=row) | ast.List(elts=row):
            for part in row:
                yield from _texts(part, constants)


def all_templates() -> tuple[str, ...]:
    """Every template once, in alphabetical order."""
    found = {
        text for path in SOURCE.rglob("*.py") for text in templates_in(path.read_text("utf-8"))
    }
    found |= {COMMA, SEMICOLON, AND, OR, THEN}
    for collect in (
        _rules,
        _words_of_the_case,
        _boxes,
        _check,
        _places,
        _materials,
        _systems,
        _policy,
    ):
        found |= set(collect())
    found |= {*content.REMINDERS, *month_abbr}
    return tuple(sorted(filter(None, found)))


def _rules() -> Iterator[str]:
    for rule in RULES.values():
        yield from (rule.text, rule.source, rule.strength, rule.disagreement or "", rule.danger)
        # All before the first colon is told alone where only the matter is named.
        yield rule.text.split(": ")[0]


def _words_of_the_case() -> Iterator[str]:
    """Answers and questions: enumerations of the core, literals and labels of the case."""
    for module in _core_modules():
        for _name, kind in inspect.getmembers(module, inspect.isclass):
            if issubclass(kind, StrEnum) and kind is not StrEnum:
                yield from (one.value for one in kind)
            if issubclass(kind, BaseModel) and kind.__module__.startswith(case.__name__):
                for field in kind.model_fields.values():
                    yield from _literals(field.annotation)
    yield from map(label_of, screen_paths())


def _boxes() -> Iterator[str]:
    for box in boxes().values():
        yield from (box.label, box.unit, *box.choices)
    for section in SECTIONS:
        yield from (section.title, section.hint)
        for group in section.groups:
            yield from (group.title, group.hint)


def _core_modules() -> Iterator[ModuleType]:
    for found in pkgutil.walk_packages(gaiter.core.__path__, "gaiter.core."):
        yield importlib.import_module(found.name)


def _literals(annotation: Any) -> Iterator[str]:
    if get_origin(annotation) is Literal:
        yield from (value for value in get_args(annotation) if isinstance(value, str))
        return
    for part in get_args(annotation):
        yield from _literals(part)


def _check() -> Iterator[str]:
    for box in CHECK_BOXES.values():
        yield from (box.label, *box.answers)
    for name, held in vars(words).items():
        if name.isupper():
            yield from (held,) if isinstance(held, str) else filter(_is_text, held)


def _is_text(value: object) -> bool:
    return isinstance(value, str)


def _places() -> Iterator[str]:
    yield from (landmark.label for landmark in Landmark)
    yield from place_names()
    yield from (place.name for place in BONY_PLACES)
    for lower, upper in combinations(LEG_SITES, 2):
        rise = Rise(lower=lower, upper=upper, lower_mmhg=1, upper_mmhg=2, percent=100)
        yield rise.name


def _materials() -> Iterator[str]:
    for key, material in shipped_catalogue().materials.items():
        yield from (material.title, material.title.lower(), material.note)
        yield from (key, key.replace("_", " "))


def _systems() -> Iterator[str]:
    for name, system in shipped_catalogue().systems.items():
        yield from (system.title, system.title.lower(), name.replace("_", " "))
        yield from (layer.note for layer in system.layers)
        for reason in (*system.reasons_for, *system.reasons_against):
            yield from (reason.text, reason.source)
    yield from (kind.title for kind in KINDS)


def _policy() -> Iterator[str]:
    policy = shipped_policy()
    for bound in BOUNDS.values():
        yield bound.unit
    for name, value in policy.values.items():
        yield from (name.replace("_", " "), value.source, value.strength)
    for section in ("targets", "site_share", "hands"):
        yield section.replace("_", " ")
        yield from (entry.source for entry in getattr(policy, section).values())


def pot(templates: Iterable[str]) -> str:
    r"""A gettext template file.

    Examples
    --------
    >>> print(pot(['{n} "turns"']).splitlines()[-2])
    msgid "{n} \"turns\""
    """
    head = 'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=UTF-8\\n"\n'
    entries = (f'#, python-brace-format\nmsgid {_quoted(text)}\nmsgstr ""\n' for text in templates)
    return "\n".join((head, *entries))


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'


def main() -> None:
    """Writes the file."""
    if len(sys.argv) != 2:
        raise SystemExit("give one file to write, such as gaiter.pot")
    Path(sys.argv[1]).write_text(pot(all_templates()), encoding="utf-8")


if __name__ == "__main__":
    main()
