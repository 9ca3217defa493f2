"""Every field of a case as its record declares it: for a template and for the documentation."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from gaiter.core.case import Case, SafetyCase
from gaiter.core.problems import allowed_values, node_at
from gaiter.files.catalogue_file import shipped_catalogue

MATERIAL = "<material>"
# Tables whose keys are anybody's choice, and what stands for a key.
_KEYS: Mapping[str, str] = {
    "legs": "right",
    "stock": MATERIAL,
    "bandager.habits": MATERIAL,
    "bandager.habits.<material>.heights": "ankle",
    "calibration.systems": "<system>",
    "calibration.sites": "ankle",
}
# What a rule of the record requires that no schema can say.
_REQUIRED_UNLESS: Mapping[str, str] = {
    "legs.right.girth_cm.metatarsal_heads": "findings.forefoot_amputation = true",
}


@dataclass(frozen=True)
class CaseField:
    """One field of a case.

    Attributes
    ----------
    table : str
        Dotted path of its table; empty at the top.
    name : str
        Its key.
    about : str
        What it means, without the unit.
    allowed : str
        Range with unit, or the values that are taken, as they are written in TOML.
    required : bool
        Whether its table is of no use without it.
    unless : str
        What makes it not required after all.
    """

    table: str
    name: str
    about: str
    allowed: str
    required: bool
    unless: str = ""

    @property
    def path(self) -> str:
        """Dotted path."""
        return f"{self.table}.{self.name}" if self.table else self.name


@dataclass(frozen=True)
class CaseTable:
    """One table of a case.

    Attributes
    ----------
    path : str
        Dotted; empty for the top.
    about : str
        What it holds.
    fields : tuple[CaseField, ...]
        In the order of the record.
    required : bool
        Whether a case needs it.
    repeats : bool
        Whether there may be several, in double brackets.
    may_stand_empty : bool
        Whether a decision takes its heading with nothing under it.
    """

    path: str
    about: str
    fields: tuple[CaseField, ...]
    required: bool
    repeats: bool
    may_stand_empty: bool

    @property
    def heading(self) -> str:
        """As it is written in TOML."""
        return f"[[{self.path}]]" if self.repeats else f"[{self.path}]"


@cache
def case_tables() -> tuple[CaseTable, ...]:
    """Every table of a case, for one leg; the other leg's are alike."""
    schema = Case.model_json_schema(by_alias=True)
    return tuple(_tables(schema, [], "", required=True, repeats=False))


def required_paths() -> tuple[str, ...]:
    """Dotted paths of what every case must hold."""
    return tuple(
        field.path
        for table in case_tables()
        if table.required
        for field in table.fields
        if field.required
    )


def _tables(
    schema: Mapping[str, Any], place: list[str], shown: str, *, required: bool, repeats: bool
) -> Iterator[CaseTable]:
    node = node_at(schema, place)
    within = set(node.get("required", ()))
    fields, below = [], []
    for name in node["properties"]:
        inner = node_at(schema, [*place, name])
        path = f"{shown}.{name}" if shown else name
        if _is_table(schema, [*place, name]):
            needed = required and name in within
            below.append(([*place, name], path, needed, False))
        elif path in _KEYS:
            needed = required and name in within
            below.append(([*place, name, _KEYS[path]], f"{path}.{_KEYS[path]}", needed, False))
        elif inner.get("type") == "array" and _is_table(schema, [*place, name, "0"]):
            below.append(([*place, name, "0"], path, False, True))
        else:
            fields.append(_field(schema, [*place, name], shown, name in within))
    empty = not node_at(_decision_schema(), place).get("required")
    yield CaseTable(shown, _first_sentence(node), tuple(fields), required, repeats, empty)
    for inside, path, needed, several in below:
        yield from _tables(schema, inside, path, required=needed, repeats=several)


@cache
def _decision_schema() -> Mapping[str, Any]:
    return SafetyCase.model_json_schema(by_alias=True)


def _is_table(schema: Mapping[str, Any], place: list[str]) -> bool:
    return "properties" in node_at(schema, place)


def _field(schema: Mapping[str, Any], place: list[str], table: str, required: bool) -> CaseField:
    node = node_at(schema, place)
    about = str(node.get("description", "")).removesuffix(f" [{node.get('unit', '')}]")
    allowed = allowed_values(node)
    if node.get("type") == "array":
        inner = node_at(schema, [*place, "0"])
        about = about.removesuffix(f" [{inner.get('unit', '')}]") or _first_sentence(inner)
        allowed = f"a list in [ ] of: {allowed_values(inner)}"
    name = place[-1]
    unless = _REQUIRED_UNLESS.get(f"{table}.{name}", "")
    about = about.split("\n")[0].removesuffix(".")
    return CaseField(table, name, about, allowed, required or bool(unless), unless)


def _first_sentence(node: Mapping[str, Any]) -> str:
    return str(node.get("description", "")).split("\n")[0]


def materials() -> tuple[str, ...]:
    """Keys that stand for ``<material>``."""
    return tuple(shipped_catalogue().materials)
