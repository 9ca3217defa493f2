"""From what was entered at visits to the case of one visit, with what is carried over said.

What carries over from earlier visits, and what does not:

- what describes the person or the leg for good stays until somebody changes it;
- a finding of the day that was bad stays until somebody looks again; one that was good has to
  be looked at again;
- an arterial test stays whole, with the day it was made, or is replaced whole;
- what was measured with a tape stays, and the page says from when.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from typing import Any

from django.conf import settings
from django.db.models import Q

from gaiter.core.case import Case
from gaiter.core.policy import Policy
from gaiter.exchange.case_file import case_from_mapping
from gaiter.exchange.policy_file import read_policy, shipped_policy
from gaiter.exchange.wording import FileError
from gaiter.records.models import Entry, OverrideRecord, PlanRecord, StockItem, Visit
from gaiter.records.technique import calibration

_FOR_GOOD = {
    "leg.findings.bypass", "leg.findings.bypass_route", "leg.findings.stent",
    "leg.findings.necrosis_risk", "leg.findings.absent_monofilament_sites", "leg.findings.shape",
    "leg.findings.ankle_stiff", "leg.findings.forefoot_amputation",
    "leg.findings.foot_collapsed", "leg.purpose", "leg.foot_length_cm", "bandager.training",
}  # fmt: skip
_PERSON_TODAY = {
    "person.weight_gain_kg", "person.breathless_lying", "person.heart_failure_decompensated",
}  # fmt: skip
_NEVER = {"leg.findings.worse", "person.weight_gain_kg", "leg.findings.pitting_grade"}
_GOOD = (False, None, "none", 0)
_ARTERIAL = ("arms.", "leg.arterial.")
# Answers that only make sense with the one they hang on, when that one is answered anew.
_HANGS_ON = {
    "leg.findings.antibiotics_started": "leg.findings.infection",
    "leg.findings.clot.anticoagulated": "leg.findings.clot.state",
    "leg.findings.bypass_route": "leg.findings.bypass",
}
_CLOT_SIGNS = "leg.findings.clot.signs."


@dataclass(frozen=True)
class Known:
    """A value with where it comes from."""

    path: str
    value: Any
    entry: int
    author: str
    day: date
    carried: bool


@dataclass(frozen=True)
class Assembled:
    """What is known at a visit.

    Attributes
    ----------
    known : Mapping[str, Known]
        What counts today, by path.
    last : Mapping[str, Known]
        What was said last before this visit, whether it counts today or not.
    rivals : Mapping[str, list[Entry]]
        Values that clash with the one that counts.
    emptied : Mapping[str, int]
        Entries of today that emptied a box.
    """

    visit: Visit
    known: Mapping[str, Known]
    last: Mapping[str, Known]
    rivals: Mapping[str, list[Entry]] = field(default_factory=dict)
    emptied: Mapping[str, int] = field(default_factory=dict)

    def value(self, path: str) -> Any:
        """What counts today, None where nothing does."""
        found = self.known.get(path)
        return found.value if found else None


@cache
def local_policy() -> Policy:
    """The policy in force: the clinic's own over the shipped one, read once by a process."""
    path = settings.GAITER.policy
    return read_policy(path) if path else shipped_policy()


def assembled(visit: Visit) -> Assembled:
    """What is known at a visit, in one query."""
    entries = (
        Entry.objects.filter(
            visit__episode__person_id=visit.episode.person_id,
            state=Entry.State.CURRENT,
            visit__day__lte=visit.day,
        )
        .exclude(visit__day=visit.day, visit_id__gt=visit.pk)
        .filter(Q(visit__episode_id=visit.episode_id) | Q(path__startswith="person."))
        .order_by("visit__day", "visit_id")
        .values_list("path", "value", "words", "pk", "author__name", "visit__day", "visit_id")
    )
    rivals: dict[str, list[Entry]] = {}
    for rival in visit.entries.filter(state=Entry.State.RIVAL).select_related("author"):
        rivals.setdefault(rival.path, []).append(rival)
    return _carried(visit, entries, rivals)


def _carried(
    visit: Visit, entries: Iterable[tuple[Any, ...]], rivals: Mapping[str, list[Entry]]
) -> Assembled:
    last: dict[str, Known] = {}
    today: dict[str, Known] = {}
    tests: dict[int, dict[str, Known]] = {}
    for path, value, words, entry, author, day, visit_id in entries:
        said = Known(
            path, value if words is None else words, entry, author, day, visit_id != visit.pk
        )
        if path.startswith(_ARTERIAL):
            tests.setdefault(visit_id, {})[path] = said
        elif said.carried:
            last[path] = said
        else:
            today[path] = said
    known = {path: k for path, k in last.items() if k.value is not None and _stays(k, today)} | {
        path: k for path, k in today.items() if k.value is not None
    }
    own_test = tests.pop(visit.pk, {})
    earlier: dict[str, Known] = {}
    for test in tests.values():
        if any(k.value is not None for k in test.values()):
            earlier = test
    last |= earlier
    test = own_test if any(k.value is not None for k in own_test.values()) else earlier
    known |= {path: k for path, k in test.items() if k.value is not None}
    _age_wound(visit, known)
    own = {**today, **own_test}
    emptied = {path: k.entry for path, k in own.items() if k.value is None}
    return Assembled(visit, known, last, rivals, emptied)


def _stays(known: Known, today: Mapping[str, Known]) -> bool:
    path = known.path
    if path in _NEVER or path.startswith(("look.", "toes.", "care.")):
        return False
    if path.startswith(_CLOT_SIGNS):
        return "leg.findings.clot.state" not in today and known.value not in _GOOD
    if path in _HANGS_ON and _HANGS_ON[path] in today:
        return False
    if path in _FOR_GOOD:
        return True
    if path in _PERSON_TODAY or path.startswith("leg.findings."):
        return known.value not in _GOOD
    return True


def _age_wound(visit: Visit, known: dict[str, Known]) -> None:
    """A duration said earlier has grown by the weeks since."""
    path = "leg.wound.duration_weeks"
    said = known.get(path)
    if said is not None and said.carried:
        weeks = (visit.day - said.day).days // 7
        known[path] = Known(
            path, said.value + weeks, said.entry, said.author, said.day, carried=True
        )


def previous_level(visit: Visit) -> float | None:
    """Maximum [mmHg] of the last approved plan of this episode before this visit."""
    return (
        PlanRecord.objects.filter(
            visit__episode_id=visit.episode_id, visit_id__lt=visit.pk, approved_at__isnull=False
        )
        .order_by("-approved_at")
        .values_list("maximum_mmhg", flat=True)
        .first()
    )


def other_leg_compressed(visit: Visit) -> bool:
    """Whether another open episode of this person has a plan in force."""
    return (
        PlanRecord.objects.filter(
            visit__episode__person_id=visit.episode.person_id,
            visit__episode__closed_on=None,
            state=PlanRecord.State.APPROVED,
        )
        .exclude(visit__episode_id=visit.episode_id)
        .exists()
    )


def override_of(visit: Visit) -> OverrideRecord | None:
    """The override in force at a visit."""
    return (
        visit.overrides.filter(withdrawn_at=None).select_related("prescriber").order_by("-at")
    ).first()


def case_mapping(seen: Assembled, *, with_stock: bool = True) -> dict[str, Any]:
    """The visit as a ``gaiter.case/1`` document, not yet judged.

    ``with_stock`` adds what the clinic has and knows: its shelf and its sensor's calibration.
    """
    visit = seen.visit
    episode = visit.episode
    person = episode.person
    mapping: dict[str, Any] = {
        "schema": "gaiter.case/1",
        "today": visit.day.isoformat(),
        "reference": f"{episode.reference} {episode.side}",
        "invented": person.invented,
        "person": {
            "age_years": person.age_on(visit.day),
            "other_leg_compressed": other_leg_compressed(visit),
        },
        "legs": {episode.side: {}},
    }
    for path, known in seen.known.items():
        top, *rest = path.split(".")
        if top in ("look", "toes", "care"):
            continue
        table = mapping["legs"][episode.side] if top == "leg" else mapping.setdefault(top, {})
        for part in rest[:-1]:
            table = table.setdefault(part, {})
        table[rest[-1]] = known.value
    leg = mapping["legs"][episode.side]
    level = previous_level(visit)
    if level is not None:
        leg["tolerated_mmhg"] = level
    override = override_of(visit)
    if override is not None:
        leg["override"] = {
            "codes": override.codes,
            "maximum_mmhg": override.maximum_mmhg,
            "reason": override.reason,
            "words": override.words,
            "by": override.prescriber.name,
        }
    if with_stock:
        if stock := stock_mapping():
            mapping["stock"] = stock
        if learnt := calibration(local_policy()):
            mapping["calibration"] = learnt.model_dump(mode="json")
    return mapping


def stock_mapping() -> dict[str, Any]:
    """The clinic's stock as a case names it; empty where none is kept."""
    stock: dict[str, Any] = {}
    for item in StockItem.objects.order_by("material", "width_cm"):
        entry = stock.setdefault(item.material, {"rolls": 0, "widths_cm": []})
        entry["rolls"] += item.rolls
        if item.rolls:
            entry["widths_cm"].append(item.width_cm)
        for name in ("relaxed_length_cm", "thickness_mm", "curve"):
            value = getattr(item, name)
            if value is not None:
                entry[name] = value
    for entry in stock.values():
        if not entry["widths_cm"]:
            del entry["widths_cm"]
    return stock


def case_of(seen: Assembled, *, with_stock: bool = True) -> Case:
    """The visit as a case.

    Raises
    ------
    FileError
        Naming everything that is still missing or contradicts.
    """
    return case_from_mapping(case_mapping(seen, with_stock=with_stock), "this visit")


def still_missing(error: FileError, side: str) -> list[tuple[str, str]]:
    """Path of the box and sentence for each problem of a visit."""
    found = []
    for problem in error.problems:
        path = problem.field.replace(f"legs.{side}", "leg")
        found.append((path, problem.text.replace(f"legs.{side}.", "")))
    return found
