"""The red-flag screen of a visit: what one press may answer, and what was said before.

Its questions are those that the safety rules need; nothing here names one.
"""

from dataclasses import dataclass
from typing import Any

from gaiter.core.safety import Carry, carry_of, one_press_paths, screen_paths
from gaiter.records.models import Account, AuditEntry, Visit
from gaiter.records.visit.boxes import NOTHING_FOUND, box_path, boxes
from gaiter.records.visit.case import Assembled

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
