"""The public names of the core tell units, shapes and errors, and show an example."""

import ast
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

from gaiter.files.schema import DOCUMENTS, schema_json

CORE = Path(__file__).parents[1] / "src" / "gaiter" / "core"
_PROPERTIES = {"property", "cached_property"}

# They load the compiler (seconds, and from then on every sum of the process is compiled). Their
# plain twins in spread/reference show an example; tests/core/spread/test_sums.py holds them equal.
NO_EXAMPLE = {
    "spread/compiled:cell_block",
    "spread/compiled:disc_block",
    "spread/sums:load",
}

_RECORDS = {"BaseModel", "Record", "StrEnum"}


@dataclass(frozen=True)
class Public:
    """A public function, method or property of the core."""

    name: str
    node: ast.FunctionDef
    doc: str
    class_doc: str

    @property
    def is_property(self) -> bool:
        names = {ast.unparse(one).rpartition(".")[2] for one in self.node.decorator_list}
        return bool(names & _PROPERTIES)

    @property
    def takes(self) -> bool:
        arguments = self.node.args
        named = [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs]
        return any(one.arg not in ("self", "cls") for one in named)

    @property
    def returns(self) -> bool:
        return self.node.returns is not None and ast.unparse(self.node.returns) != "None"

    @property
    def raises(self) -> bool:
        return any(isinstance(one, ast.Raise) for one in ast.walk(self.node))

    @property
    def has_example(self) -> bool:
        shown = [line for line in self.class_doc.splitlines() if line.lstrip().startswith(">>>")]
        member = self.name.rpartition(".")[2]
        named = re.compile(rf"\.{member}\b")
        return ">>>" in self.doc or any(named.search(line) for line in shown)

    def has(self, section: str) -> bool:
        return f"{section}\n{'-' * len(section)}\n" in self.doc


@cache
def modules() -> list[tuple[str, ast.Module]]:
    return [
        (path.relative_to(CORE).with_suffix("").as_posix(), ast.parse(path.read_text("utf-8")))
        for path in sorted(CORE.rglob("*.py"))
    ]


def classes() -> Iterator[tuple[str, ast.ClassDef]]:
    for module, tree in modules():
        for node in tree.body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                yield f"{module}:{node.name}", node


def functions() -> list[Public]:
    found = []
    for module, tree in modules():
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                name = f"{module}:{node.name}"
                found.append(Public(name, node, ast.get_docstring(node) or "", ""))
    for name, owner in classes():
        for node in owner.body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                doc, of_class = ast.get_docstring(node) or "", ast.get_docstring(owner) or ""
                found.append(Public(f"{name}.{node.name}", node, doc, of_class))
    return found


def test_every_public_function_shows_an_example() -> None:
    assert {one.name for one in functions() if not one.has_example} == NO_EXAMPLE


def test_every_public_function_tells_its_parameters_and_what_it_returns() -> None:
    silent = []
    for one in functions():
        gives = one.has("Returns") or one.has("Yields") or not one.returns
        takes = one.has("Parameters") or not one.takes
        if not (gives and takes):
            silent.append(one.name)
    assert not silent


def test_every_error_that_a_function_raises_is_told() -> None:
    silent = [one.name for one in functions() if one.raises and not one.has("Raises")]
    assert not silent


def of_records() -> set[str]:
    """Records and enums, by their own name; one may be made of one that stands in a later file."""
    found, before = set(_RECORDS), 0
    while len(found) > before:
        before = len(found)
        found |= {
            node.name for _, node in classes() if found & {ast.unparse(base) for base in node.bases}
        }
    return found


def test_every_public_class_that_is_no_record_shows_an_example() -> None:
    """One whose own words stand in the JSON Schema of a document shows it at its members."""
    parts = {part for name in DOCUMENTS for part in json.loads(schema_json(name))["$defs"]}
    at_members = {one.name.rpartition(".")[0] for one in functions() if ">>>" in one.doc}
    records = of_records()
    without = [
        name
        for name, node in classes()
        if node.name not in records and ">>>" not in (ast.get_docstring(node) or "")
        if not (node.name in parts and name in at_members)
    ]
    assert not without


def test_no_example_stands_in_the_json_schema_of_a_document() -> None:
    with_one = [name for name in DOCUMENTS if ">>>" in schema_json(name)]
    assert not with_one


def test_sections_stand_in_the_usual_order() -> None:
    """Parameters, Returns, Raises, Notes, References, Examples, as numpydoc has them."""
    order = ["Parameters", "Returns", "Raises", "Notes", "References", "Examples"]
    wrong = []
    for one in functions():
        lines = one.doc.splitlines()
        found = [
            line for line, under in pairwise(lines) if line in order and under == "-" * len(line)
        ]
        if found != sorted(found, key=order.index) or len(found) != len(set(found)):
            wrong.append(f"{one.name}: {found}")
    assert not wrong
