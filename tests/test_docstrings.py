"""The public names of the core tell units, shapes and errors, and show an example."""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

from gaiter.files.schema import DOCUMENTS, schema_json

CORE = Path(__file__).parents[1] / "src" / "gaiter" / "core"
_PROPERTIES = {"property", "cached_property"}

# Without an example, its own or a line of its class's. The list only grows shorter: what has one
# is taken off, and nothing new is put on. Whole plans and drawings of them take seconds; those
# are shown in docs/ instead.
WITHOUT_EXAMPLE: frozenset[str] = frozenset(
    {
        "applied/judge:applied_pressure",
        "applied/redo:redo",
        "applied/sampled:sampled_after",
        "draw/mesh:leg_mesh",
        "draw/mesh:strip_mesh",
        "draw/profile:applied_profile",
        "plan/alternatives:alternatives",
        "plan/assemble:DesignedSystem.extra_wool_cm",
        "plan/assemble:DesignedSystem.pads_mm",
        "plan/assemble:DesignedSystem.wound_cm",
        "plan/assemble:system_plan",
        "plan/bench:Adjusted.design",
        "plan/bench:Adjusted.with_warnings",
        "plan/bench:Bench.adjusted",
        "plan/bench:Bench.today",
        "plan/design:Design.spread_from",
        "plan/document:CaseLabel.of",
        "plan/document:Fabric.curve",
        "plan/document:LegPlan.headline_words",
        "plan/document:Plan.remainder_of",
        "plan/document:Profile.of",
        "plan/document:Rise.name",
        "plan/document:SystemPlan.spread_words",
        "plan/hands:calibration_in_words",
        "plan/hands:spread_inputs",
        "plan/hands:what_habits_change",
        "plan/planner:bench_of",
        "plan/planner:plan",
        "plan/skin_map:likely_skin_map",
        "plan/skin_map:skin_map",
        "plan/suitability:Patient.asks_for_inelastic",
        "plan/suitability:Patient.exudate",
        "plan/suitability:Patient.friable",
        "plan/suitability:Patient.inelastic_only",
        "plan/suitability:Patient.poor_arteries",
        "plan/suitability:arguments",
        "plan/suitability:balance",
        "plan/suitability:change_days",
        "plan/suitability:regular_change_days",
        "plan/suitability:steep_argument",
        "plan/system_catalogue:BandageCatalogue.systems_for",
        "plan/system_catalogue:BandageCatalogue.titles",
        "plan/system_catalogue:changed_by",
        "plan/system_catalogue:with_systems",
        "plan/system_checks:faults_of",
        "plan/system_list:ListedLayer.recipe",
        "plan/system_list:ListedLayer.used_on",
        "plan/system_list:ListedSystem.builds",
        "plan/system_list:ListedSystem.on_ankle",
        "plan/system_list:SystemList.label",
        "plan/system_on_leg:LegTask.bandager",
        "plan/system_on_leg:LegTask.leg",
        "plan/system_on_leg:changed",
        "plan/system_on_leg:computed",
        "plan/systems:from_stock",
        "plan/systems:materials_of",
        "safety/decision:LegDecision.overridable",
        "safety/decision:LegDecision.said",
        "safety/decision:LegDecision.stops",
        "spread/compiled:cell_block",
        "spread/compiled:disc_block",
        "spread/sums:load",
    }
)

# Without a section that tells their parameters, or what they return.
WITHOUT_SECTIONS: frozenset[str] = frozenset(
    {
        "plan/assemble:DesignedSystem.extra_wool_cm",
        "plan/assemble:DesignedSystem.pads_mm",
        "plan/assemble:DesignedSystem.wound_cm",
        "plan/assemble:system_plan",
        "plan/bench:Adjusted.design",
        "plan/bench:Adjusted.with_warnings",
        "plan/bench:Bench.today",
        "plan/document:CaseLabel.of",
        "plan/document:Fabric.curve",
        "plan/document:LegPlan.headline_words",
        "plan/document:Plan.remainder_of",
        "plan/document:Profile.of",
        "plan/document:Rise.name",
        "plan/document:SystemPlan.spread_words",
        "plan/hands:calibration_in_words",
        "plan/hands:habit_in_words",
        "plan/hands:spread_inputs",
        "plan/hands:what_habits_change",
        "plan/planner:bench_of",
        "plan/skin_map:likely_skin_map",
        "plan/suitability:Patient.asks_for_inelastic",
        "plan/suitability:Patient.exudate",
        "plan/suitability:Patient.friable",
        "plan/suitability:Patient.inelastic_only",
        "plan/suitability:Patient.poor_arteries",
        "plan/suitability:arguments",
        "plan/suitability:balance",
        "plan/suitability:change_days",
        "plan/suitability:regular_change_days",
        "plan/suitability:steep_argument",
        "plan/system_catalogue:BandageCatalogue.systems_for",
        "plan/system_catalogue:BandageCatalogue.titles",
        "plan/system_catalogue:with_systems",
        "plan/system_list:ListedLayer.recipe",
        "plan/system_list:ListedLayer.used_on",
        "plan/system_list:ListedSystem.builds",
        "plan/system_list:ListedSystem.on_ankle",
        "plan/system_list:SystemList.label",
        "plan/system_on_leg:LegTask.bandager",
        "plan/system_on_leg:LegTask.leg",
        "plan/system_on_leg:changed",
        "plan/system_on_leg:computed",
        "plan/systems:from_stock",
        "plan/systems:materials_of",
        "spread/compiled:cell_block",
        "spread/compiled:disc_block",
    }
)

CLASSES_WITHOUT_EXAMPLE: frozenset[str] = frozenset(
    {
        "plan/assemble:DesignedSystem",
        "plan/bench:Adjusted",
        "plan/bench:Bench",
        "plan/bench:LegBench",
        "plan/skin_map:SkinMap",
        "plan/suitability:Argument",
        "plan/suitability:Patient",
        "plan/system_catalogue:SystemsError",
        "plan/system_on_leg:LegTask",
        "plan/system_on_leg:SystemOnLeg",
        "plan/systems:LayerRecipe",
        "plan/systems:System",
        "safety/arterial:ArterialNumbers",
        "words:Said",
        "words:Several",
    }
)

# Records and enums show none: their words stand in the JSON Schema of a document.
_IN_A_SCHEMA = {"BaseModel", "Record", "StrEnum"}


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


def difference(found: set[str], listed: frozenset[str], what: str) -> str:
    new, gone = sorted(found - listed), sorted(listed - found)
    words = [f"{name}: {what}" for name in new]
    return "\n".join([*words, *(f"{name}: has it now, take it off the list" for name in gone)])


def test_every_public_function_shows_an_example() -> None:
    found = {one.name for one in functions() if not one.has_example}
    assert not difference(found, WITHOUT_EXAMPLE, "show an example, best one to check by hand")


def test_every_public_function_tells_its_parameters_and_what_it_returns() -> None:
    found = set()
    for one in functions():
        gives = one.has("Returns") or one.has("Yields") or not one.returns
        takes = one.has("Parameters") or not one.takes
        if not (gives and takes):
            found.add(one.name)
    assert not difference(found, WITHOUT_SECTIONS, "tell Parameters and Returns with their units")


def test_every_error_that_a_function_raises_is_told() -> None:
    silent = [one.name for one in functions() if one.raises and not one.has("Raises")]
    assert not silent


def test_every_public_class_that_is_no_record_shows_an_example() -> None:
    of_records, without = set(_IN_A_SCHEMA), set()
    # A record may be made of one that stands in a later file.
    for _again in range(3):
        for name, node in classes():
            if of_records & {ast.unparse(base) for base in node.bases}:
                of_records.add(node.name)
            elif ">>>" not in (ast.get_docstring(node) or ""):
                without.add(name)
        without = {name for name in without if name.rpartition(":")[2] not in of_records}
    assert not difference(without, CLASSES_WITHOUT_EXAMPLE, "show an example")


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
