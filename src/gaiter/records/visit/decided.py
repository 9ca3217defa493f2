"""The safety decision of a visit, from whatever it knows, and the stops that stand open."""

from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from gaiter.core.case import SafetyCase
from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.policy import Policy
from gaiter.core.problems import Wrong
from gaiter.core.safety import RULES, LegDecision, Outcome, Reason, decide
from gaiter.core.words import SEMICOLON, Said, joined
from gaiter.records.models import Episode, StopAction, StopCleared, Visit
from gaiter.records.visit.boxes import OPENINGS, question_path
from gaiter.records.visit.case import (
    Assembled,
    assembled,
    case_mapping,
    local_policy,
    safety_case_in,
)
from gaiter.records.words import in_language


@dataclass(frozen=True)
class Found:
    """The decision of a visit, and the answers that contradict each other.

    Attributes
    ----------
    decision : LegDecision or None
        Of everything else that is known; None where too much contradicts.
    contradictions : tuple[tuple[str, Said], ...]
        Path of the box and what is wrong, for each.
    """

    decision: LegDecision | None
    contradictions: tuple[tuple[str, Said], ...] = ()


# Details that make a contradiction with the answer they hang on; left out, nothing gets milder.
_DETAILS = tuple(OPENINGS)


def found_at(seen: Assembled) -> Found:
    """The decision from whatever a visit knows; one wrong box never hides a stop.

    What contradicts is left out, as if it had not been said, and is named.
    """
    document = case_mapping(seen, with_stock=False)
    return found_in(document, seen.visit.episode.side, local_policy())


def found_in(document: Mapping[str, Any], side: str, policy: Policy) -> Found:
    """As :func:`found_at`, of the case document of a visit."""
    mapping = deepcopy(dict(document))
    contradictions: dict[str, Said] = {}
    for _attempt in range(4):
        case = safety_case_in(mapping, side)
        if isinstance(case, SafetyCase):
            decision = decide(case, policy).legs[Side(side)]
            return Found(decision, tuple(contradictions.items()))
        for problem in case:
            # What is still to be filled in is no contradiction.
            if problem.code is not Wrong.MISSING:
                contradictions.setdefault(problem.path, problem.said)
            _leave_out(mapping, list(problem.place), side)
    return Found(None, tuple(contradictions.items()))


def document_without(document: Mapping[str, Any], path: str, side: str) -> dict[str, Any]:
    """The case document of a visit with one box emptied."""
    mapping = deepcopy(dict(document))
    _leave_out(mapping, question_path(path).replace("leg.", f"legs.{side}.", 1).split("."), side)
    return mapping


def _leave_out(mapping: dict[str, Any], place: list[str], side: str) -> None:
    """Removes one value, or from a whole table the details that hang on another answer."""
    if place[:3] == ["legs", side, "wound"]:
        wound = mapping["legs"][side].pop("wound", {})
        if place[3:] != ["place"] and "place" in wound:
            mapping["legs"][side]["wound"] = {"place": wound["place"]}
        return
    table: Any = mapping
    for part in place[:-1]:
        table = table.get(part) if isinstance(table, Mapping) else None
    if not isinstance(table, dict) or place[-1] not in table:
        return
    if not isinstance(table[place[-1]], dict):
        del table[place[-1]]
        return
    for path in _DETAILS:
        parts = path.replace("leg.", f"legs.{side}.", 1).split(".")
        if parts[: len(place)] == place:
            inner: Any = mapping
            for part in parts[:-1]:
                inner = inner.get(part, {}) if isinstance(inner, Mapping) else {}
            if isinstance(inner, dict):
                inner.pop(parts[-1], None)


def decision_at(visit: Visit) -> LegDecision | None:
    """The decision of a visit; None where too much of it contradicts."""
    return found_at(assembled(visit)).decision


def decision_of(seen: Assembled) -> LegDecision:
    """The decision of what is known at a visit; no girth, no hands, no shelf needed.

    Raises
    ------
    InputError
        Naming what contradicts, where no decision can be made.
    """
    found = found_at(seen)
    if found.decision is None:
        raise InputError(joined((said for _path, said in found.contradictions), SEMICOLON))
    return found.decision


def stops_of(decision: LegDecision) -> list[Reason]:
    """What stops a leg: the stops not set aside, or the arteries that leave no pressure at all."""
    if decision.outcome is not Outcome.STOP:
        return []
    return [reason for reason in decision.reasons if reason.code in decision.limiting]


def stops_without_action(visit: Visit, decision: LegDecision) -> list[Reason]:
    """Stops of a visit for which nobody said yet to whom the person was referred."""
    named = set(visit.stop_actions.values_list("code", flat=True))
    return [reason for reason in stops_of(decision) if reason.code not in named]


def stop_words(code: str) -> str:
    """What a stop is called in a list, by its rule, in the reader's language."""
    return in_language(stop_said(code))


def stop_said(code: str) -> Said:
    """What a stop is called in a list, by its rule."""
    rule = RULES.get(code)
    danger = rule.danger if rule is not None else ""
    return Said("Stop: {what}.", {"what": Said(danger or code.replace("_", " "))}, code)


def uncleared_stops(episode: Episode) -> list[StopAction]:
    """What was done about stops that no prescriber has cleared since, newest first."""
    # Of the leg, not of the episode: closed and opened anew it is the same leg.
    leg = {"episode__person_id": episode.person_id, "episode__side": episode.side}
    of_visit = {f"visit__{name}": value for name, value in leg.items()}
    actions = StopAction.objects.filter(**of_visit).select_related("by", "visit")
    cleared = list(StopCleared.objects.filter(**leg).values_list("code", "at"))
    return uncleared(list(actions.order_by("-at", "-pk")), cleared)


def uncleared(
    actions: Sequence[StopAction], cleared: Sequence[tuple[str, object]]
) -> list[StopAction]:
    """The last action of every code that was not cleared after it; actions newest first."""
    found: dict[str, StopAction] = {}
    for one in actions:
        later = any(code == one.code and at >= one.at for code, at in cleared)  # type: ignore[operator] # moments
        if one.code not in found and not later:
            found[one.code] = one
    return list(found.values())
