"""The boxes of a visit: those of ``gaiter.case/1`` by their own path, and the clinic's few more.

A path of the case is written with ``leg`` for the leg of the visit: ``leg.girth_cm.ankle``.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from functools import cache
from typing import Any

from django.utils.translation import gettext as _

from gaiter.core.case import Case, ClotSigns, LegSign
from gaiter.core.case.caliper import Widths
from gaiter.core.case.leg import KnownPositions
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.problems import node_at, value_problem
from gaiter.core.safety import RULES, Subject, screen_paths
from gaiter.core.units import CM_PER_INCH
from gaiter.core.words import Said
from gaiter.records.typed import number_in, require_writable


class BoxKind(StrEnum):
    """How a box is filled."""

    NUMBER = "number"
    WHOLE = "whole"
    ANSWER = "answer"
    CHOICE = "choice"
    MANY = "many"
    DAY = "day"
    TEXT = "text"


@dataclass(frozen=True)
class Box:
    """One box of the visit page.

    Attributes
    ----------
    path : str
        Where its value belongs.
    label, unit : str
        What stands beside it.
    kind : BoxKind
        How it is filled.
    node : Mapping
        Part of a JSON Schema: range and choices.
    """

    path: str
    label: str
    kind: BoxKind
    node: Mapping[str, Any] = field(repr=False)
    unit: str = ""

    @property
    def choices(self) -> Sequence[str]:
        """Values that may be chosen."""
        node = self.node.get("items", self.node) if self.kind is BoxKind.MANY else self.node
        return [str(value) for value in node.get("enum", ())]

    def parsed(self, text: str | Sequence[str], unit: str = "cm") -> Any:
        """The value that somebody typed; None for an emptied box.

        Parameters
        ----------
        text : str or sequence of str
            What was typed or chosen.
        unit : str
            ``cm`` or ``in``, in which the typist gives lengths.

        Raises
        ------
        InputError
            Saying what is allowed, with its unit, and what was received.
        """
        if self.kind is BoxKind.MANY:
            chosen = [text] if isinstance(text, str) else list(text)
            chosen = [value for value in chosen if value]
            for value in chosen:
                self._require(value in [*self.choices, "none"], value)
            once = dict.fromkeys(value for value in chosen if value != "none")
            return list(once) if chosen else None
        plain = text.strip() if isinstance(text, str) else str(text)
        if not plain:
            return None
        if self.kind is BoxKind.DAY:
            return self._day(plain)
        if self.kind in (BoxKind.NUMBER, BoxKind.WHOLE):
            return self._number(plain, unit)
        if self.kind is BoxKind.TEXT:
            require_writable(plain)
            self._require(
                len(plain) <= self.node["maxLength"],
                Said("'{count} characters'", {"count": len(plain)}),
            )
        else:
            allowed = ("yes", "no") if self.kind is BoxKind.ANSWER else self.choices
            self._require(plain in allowed, plain)
        return plain == "yes" if self.kind is BoxKind.ANSWER else plain

    def _day(self, plain: str) -> str:
        try:
            return date.fromisoformat(plain).isoformat()
        except ValueError:
            raise InputError(
                Said(
                    "{field} must be a date such as 2026-11-25; received {received}: correct it",
                    {"field": Said(self.label), "received": repr(plain[:40])},
                )
            ) from None

    def _number(self, plain: str, unit: str) -> float | int:
        try:
            value = number_in(plain)
        except ValueError:
            value = math.nan
        self._require(math.isfinite(value), plain)
        inches = unit == "in" and self.unit == "cm"
        stored = round(value * CM_PER_INCH, 2) if inches else value
        low, high = self.node.get("minimum", -math.inf), self.node.get("maximum", math.inf)
        if inches and not low <= stored <= high:
            raise InputError(
                Said(
                    "{field} must be {low:.1f} to {high:.1f} in; received {received:g} in: measure "
                    "it again",
                    {
                        "field": Said(self.label),
                        "low": low / CM_PER_INCH,
                        "high": high / CM_PER_INCH,
                        "received": value,
                    },
                )
            )
        self._require(low <= stored <= high, stored)
        if self.kind is BoxKind.WHOLE:
            self._require(stored == int(stored), plain)
            return int(stored)
        return stored

    def _require(self, good: bool, received: Any) -> None:
        if not good:
            problem = value_problem(self.node, received)
            raise InputError(
                Said("{field} {problem}", {"field": Said(self.label), "problem": problem})
            )

    def shown(self, value: Any, unit: str = "cm") -> str:
        """A value as it stands in the box."""
        if value is None:
            return ""
        if self.kind is BoxKind.ANSWER:
            return "yes" if value else "no"
        if self.kind in (BoxKind.NUMBER, BoxKind.WHOLE):
            if unit == "in" and self.unit == "cm":
                return f"{value / CM_PER_INCH:.1f}"
            return f"{value:g}"
        return str(value)

    def in_words(self, value: Any, unit: str = "cm") -> str:
        """A value with its unit, in the reader's language."""
        if value is None:
            return _("emptied")
        if self.kind is BoxKind.MANY:
            return ", ".join(map(_, value)) or _("none")
        shown = self.shown(value, unit)
        if self.kind in (BoxKind.CHOICE, BoxKind.ANSWER):
            return _(shown)
        shown_unit = "in" if unit == "in" and self.unit == "cm" else self.unit
        return f"{shown} {_(shown_unit) if shown_unit else ''}".strip()


def _choice(path: str, label: str, *values: str) -> Box:
    return Box(path, label, BoxKind.CHOICE, {"enum": list(values)})


def _text(path: str, label: str, longest: int = 2000) -> Box:
    return Box(path, label, BoxKind.TEXT, {"type": "string", "maxLength": longest})


def _number(path: str, label: str, low: float, high: float, unit: str) -> Box:
    node = {"minimum": low, "maximum": high, "unit": unit, "type": "number"}
    return Box(path, label, BoxKind.NUMBER, node, unit)


# Boxes that the case has no place for.
_OWN = (
    _number("look.hours_worn", "Hours worn since the last bandaging", 0, 700, "h"),
    _choice(
        "look.came_off",
        "How the bandage came off",
        "in place", "slipped", "fluid came through", "taken off at home", "no bandage worn",
    ),
    Box("look.marks", "Marks of the bandage on the skin", BoxKind.ANSWER, {"type": "boolean"}),
    _text("look.pain_relief", "Pain relief before starting", 200),
    _text("care.wash", "Wash and skin care", 500),
    _text("care.dressing", "Primary dressing", 500),
    _text("care.note", "Note of this visit", 10_000),
)  # fmt: skip

# Questions whose field in the case says nothing about them.
_WHOLE_LABELS = {
    "person.sex": "Sex (chooses the body model only)",
    "person.mobility": "Gets about",
    "person.allergies": "Allergies",
    "person.does_not_tolerate": "Does not tolerate",
    "person.footwear": "Shoe over the bandage",
    "person.rebandaged_by": "Bandaged in between by",
    "bandager.training": "Training of whoever bandages",
    "leg.purpose": "What the bandage is for",
    "leg.findings.bypass_route": "Route of the bypass",
    "leg.findings.shape": "Shape seen by eye",
    "leg.wound.place": "Wound lies at",
    "leg.wound.side": "Side of the leg",
    "leg.wound.exudate": "Fluid from the wound",
}

# Paths of the case that are not typed into a box.
_NOT_TYPED = (
    "leg.overrides",
    "leg.provisional",
    "leg.sensor_readings",
    "leg.tolerated_mmhg",
    "person.age_years",
    "bandager.initials",
    "bandager.habits",
    "person.other_leg_compressed",
)


# Boxes that carry another path than the question of the case that they answer.
_TOES, _TOES_BOXES = "leg.findings.toes.", "toes."
_PAIN, _PAIN_BOX = "leg.findings.pain_now", "look.pain"


def box_path(question: str) -> str:
    """Path of the box that answers a question of the case.

    Examples
    --------
    >>> box_path("leg.findings.toes.colour"), box_path("leg.findings.pain_now")
    ('toes.colour', 'look.pain')
    >>> box_path("leg.findings.gangrene")
    'leg.findings.gangrene'
    """
    if question == _PAIN:
        return _PAIN_BOX
    return question.replace(_TOES, _TOES_BOXES) if question.startswith(_TOES) else question


def question_path(box: str) -> str:
    """Question of the case that a box answers; :func:`box_path` the other way round.

    Examples
    --------
    >>> question_path("toes.colour"), question_path("look.pain"), question_path("care.note")
    ('leg.findings.toes.colour', 'leg.findings.pain_now', 'care.note')
    """
    if box == _PAIN_BOX:
        return _PAIN
    return box.replace(_TOES_BOXES, _TOES, 1) if box.startswith(_TOES_BOXES) else box


@cache
def boxes() -> Mapping[str, Box]:
    """Every box by its path."""
    schema = Case.model_json_schema(by_alias=True)
    found = {box.path: box for box in _OWN}
    for part in ("person", "arms", "bandager"):
        _collect(schema, [part], part, found)
    _collect(schema, ["legs", "right"], "leg", found)
    return found


def required_boxes(table: str) -> tuple[Box, ...]:
    """Boxes that a plan needs of a whole table such as ``leg.girth_cm``; empty for a box.

    Examples
    --------
    >>> [box.path for box in required_boxes("bandager")]
    ['bandager.training']
    """
    place = table.replace("leg", "legs.right", 1).split(".")
    try:
        names = node_at(Case.model_json_schema(by_alias=True), place).get("required", ())
    except (KeyError, IndexError):
        return ()
    return tuple(boxes()[path] for name in names if (path := f"{table}.{name}") in boxes())


def _collect(schema: Mapping[str, Any], place: list[str], path: str, into: dict[str, Box]) -> None:
    node = node_at(schema, place)
    if path in _NOT_TYPED:
        return
    if "properties" in node:
        for name in node["properties"]:
            _collect(schema, [*place, name], f"{path}.{name}", into)
        return
    if node.get("type") == "array" and "items" in node:
        node = {**node, "items": node_at(schema, [*place, "0"])}
    unit = str(node.get("unit", ""))
    label = _WHOLE_LABELS.get(path) or str(node.get("description") or path.rsplit(".", 1)[-1])
    label = label.removesuffix(f" [{unit}]") if unit else label
    own = box_path(path)
    into[own] = Box(own, label.replace("_", " "), _kind(node), node, unit)


def _kind(node: Mapping[str, Any]) -> BoxKind:
    if node.get("type") == "array":
        return BoxKind.MANY
    if "enum" in node:
        return BoxKind.CHOICE
    if node.get("format") == "date":
        return BoxKind.DAY
    kinds = {"boolean": BoxKind.ANSWER, "number": BoxKind.NUMBER, "integer": BoxKind.WHOLE}
    return kinds.get(str(node.get("type")), BoxKind.TEXT)


# An answer with which nothing more has to be asked.
NOTHING_FOUND = (False, None, "none", 0)


@dataclass(frozen=True)
class Opening:
    """What opens a box that is asked only then: an answer of one of the paths.

    Attributes
    ----------
    paths : tuple[str, ...]
        Boxes that open it.
    opens : tuple
        Answers that do; empty: every answer but "nothing found".
    """

    paths: tuple[str, ...]
    opens: tuple[Any, ...] = ()

    def is_open(self, values: Mapping[str, Any]) -> bool:
        """Whether the values of a visit open it."""
        return any(self.opened_by(values.get(path)) for path in self.paths)

    def opened_by(self, value: Any) -> bool:
        """Whether one answer opens it."""
        return value in self.opens if self.opens else value not in NOTHING_FOUND


@dataclass(frozen=True)
class Group:
    """Boxes under one heading; a folded group opens when its opening says so.

    ``wide``: its boxes are numbers that stand beside each other across the page.
    """

    title: str
    paths: tuple[str, ...]
    hint: str = ""
    folded: Opening | None = None
    wide: bool = False


@dataclass(frozen=True)
class Section:
    """Boxes that are filled together, in the order of the day."""

    key: str
    title: str
    hint: str
    groups: tuple[Group, ...]
    beside: bool = False

    @property
    def paths(self) -> tuple[str, ...]:
        """Its boxes, in order."""
        return tuple(path for group in self.groups for path in group.paths)


def _plain(key: str, title: str, hint: str, paths: Sequence[str]) -> Section:
    return Section(key, title, hint, (Group("", tuple(paths)),))


def _findings(*names: str) -> tuple[str, ...]:
    return tuple(f"leg.findings.{name}" for name in names)


def _landmarks(table: str, *names: Landmark) -> tuple[str, ...]:
    return tuple(f"leg.{table}.{name.value}" for name in names)


EVERY_VISIT = _landmarks("girth_cm", Landmark.ANKLE, Landmark.CALF)

_ON_THE_LEG = tuple(f"leg.findings.clot.signs.{sign}" for sign in LegSign)
_SCORE = tuple(
    f"leg.findings.clot.signs.{name}"
    for name in ClotSigns.model_fields
    if name not in {sign.value for sign in LegSign}
)

OPENINGS: Mapping[str, Opening] = {
    "leg.findings.antibiotics_started": Opening(("leg.findings.infection",)),
    "leg.findings.clot.anticoagulated": Opening(("leg.findings.clot.state",)),
    "leg.findings.bypass_route": Opening(("leg.findings.bypass",)),
    "person.can_be_taken_off": Opening(("person.can_report_pain",), (False,)),
    "person.daily_observer": Opening(("person.can_report_pain",), (False,)),
    **{
        f"leg.findings.clot.old_signs.{sign}": Opening((f"leg.findings.clot.signs.{sign}",))
        for sign in LegSign
    },
}
"""Boxes that are asked only after another answer."""


def _screen() -> Iterator[Group]:
    """Every question that the rules need, under the subject of the first rule that needs it."""
    by_subject: dict[Subject, list[str]] = {}
    for question in screen_paths():
        if question in _NOT_TYPED:
            continue
        subject = next(rule.subject for rule in RULES.values() if question in rule.needs)
        asked = by_subject.setdefault(subject, [])
        asked.append(box_path(question))
        asked += [path for path, opening in OPENINGS.items() if opening.paths[0] == asked[-1]]
    for subject, paths in by_subject.items():
        yield Group(subject.value, tuple(paths))
        if subject is Subject.CLOT:
            opening = Opening(("leg.findings.clot.state", *_ON_THE_LEG))
            yield Group(
                "The rest of the clot score", _SCORE,
                "Answer these when a clot is possible (Wells et al. 2003).", folded=opening,
            )  # fmt: skip


_ARTERIES = Group(
    "Arterial test",
    (
        "arms.left_mmhg", "arms.right_mmhg", "arms.unusable",
        *(f"leg.arterial.{name}" for name in (
            "dorsalis_pedis_mmhg", "posterior_tibial_mmhg", "toe_mmhg", "tcpo2_mmhg",
            "waveform", "measured_on", "rested_min", "lying_flat",
        )),
    ),
    "Arm, then both ankle arteries, then the other arm, lying flat after a rest.",
    wide=True,
)  # fmt: skip

SECTIONS = (
    Section(
        "screen", "Red flags and arteries",
        "Ask and look before anything is measured. The decision above follows every answer.",
        (*_screen(), _ARTERIES),
    ),
    Section("start", "Start", "", (Group("", ("leg.start",)),), beside=True),
    _plain(
        "look", "What changed",
        "Ask before you wash. Pain relief first, if it is needed.",
        (
            "look.hours_worn", "look.came_off", "look.marks", "look.pain_relief",
        ),
    ),
    Section(
        "measure", "Measure",
        "Ankle and calf at every visit; every landmark at the first visit, every four weeks or "
        "when the tool asks.",
        (
            Group(
                "",
                (
                    *_landmarks("girth_cm", *Landmark),
                    "leg.foot_length_cm",
                    *_landmarks(
                        "position_cm", *(m for m in Landmark if m in KnownPositions.model_fields)
                    ),
                ),
            ),
            Group(
                "Width and depth, if you can take them",
                tuple(
                    path
                    for site in Landmark
                    if site in Widths.model_fields
                    for table in ("width_cm", "depth_cm")
                    for path in _landmarks(table, site)
                ),
                "Width: side to side at the same height as the girth, with a caliper or between a "
                "book and the wall. Depth: the same from front to back. Both of a place or "
                "neither; do not press the skin in.",
            ),
        ),
    ),
    _plain(
        "wound", "Wound",
        "The wound that decides. Leave it empty when there is none.",
        tuple(f"leg.wound.{name}" for name in (
            "place", "side", "length_cm", "width_cm", "duration_weeks", "exudate",
            "dressing_thickness_mm", "over_bone", "friable",
        )),
    ),
    _plain(
        "leg", "The leg and its skin",
        "What changes the choice of material and how hard to pull.",
        (
            "leg.purpose",
            *_findings(
                "shape", "pitting_grade", "skin_fragile", "skin_weeping", "skin_eczema",
                "ankle_stiff", "foot_collapsed", "forefoot_amputation", "sprain",
            ),
        ),
    ),
    _plain(
        "person", "The person",
        "What was said before stays until it changes.",
        (
            "person.sex", "person.mobility", "person.pregnancy", "person.sickle_cell",
            "person.raynaud", "person.allergies", "person.does_not_tolerate",
            "person.footwear", "person.rebandaged_by",
        ),
    ),
    _plain(
        "care", "Wash, skin, dressing", "What was done before the bandage.",
        ("care.wash", "care.dressing", "care.note"),
    ),
    _plain("hands", "Who bandages", "The plan allows for the hands.", ("bandager.training",)),
)  # fmt: skip
