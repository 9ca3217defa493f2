"""Visits: opened, filled box by box, settled where two people differ, signed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from gaiter.core.case import OverrideReason
from gaiter.core.errors import InputError
from gaiter.records.action import Actor, NotAllowedError, action
from gaiter.records.alarm import unresolved
from gaiter.records.fields import Kind, boxes
from gaiter.records.models import Entry, Episode, OverrideRecord, Role, Visit


@dataclass(frozen=True)
class Typed:
    """What somebody put into a box, and the entry (0: none) that the box showed before."""

    path: str
    value: Any
    base: int


@dataclass(frozen=True)
class Saved:
    """What came of it: the entry that counts now, and whether it clashes with another's."""

    path: str
    entry: int
    clash: bool = False


def open_visit(actor: Actor, episode: Episode, once: str | None = None) -> Visit:
    """A visit of today; the one that is open already where there is one."""
    open_already = episode.visits.filter(signed_at=None).order_by("-day", "-pk").first()
    if open_already is not None:
        return open_already
    if episode.closed_on is not None:
        raise InputError(_("This episode is closed: open a new one for this leg."))
    with action(actor, "open visit", episode, once=once) as act:
        return act.create(Visit, episode=episode, day=actor.today, opened_by=actor.account)


def save_entries(actor: Actor, visit: Visit, typed: Sequence[Typed]) -> list[Saved]:
    """Saves what was typed; what clashes is kept beside what counts, never over it.

    A value clashes when the box held another entry than the one its typist saw, or when the
    visit has been signed.
    """
    known = boxes()
    for item in typed:
        if item.path not in known:
            raise InputError(_("{path} is no box of a visit.").format(path=item.path[:80]))
    with action(actor, "save entries", visit) as act:
        current = {
            entry.path: entry
            for entry in visit.entries.filter(
                state=Entry.State.CURRENT, path__in=[item.path for item in typed]
            )
        }
        signed = Visit.objects.values_list("signed_at", flat=True).get(pk=visit.pk)
        saved = []
        for item in typed:
            was = current.get(item.path)
            if was is not None and _content(was) == item.value:
                saved.append(Saved(item.path, was.pk))
                continue
            clash = (was.pk if was else 0) != item.base or signed is not None
            if was is not None and not clash:
                act.change(was, state=Entry.State.PAST)
            is_text = known[item.path].kind is Kind.TEXT
            entry = act.create(
                Entry,
                visit=visit, path=item.path,
                value=None if is_text else item.value,
                words=item.value if is_text else None,
                state=Entry.State.RIVAL if clash else Entry.State.CURRENT,
                author=actor.account, at=act.at,
            )  # fmt: skip
            counts = was.pk if clash and was else 0 if clash else entry.pk
            saved.append(Saved(item.path, counts, clash))
        return saved


def _content(entry: Entry) -> Any:
    return entry.words if entry.words is not None else entry.value


def settle_clash(actor: Actor, visit: Visit, path: str, chosen: int) -> Entry:
    """Chooses which of two people's values counts; the others stay as past entries."""
    with action(actor, "settle clash", visit) as act:
        entries = list(
            visit.entries.filter(path=path).exclude(state=Entry.State.PAST).order_by("pk")
        )
        winner = next((entry for entry in entries if entry.pk == chosen), None)
        if winner is None:
            raise InputError(_("That value is no longer there to choose: look at the page again."))
        for entry in entries:
            if entry is not winner:
                act.change(entry, state=Entry.State.PAST)
        return act.change(winner, state=Entry.State.CURRENT)


def override_stops(  # every part of an override is named and none has a default
    actor: Actor,
    visit: Visit,
    *,
    codes: Sequence[str],
    maximum_mmhg: float,
    reason: str,
    words: str,
) -> OverrideRecord:
    """A prescriber sets soft stops aside, with a reason from the list and in words."""
    if actor.account.role != Role.PRESCRIBER:
        raise NotAllowedError(_("Only a prescriber may set a stop aside."))
    if reason not in list(OverrideReason):
        raise InputError(_("Choose a reason from the list."))
    words = words.strip()
    if not 10 <= len(words) <= 2000:
        raise InputError(
            _("Your words must be 10 to 2000 characters; received {words}: say why.").format(
                words=len(words)
            )
        )
    if not 5 <= maximum_mmhg <= 50:
        raise InputError(
            _("The maximum must be 5 to 50 mmHg; received {maximum_mmhg:g}: correct it.").format(
                maximum_mmhg=maximum_mmhg
            )
        )
    if not codes:
        raise InputError(_("There is no stop to set aside."))
    with action(actor, "override", visit) as act:
        for old in visit.overrides.filter(withdrawn_at=None):
            act.change(old, withdrawn_at=act.at)
        return act.create(
            OverrideRecord,
            visit=visit, codes=list(codes), maximum_mmhg=maximum_mmhg, reason=reason, words=words,
            prescriber=actor.account, at=act.at,
        )  # fmt: skip


def withdraw_override(actor: Actor, override: OverrideRecord) -> OverrideRecord:
    """The stop stands again."""
    if actor.account.role != Role.PRESCRIBER:
        raise NotAllowedError(_("Only a prescriber may change an override."))
    with action(actor, "withdraw override", override.visit) as act:
        return act.change(override, withdrawn_at=act.at)


def sign_visit(actor: Actor, visit: Visit, next_visit: date | None) -> Visit:
    """Closes a visit, with the day of the next one.

    Raises
    ------
    InputError
        If values still clash, a bandage put on at this visit was not checked, or a bad check is
        not resolved.
    """
    if visit.signed_at is not None:
        raise InputError(_("This visit was signed already."))
    if visit.entries.filter(state=Entry.State.RIVAL).exists():
        raise InputError(
            _("Two people differ about a value of this visit: choose which one counts.")
        )
    if visit.bandagings.filter(checks=None).exists():
        raise InputError(_("The bandage put on at this visit was not checked: check it first."))
    if reason := unresolved(visit):
        raise InputError(reason)
    if next_visit is None:
        raise InputError(_("Give the day of the next visit."))
    if not visit.day < next_visit <= date(visit.day.year + 1, 12, 31):
        raise InputError(
            _(
                "The next visit must be after {day} and within a year; received "
                "{next_visit}: correct the date."
            ).format(day=visit.day, next_visit=next_visit)
        )
    with action(actor, "sign visit", visit) as act:
        return act.change(visit, next_visit=next_visit, signed_at=act.at, signed_by=actor.account)
