"""The red-flag screen of a visit: what one press may answer, and what was said before.

Its questions are those that the safety rules need; nothing here names one.
"""

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from gaiter.core.landmark import Side
from gaiter.core.policy import Policy
from gaiter.core.safety import Carry, LegDecision, carry_of, decide, one_press_paths, screen_paths
from gaiter.exchange.case_file import safety_case_from_mapping
from gaiter.exchange.wording import FileError
from gaiter.records.assemble import Assembled, case_mapping, local_policy
from gaiter.records.fields import NOTHING_FOUND, OPENINGS, box_path, boxes, question_path
from gaiter.records.models import Account, AuditEntry, Visit

ONE_PRESS = "asked all, none present"
"""What the audit calls the one press."""

_WOUND = "leg.wound."
_WOUND_SAID = "leg.findings.wound"


def screen_boxes() -> tuple[str, ...]:
    """Boxes of every question that the rules need, in the order they are asked."""
    return tuple(path for p in screen_paths() if (path := box_path(p)) in boxes())


def open_to_press(seen: Assembled) -> tuple[str, ...]:
    """Boxes that "asked all of these, none present" would answer at a visit.

    Never what has an answer that counts today, what was positive last time, what two people
    differ about, or what the rules keep from it.
    """
    allowed = one_press_paths()
    return tuple(
        path
        for question in screen_paths()
        if question in allowed
        and (path := box_path(question)) in boxes()
        and path not in seen.known
        and path not in seen.rivals
        and not positive_last_time(seen, path)
    )


def positive_last_time(seen: Assembled, path: str) -> bool:
    """Whether a box held more than "nothing found" when it was last answered."""
    last = seen.last.get(path)
    if last is not None and last.value not in NOTHING_FOUND:
        return True
    # A wound that is described was found, whether or not its question was ever asked.
    return path == _WOUND_SAID and any(known.startswith(_WOUND) for known in seen.known)


def to_look_at_again(seen: Assembled) -> tuple[str, ...]:
    """Boxes of the screen whose bad answer of an earlier visit counts until somebody looks."""
    return tuple(
        path
        for question in screen_paths()
        if (path := box_path(question)) in seen.known
        and seen.known[path].carried
        and carry_of(question) is Carry.AFRESH
    )


@dataclass(frozen=True)
class Press:
    """One press of "asked all of these, none present"."""

    who: str
    at: Any


def pressed(visit: Visit) -> Press | None:
    """Who pressed last at a visit, and when; None where nobody did."""
    entry = (
        AuditEntry.objects.filter(subject=f"visit:{visit.pk}", verb=ONE_PRESS)
        .order_by("-number")
        .first()
    )
    if entry is None:
        return None
    account = Account.objects.filter(username=entry.who).first()
    return Press(account.name if account else entry.who, entry.at)


@dataclass(frozen=True)
class Found:
    """The decision of a visit, and the answers that contradict each other.

    Attributes
    ----------
    decision : LegDecision or None
        Of everything else that is known; None where too much contradicts.
    contradictions : tuple[tuple[str, str], ...]
        Path of the box and what is wrong, for each.
    """

    decision: LegDecision | None
    contradictions: tuple[tuple[str, str], ...] = ()


# How a problem starts that is no contradiction: something is still to be filled in.
_MISSING = "required and missing"
# Details that make a contradiction with the answer they hang on; left out, nothing gets milder.
_DETAILS = tuple(OPENINGS)


def found_at(seen: Assembled) -> Found:
    """The decision from whatever a visit knows; one wrong box never hides a stop.

    What contradicts is left out, as if it had not been said, and is named.
    """
    return found_in(case_mapping(seen, with_stock=False), seen.visit.episode.side)


def found_in(document: Mapping[str, Any], side: str, policy: Policy | None = None) -> Found:
    """As :func:`found_at`, of the case document of a visit."""
    mapping = deepcopy(dict(document))
    contradictions: dict[str, str] = {}
    for _attempt in range(4):
        try:
            case = safety_case_from_mapping(mapping, "this visit")
        except FileError as error:
            for problem in error.problems:
                # A rule of the whole case names its field first in its sentence.
                field = problem.field or problem.text.split(" ", 1)[0]
                if not problem.text.startswith(_MISSING):
                    said = problem.text.replace(f"legs.{side}.", "")
                    contradictions.setdefault(field.replace(f"legs.{side}", "leg"), said)
                _leave_out(mapping, field.split("."), side)
            continue
        decision = decide(case, policy or local_policy()).legs[Side(side)]
        return Found(decision, tuple(contradictions.items()))
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
