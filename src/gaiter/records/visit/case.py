"""From what was entered at visits to the case of one visit, with what is carried over said.

What carries over from earlier visits, and what does not:

- every answer carries over as the rules that need it say: what describes the person or the leg
  stays until somebody changes it; what is asked afresh stays while it is bad, until somebody
  looks again, and never while it is good; what counts on its day only never carries;
- an arterial test stays whole, with the day it was made, or is replaced whole;
- what was measured with a tape stays, and the page says from when.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache
from typing import Any

from django.conf import settings
from django.db.models import Q

from gaiter.core.applied.document import Applied
from gaiter.core.case import Case, LegSign, MeasuredLeg, SafetyCase
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.plan.changes import gaiter_mmhg
from gaiter.core.plan.system_catalogue import BandageCatalogue
from gaiter.core.policy import Policy
from gaiter.core.problems import Problem, Wrong, judged
from gaiter.core.safety import Carry, carry_of
from gaiter.core.words import Said, in_lines
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import read_policy, shipped_policy
from gaiter.files.systems_file import read_systems
from gaiter.records.ledger import local_day
from gaiter.records.models import (
    BandageEvent,
    Bandaging,
    Deed,
    Entry,
    OverrideRecord,
    PlanRecord,
    ProvisionalRecord,
    StockItem,
    Visit,
)
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.read.habits import calibration, sensor_readings_before
from gaiter.records.visit.boxes import NOTHING_FOUND, question_path

_ARTERIAL = ("arms.", "leg.arterial.")
# Boxes that the case has no place for.
_OF_THE_CLINIC = ("look.", "care.")
# Answers that only make sense with the one they hang on, when that one is answered anew.
_HANGS_ON = {
    "leg.findings.antibiotics_started": "leg.findings.infection",
    "leg.findings.clot.anticoagulated": "leg.findings.clot.state",
    "leg.findings.bypass_route": "leg.findings.bypass",
    # A sign that is said again today may have become worse: since when is said again as well.
    **{
        f"leg.findings.clot.old_signs.{sign}": f"leg.findings.clot.signs.{sign}" for sign in LegSign
    },
}


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
    corrections : Mapping[str, list[Entry]]
        What was typed after the signature; it counts at later visits.
    """

    visit: Visit
    known: Mapping[str, Known]
    last: Mapping[str, Known]
    rivals: Mapping[str, list[Entry]] = field(default_factory=dict)
    emptied: Mapping[str, int] = field(default_factory=dict)
    corrections: Mapping[str, list[Entry]] = field(default_factory=dict)

    def value(self, path: str) -> Any:
        """What counts today, None where nothing does."""
        found = self.known.get(path)
        return found.value if found else None


@cache
def local_policy() -> Policy:
    """The policy in force: the clinic's own over the shipped one, read once by a process."""
    path = settings.GAITER.policy
    return read_policy(path) if path else shipped_policy()


@cache
def local_catalogue() -> BandageCatalogue:
    """Materials and systems in use: the clinic's systems over the shipped ones, read once."""
    path, shipped = settings.GAITER.systems, shipped_catalogue()
    return read_systems(path, shipped) if path else shipped


def assembled(visit: Visit) -> Assembled:
    """What is known at a visit, in one query."""
    entries = (
        Entry.objects.filter(
            _counting(visit),
            visit__episode__person_id=visit.episode.person_id,
            visit__day__lte=visit.day,
        )
        .exclude(visit__day=visit.day, visit_id__gt=visit.pk)
        .filter(Q(visit__episode_id=visit.episode_id) | Q(path__startswith="person."))
        .order_by("visit__day", "visit_id", "pk")
        .values_list("path", "value", "words", "pk", "author__name", "visit__day", "visit_id")
    )
    beside: dict[str, dict[str, list[Entry]]] = {state: {} for state in _BESIDE}
    for one in visit.entries.filter(state__in=_BESIDE).select_related("author").order_by("pk"):
        beside[one.state].setdefault(one.path, []).append(one)
    seen = carried(visit, entries, beside[Entry.State.RIVAL])
    return replace(seen, corrections=beside[Entry.State.AFTER])


# Entries of a visit that stand beside what counts at it.
_BESIDE = (Entry.State.RIVAL, Entry.State.AFTER)


def _counting(visit: Visit) -> Q:
    """What counts at a visit; a correction of an earlier one until this one was signed."""
    corrected = Q(state=Entry.State.AFTER) & ~Q(visit_id=visit.pk)
    if visit.signed_at is not None:
        corrected &= Q(at__lte=visit.signed_at)
    return Q(state=Entry.State.CURRENT) | corrected


def carried(
    visit: Visit, entries: Iterable[tuple[Any, ...]], rivals: Mapping[str, list[Entry]]
) -> Assembled:
    """What counts at a visit of some entries, oldest first, each as it carries over."""
    last: dict[str, Known] = {}
    today: dict[str, Known] = {}
    tests: dict[int, dict[str, Known]] = {}
    for path, value, words, entry, author, day, visit_id in entries:
        typed = value if words is None else Entry.words_of(entry, words)
        said = Known(path, typed, entry, author, day, visit_id != visit.pk)
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
    """Whether an answer of an earlier visit counts today, as its rule says."""
    path = known.path
    if path in _HANGS_ON and _HANGS_ON[path] in today:
        return False
    question = question_path(path)
    if question.startswith(_OF_THE_CLINIC):
        return False
    carry = carry_of(question)
    if carry is Carry.AFRESH:
        return known.value not in NOTHING_FOUND
    return carry is Carry.STAYS


def _age_wound(visit: Visit, known: dict[str, Known]) -> None:
    """A duration said earlier has grown by the weeks since."""
    path = "leg.wound.duration_weeks"
    said = known.get(path)
    if said is not None and said.carried:
        weeks = (visit.day - said.day).days // 7
        known[path] = Known(
            path, said.value + weeks, said.entry, said.author, said.day, carried=True
        )


# Deeds after which a bandage is no longer as it was put on.
_CAME_OFF = (Deed.Kind.LOOSENED, Deed.Kind.TAKEN_OFF, Deed.Kind.REDONE)


def tolerated_level(visit: Visit) -> float | None:
    """Likely pressure at the gaiter [mmHg] of the last bandage that was applied and tolerated.

    As its readings told, or as planned where nothing was read. Tolerated: its last check was
    good, and it was neither loosened nor taken off before its day. None where there is none.
    """
    bandagings = (
        Bandaging.objects.filter(
            visit__episode_id=visit.episode_id, visit_id__lt=visit.pk, undone_at=None
        )
        .select_related("plan", "visit")
        .prefetch_related("checks", "deeds")
        .order_by("-at", "-pk")
    )
    events = list(BandageEvent.objects.filter(episode_id=visit.episode_id))
    came_off = _came_off_early(visit)
    later = visit
    for one in bandagings:
        checks = sorted(one.checks.all(), key=lambda check: (check.at, check.pk))
        early = any(one.at <= e.at and local_day(e.at) < one.off_by for e in events)
        early = early or any(deed.kind in _CAME_OFF for deed in one.deeds.all())
        if checks and not checks[-1].bad and not early and later.pk not in came_off:
            return _gaiter_as_applied(one)
        later = one.visit
    return None


def _came_off_early(visit: Visit) -> set[int]:
    """Visits at which the bandage of the visit before was found taken off at home."""
    said = Entry.objects.filter(
        visit__episode_id=visit.episode_id, state=Entry.State.CURRENT, path="look.came_off",
        value="taken off at home",
    )  # fmt: skip
    return set(said.values_list("visit_id", flat=True))


def _gaiter_as_applied(one: Bandaging) -> float:
    read = one.applied.order_by("-pk").first()
    if read is not None:
        applied = Applied.model_validate_json(read.document)
        return next(s.median_mmhg for s in applied.sites if s.landmark is Landmark.GAITER)
    return gaiter_mmhg(leg_of(plan_of(one.plan)).systems[0])


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


def overrides_of(visit: Visit) -> list[OverrideRecord]:
    """Stops set aside at a visit, one record each; those without an aim of their own are void."""
    return list(
        visit.overrides.filter(withdrawn_at=None, aim_low_mmhg__isnull=False)
        .select_related("prescriber")
        .order_by("at", "pk")
    )


def provisional_of(visit: Visit) -> ProvisionalRecord | None:
    """The provisional level chosen at a visit."""
    return (
        visit.provisionals.filter(withdrawn_at=None)
        .select_related("by", "order__prescriber")
        .order_by("-at", "-pk")
        .first()
    )


@dataclass(frozen=True)
class Around:
    """What a case takes from the record beside the boxes of its visit.

    Attributes
    ----------
    other_leg_compressed : bool
        Whether another leg of this person has a plan in force.
    tolerated_mmhg : float or None
        Likely pressure at the gaiter that was applied and tolerated before [mmHg].
    overrides : Sequence[OverrideRecord]
        Stops set aside at the visit.
    provisional : ProvisionalRecord or None
        The provisional level chosen at the visit.
    """

    other_leg_compressed: bool = False
    tolerated_mmhg: float | None = None
    overrides: Sequence[OverrideRecord] = ()
    provisional: ProvisionalRecord | None = None


def around(visit: Visit) -> Around:
    """What the record knows beside the boxes of a visit."""
    return Around(
        other_leg_compressed(visit),
        tolerated_level(visit),
        overrides_of(visit),
        provisional_of(visit),
    )


def case_mapping(seen: Assembled, *, with_stock: bool = True) -> dict[str, Any]:
    """The visit as a ``gaiter.case/1`` document, not yet judged.

    ``with_stock`` adds what the clinic has and knows: its shelf, its sensor's calibration, and what
    the sensor read on this leg before.
    """
    mapping = mapping_of(seen, around(seen.visit))
    if with_stock:
        if stock := stock_mapping():
            mapping["stock"] = stock
        if learnt := calibration(local_policy()):
            mapping["calibration"] = learnt.model_dump(mode="json")
        if read := sensor_readings_before(seen.visit):
            leg = mapping["legs"][seen.visit.episode.side]
            leg["sensor_readings"] = [one.model_dump(mode="json") for one in read]
    return mapping


def mapping_of(seen: Assembled, beside: Around, today: date | None = None) -> dict[str, Any]:
    """The visit as a ``gaiter.case/1`` document, from what was read already: no query is made.

    ``today`` looks at it on a later day than the visit's own.
    """
    visit = seen.visit
    episode = visit.episode
    person = episode.person
    day = today or visit.day
    mapping: dict[str, Any] = {
        "schema": "gaiter.case/1",
        "today": day.isoformat(),
        "reference": f"{episode.reference} {episode.side}",
        "invented": person.invented,
        "person": {
            "age_years": person.age_on(day),
            "other_leg_compressed": beside.other_leg_compressed,
        },
        "legs": {episode.side: {}},
    }
    leg = mapping["legs"][episode.side]
    _answer(mapping, leg, {path: known.value for path, known in seen.known.items()})
    if beside.tolerated_mmhg is not None:
        leg["tolerated_mmhg"] = round(beside.tolerated_mmhg, 1)
    if beside.overrides:
        leg["overrides"] = [_override(one) for one in beside.overrides]
    provisional = beside.provisional
    if provisional is not None:
        leg["provisional"] = {"by": provisional.by.name, "words": provisional.words}
        if provisional.order is not None:
            leg["provisional"]["order"] = provisional.order.prescriber.name
    return mapping


def _answer(mapping: dict[str, Any], leg: dict[str, Any], values: Mapping[str, Any]) -> None:
    """Puts what boxes say where a case document asks for it; a box of the leg into its table."""
    for path, value in values.items():
        question = question_path(path)
        if question.startswith(_OF_THE_CLINIC):
            continue
        top, *parts, last = question.split(".")
        table = leg if top == "leg" else mapping.setdefault(top, {})
        for part in parts:
            table = table.setdefault(part, {})
        table[last] = value


def measured_leg(values: Mapping[str, Any]) -> MeasuredLeg | None:
    """The leg that boxes describe, by their paths, whatever its bandage is for.

    None while too little is measured, or where it makes no leg.
    """
    leg: dict[str, Any] = {}
    _answer({}, leg, values)
    found = judged(MeasuredLeg, leg)
    return found if isinstance(found, MeasuredLeg) else None


def _override(one: OverrideRecord) -> dict[str, Any]:
    said = {
        "code": one.code,
        "aim_low_mmhg": one.aim_low_mmhg,
        "aim_high_mmhg": one.aim_high_mmhg,
        "maximum_mmhg": one.maximum_mmhg,
        "reason": one.reason,
        "words": one.words,
        "by": one.prescriber.name,
    }
    if one.vascular_by and one.vascular_on:
        said |= {"vascular_by": one.vascular_by, "vascular_on": one.vascular_on}
    return said


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


@dataclass(frozen=True)
class BoxProblem:
    """One thing that keeps a visit from being a case.

    Attributes
    ----------
    path : str
        Path of the box, or of the table of boxes, that it is about.
    code : Wrong
        What kind of problem it is.
    said : Said
        One sentence; the value is named as the case names it in its leg.
    place : tuple[str, ...]
        Where the judged value stands in the case document.
    """

    path: str
    code: Wrong
    said: Said
    place: tuple[str, ...]


class VisitError(InputError):
    """A visit that is no case, with every problem by the path of its box."""

    def __init__(self, problems: Sequence[BoxProblem]) -> None:
        self.problems = tuple(problems)
        super().__init__(
            in_lines(
                Said("this visit: {path}: {problem}", {"path": one.path, "problem": one.said})
                for one in problems
            )
        )


def box_problems(problems: Iterable[Problem], side: str) -> tuple[BoxProblem, ...]:
    """Problems of a case document by the paths of the boxes of one leg."""
    return tuple(_box_problem(problem, ("legs", side)) for problem in problems)


def _box_problem(problem: Problem, leg: tuple[str, str]) -> BoxProblem:
    about = tuple(problem.about.split("."))
    of_leg = about[:2] == leg
    said = problem.said
    if not problem.field and of_leg:
        # A rule of the whole case names its value first, with the leg that the page shows anyway.
        name = ".".join(about[2:])
        said = Said("{field} {problem}", {"field": name, "problem": problem.words})
    return BoxProblem(
        ".".join(("leg", *about[2:]) if of_leg else about),
        problem.code,
        said,
        tuple((problem.field or problem.about).split(".")),
    )


def case_or_problems(seen: Assembled, *, with_stock: bool = True) -> Case | tuple[BoxProblem, ...]:
    """The visit as a case, or everything that is still missing or contradicts, by box."""
    return case_in(case_mapping(seen, with_stock=with_stock), seen.visit.episode.side)


def case_in(document: Mapping[str, Any], side: str) -> Case | tuple[BoxProblem, ...]:
    """As :func:`case_or_problems`, of the case document of a visit."""
    case = judged(Case, document)
    return case if isinstance(case, Case) else box_problems(case, side)


def case_of(seen: Assembled, *, with_stock: bool = True) -> Case:
    """The visit as a case.

    Raises
    ------
    VisitError
        Naming everything that is still missing or contradicts.
    """
    case = case_or_problems(seen, with_stock=with_stock)
    if isinstance(case, Case):
        return case
    raise VisitError(case)


def safety_case_of(seen: Assembled) -> SafetyCase:
    """Whatever the visit knows, for the safety decision: no girth, no hands, no shelf needed.

    Raises
    ------
    VisitError
        Naming what contradicts.
    """
    side = seen.visit.episode.side
    case = safety_case_in(case_mapping(seen, with_stock=False), side)
    if isinstance(case, SafetyCase):
        return case
    raise VisitError(case)


def safety_case_in(document: Mapping[str, Any], side: str) -> SafetyCase | tuple[BoxProblem, ...]:
    """Whatever the case document of a visit knows, or what contradicts, by box."""
    case = judged(SafetyCase, document)
    return case if isinstance(case, SafetyCase) else box_problems(case, side)
