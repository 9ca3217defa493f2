"""The boxes of a visit: those of ``gaiter.case/1`` by their own path, and the clinic's few more.

A path of the case is written with ``leg`` for the leg of the visit: ``leg.girth_cm.ankle``.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from functools import cache
from typing import Any

from gaiter.core.case import Case
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.units import CM_PER_INCH
from gaiter.exchange.wording import node_at, value_problem


class Kind(StrEnum):
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
    kind : Kind
        How it is filled.
    node : Mapping
        Part of a JSON Schema: range and choices.
    """

    path: str
    label: str
    kind: Kind
    node: Mapping[str, Any] = field(repr=False)
    unit: str = ""

    @property
    def choices(self) -> Sequence[str]:
        """Values that may be chosen."""
        node = self.node.get("items", self.node) if self.kind is Kind.MANY else self.node
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
        if self.kind is Kind.MANY:
            chosen = [text] if isinstance(text, str) else list(text)
            chosen = [value for value in chosen if value]
            for value in chosen:
                self._require(value in [*self.choices, "none"], value)
            return [value for value in chosen if value != "none"] if chosen else None
        plain = text.strip() if isinstance(text, str) else str(text)
        if not plain:
            return None
        if self.kind is Kind.DAY:
            return self._day(plain)
        if self.kind in (Kind.NUMBER, Kind.WHOLE):
            return self._number(plain, unit)
        if self.kind is Kind.TEXT:
            self._require(len(plain) <= self.node["maxLength"], f"{len(plain)} characters")
        else:
            allowed = ("yes", "no") if self.kind is Kind.ANSWER else self.choices
            self._require(plain in allowed, plain)
        return plain == "yes" if self.kind is Kind.ANSWER else plain

    def _day(self, plain: str) -> str:
        try:
            return date.fromisoformat(plain).isoformat()
        except ValueError:
            raise InputError(
                f"{self.label} must be a date such as 2026-11-25; received {plain[:40]!r}: "
                f"correct it"
            ) from None

    def _number(self, plain: str, unit: str) -> float | int:
        try:
            value = float(plain.replace(",", "."))
        except ValueError:
            value = math.nan
        self._require(math.isfinite(value), plain)
        inches = unit == "in" and self.unit == "cm"
        stored = round(value * CM_PER_INCH, 2) if inches else value
        low, high = self.node.get("minimum", -math.inf), self.node.get("maximum", math.inf)
        if inches and not low <= stored <= high:
            raise InputError(
                f"{self.label} must be {low / CM_PER_INCH:.1f} to {high / CM_PER_INCH:.1f} in; "
                f"received {value:g} in: measure it again"
            )
        self._require(low <= stored <= high, stored)
        if self.kind is Kind.WHOLE:
            self._require(stored == int(stored), plain)
            return int(stored)
        return stored

    def _require(self, good: bool, received: Any) -> None:
        if not good:
            raise InputError(f"{self.label} {value_problem(self.node, received)}")

    def shown(self, value: Any, unit: str = "cm") -> str:
        """A value as it stands in the box."""
        if value is None:
            return ""
        if self.kind is Kind.ANSWER:
            return "yes" if value else "no"
        if self.kind in (Kind.NUMBER, Kind.WHOLE):
            if unit == "in" and self.unit == "cm":
                return f"{value / CM_PER_INCH:.1f}"
            return f"{value:g}"
        return str(value)

    def in_words(self, value: Any, unit: str = "cm") -> str:
        """A value with its unit, for a reader."""
        if value is None:
            return "emptied"
        if self.kind is Kind.MANY:
            return ", ".join(value) or "none"
        shown_unit = "in" if unit == "in" and self.unit == "cm" else self.unit
        return f"{self.shown(value, unit)} {shown_unit}".strip()


def _choice(path: str, label: str, *values: str) -> Box:
    return Box(path, label, Kind.CHOICE, {"enum": list(values)})


def _text(path: str, label: str, longest: int = 2000) -> Box:
    return Box(path, label, Kind.TEXT, {"type": "string", "maxLength": longest})


def _number(path: str, label: str, low: float, high: float, unit: str) -> Box:
    node = {"minimum": low, "maximum": high, "unit": unit, "type": "number"}
    return Box(path, label, Kind.NUMBER, node, unit)


# Boxes that the case has no place for. Choices: the words of the sheet's checks; common
# practice, no source.
_OWN = (
    _number("look.hours_worn", "Hours worn since the last bandaging", 0, 700, "h"),
    _choice(
        "look.came_off",
        "How the bandage came off",
        "in place", "slipped", "fluid came through", "taken off at home", "no bandage worn",
    ),
    Box("look.marks", "Marks of the bandage on the skin", Kind.ANSWER, {"type": "boolean"}),
    Box(
        "look.pain", "Pain now, 0 to 10", Kind.WHOLE,
        {"minimum": 0, "maximum": 10, "unit": "of 10", "type": "integer"}, "of 10",
    ),
    _text("look.pain_relief", "Pain relief before starting", 200),
    _choice(
        "toes.colour",
        "Toe colour against the other foot (nail bed and sole on dark skin)",
        "same", "paler", "bluer", "greyer", "redder",
    ),
    _choice("toes.refill", "Colour back after a press", "within 2 to 3 seconds", "slower"),
    _choice("toes.warmth", "Toes feel", "warm", "cool", "cold"),
    _choice("toes.feeling", "Touch is felt on", "every toe", "some toes", "no toe"),
    _choice("toes.movement", "Moves", "every toe", "some toes", "no toe"),
    _text("care.wash", "Wash and skin care", 500),
    _text("care.dressing", "Primary dressing", 500),
    _text("care.note", "Note of this visit", 10_000),
)  # fmt: skip

_WHOLE_LABELS = {
    "person.heart_failure_class": "Heart failure, NYHA class (0 for none)",
    "person.sex": "Sex (chooses the body model only)",
    "person.mobility": "Gets about",
    "person.allergies": "Allergies",
    "person.does_not_tolerate": "Does not tolerate",
    "person.footwear": "Shoe over the bandage",
    "person.rebandaged_by": "Bandaged in between by",
    "bandager.training": "Training of whoever bandages",
    "leg.purpose": "What the bandage is for",
    "leg.findings.infection": "Infection of leg or wound",
    "leg.findings.clot.state": "Deep vein clot in this leg",
    "leg.findings.bypass": "Bypass graft in this leg",
    "leg.findings.bypass_route": "Route of the bypass",
    "leg.findings.shape": "Shape seen by eye",
    "leg.wound.place": "Wound lies at",
    "leg.wound.side": "Side of the leg",
    "leg.wound.exudate": "Fluid from the wound",
    "leg.wound.friable": "Skin round the wound tears easily",
}

# Paths of the case that are not typed into a box.
_NOT_TYPED = (
    "leg.overrides",
    "leg.provisional",
    "leg.tolerated_mmhg",
    "leg.findings.toes",
    "leg.findings.pain_now",
    "person.age_years",
    "bandager.initials",
    "bandager.habits",
    "person.other_leg_compressed",
)


@cache
def boxes() -> Mapping[str, Box]:
    """Every box by its path."""
    schema = Case.model_json_schema(by_alias=True)
    found = {box.path: box for box in _OWN}
    for part in ("person", "arms", "bandager"):
        _collect(schema, [part], part, found)
    _collect(schema, ["legs", "right"], "leg", found)
    return found


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
    into[path] = Box(path, label.replace("_", " "), _kind(node), node, unit)


def _kind(node: Mapping[str, Any]) -> Kind:
    if node.get("type") == "array":
        return Kind.MANY
    if "enum" in node:
        return Kind.CHOICE
    if node.get("format") == "date":
        return Kind.DAY
    kinds = {"boolean": Kind.ANSWER, "number": Kind.NUMBER, "integer": Kind.WHOLE}
    return kinds.get(str(node.get("type")), Kind.TEXT)


@dataclass(frozen=True)
class Section:
    """Boxes that are filled together, in the order of the day."""

    key: str
    title: str
    hint: str
    paths: tuple[str, ...]
    folded: bool = False


def _findings(*names: str) -> tuple[str, ...]:
    return tuple(f"leg.findings.{name}" for name in names)


def _landmarks(table: str, *names: Landmark) -> tuple[str, ...]:
    return tuple(f"leg.{table}.{name.value}" for name in names)


EVERY_VISIT = _landmarks("girth_cm", Landmark.ANKLE, Landmark.CALF)

SECTIONS = (
    Section(
        "person", "The person",
        "Safety is decided for the person first. What was said before stays until it changes.",
        (
            "person.sex", "person.mobility", "person.heart_failure_class",
            "person.heart_failure_decompensated", "person.breathless_lying",
            "person.weight_gain_kg", "person.diabetes", "person.kidney_disease",
            "person.can_report_pain", "person.rheumatoid_arthritis", "person.allergies",
            "person.does_not_tolerate", "person.footwear", "person.rebandaged_by",
        ),
    ),
    Section(
        "look", "Look",
        "Ask and look before you wash. Pain relief first, if it is needed.",
        (
            "look.hours_worn", "look.came_off", "look.marks", "look.pain", "look.pain_relief",
            "toes.colour", "toes.refill", "toes.warmth", "toes.feeling", "toes.movement",
            *_findings(
                "rest_pain", "new_pain", "colour_change", "acute_ischaemia", "gangrene", "sepsis",
                "infection", "antibiotics_started", "clot.state", "clot.anticoagulated",
                "superficial_phlebitis", "septic_phlebitis", "massive_blue_swelling", "worse",
            ),
        ),
    ),
    Section(
        "clot", "Score a clot",
        "Tick what applies when a clot is possible (Wells et al. 2003).",
        _findings(*(f"clot.signs.{name}" for name in (
            "active_cancer", "paralysis_or_plaster", "bedridden_or_surgery", "tender_deep_veins",
            "whole_leg_swollen", "calf_3_cm_larger", "pitting_only_this_leg", "collateral_veins",
            "previous_clot", "other_diagnosis_as_likely",
        ))),
        folded=True,
    ),
    Section(
        "leg", "The leg and its skin",
        "What changes the choice of material and how hard to pull.",
        (
            "leg.purpose",
            *_findings(
                "shape", "pitting_grade", "skin_fragile", "skin_weeping", "skin_eczema",
                "ankle_stiff", "foot_collapsed", "forefoot_amputation",
                "absent_monofilament_sites", "bypass", "bypass_route", "stent", "necrosis_risk",
                "vasculitis_suspected", "malignancy_suspected", "sprain",
            ),
        ),
    ),
    Section(
        "measure", "Measure",
        "Ankle and calf at every visit; every landmark at the first visit, every four weeks or "
        "when the tool asks.",
        (
            *_landmarks("girth_cm", *Landmark),
            "leg.foot_length_cm",
            *_landmarks(
                "position_cm", Landmark.METATARSAL_HEADS, Landmark.INSTEP, Landmark.ANKLE,
                Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE,
            ),
        ),
    ),
    Section(
        "wound", "Wound",
        "The wound that decides. Leave it empty when there is none.",
        tuple(f"leg.wound.{name}" for name in (
            "place", "side", "length_cm", "width_cm", "duration_weeks", "exudate",
            "dressing_thickness_mm", "over_bone", "friable",
        )),
    ),
    Section(
        "care", "Wash, skin, dressing", "What was done before the bandage.",
        ("care.wash", "care.dressing", "care.note"),
    ),
    Section(
        "arteries", "Arteries",
        "Arm, then both ankle arteries, then the other arm, lying flat after a rest. The indices "
        "are worked out as you type.",
        (
            "arms.left_mmhg", "arms.right_mmhg",
            *(f"leg.arterial.{name}" for name in (
                "dorsalis_pedis_mmhg", "posterior_tibial_mmhg", "toe_mmhg", "tcpo2_mmhg",
                "waveform", "measured_on", "rested_min", "lying_flat",
            )),
        ),
    ),
    Section("hands", "Who bandages", "The plan allows for the hands.", ("bandager.training",)),
)  # fmt: skip
