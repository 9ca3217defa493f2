"""Visits: opened, filled box by box, settled where two people differ, signed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.core.safety import LegDecision, none_present
from gaiter.records.actions.clinical import require_clinical
from gaiter.records.actions.closed import require_open, require_unsigned
from gaiter.records.actions.shelf import bandage_on
from gaiter.records.clash import ClashError
from gaiter.records.ledger import Action, Actor, NotAllowedError, action
from gaiter.records.models import Entry, Episode, PlanRecord, Role, Visit
from gaiter.records.read.alarm import unresolved
from gaiter.records.read.holding import PlanVerdict, holding
from gaiter.records.read.in_force import open_visit_of, plan_in_force
from gaiter.records.visit.boxes import BoxKind, boxes, question_path
from gaiter.records.visit.case import assembled
from gaiter.records.visit.decided import found_at, stops_without_action
from gaiter.records.visit.screen import ONE_PRESS, open_to_press
from gaiter.records.words import in_language

# Raising the pressure of a fragile or first-time leg is the prescriber's.
FULL_START = ("leg.start", "full")


@dataclass(frozen=True)
class Typed:
    """What somebody put into a box, and the entry (0: none) that the box showed before."""

    path: str
    value: Any
    base: int


@dataclass(frozen=True)
class Saved:
    """What came of it: the entry that counts now, and what else became of the value.

    ``clash``: it stands beside another's until somebody chooses; ``after``: it came after the
    signature, as a correction.
    """

    path: str
    entry: int
    clash: bool = False
    after: bool = False


def open_visit(actor: Actor, episode: Episode, once: str | None = None) -> Visit:
    """A visit of today; the one that is open already where there is one."""
    try:
        if (already := open_visit_of(episode)) is not None:
            return already
        with action(actor, "open visit", episode, once=once) as act:
            require_open(episode)
            return act.create(Visit, episode=episode, day=actor.today, opened_by=actor.account)
    except ClashError:
        # Somebody else opened it a moment ago: it is the same visit.
        if (theirs := open_visit_of(episode)) is None:
            raise
        return theirs


def require_own(actor: Actor, item: Typed) -> None:
    """Refuses a value that this account may not put into its box.

    Raises
    ------
    NotAllowedError
        If somebody else than a prescriber raises the pressure of a leg that starts low.
    """
    if (item.path, item.value) == FULL_START and actor.account.role != Role.PRESCRIBER:
        raise NotAllowedError(_("Only a prescriber may choose the full range at once."))


def save_entries(
    actor: Actor, visit: Visit, typed: Sequence[Typed], verb: str = "save entries"
) -> list[Saved]:
    """Saves what was typed; what clashes is kept beside what counts, never over it.

    A value clashes when the box held another entry than the one its typist saw. What is typed
    after the visit was signed, or its episode closed, is a correction under its own author: it
    stands beside what was signed, and counts at later visits.
    """
    require_clinical(actor)
    known = boxes()
    for item in typed:
        if item.path not in known:
            raise InputError(_("{path} is no box of a visit.").format(path=item.path[:80]))
        require_own(actor, item)
    with action(actor, verb, visit) as act:
        return _save(act, visit, typed)


def _save(act: Action, visit: Visit, typed: Sequence[Typed]) -> list[Saved]:
    late = visit.signed_at is not None or visit.episode.closed_on is not None
    states = [Entry.State.AFTER, Entry.State.CURRENT] if late else [Entry.State.CURRENT]
    paths = [item.path for item in typed]
    latest: dict[str, dict[str, Entry]] = {state: {} for state in Entry.State.values}
    for entry in visit.entries.filter(state__in=states, path__in=paths).order_by("pk"):
        latest[entry.state][entry.path] = entry
    saved = []
    for item in typed:
        was = latest[Entry.State.CURRENT].get(item.path)
        stands = latest[Entry.State.AFTER].get(item.path, was)
        counts = was.pk if was is not None else 0
        if stands is not None and _content(stands) == item.value:
            saved.append(Saved(item.path, counts, after=stands.state == Entry.State.AFTER))
            continue
        state = Entry.State.CURRENT
        if late:
            state = Entry.State.AFTER
        elif counts != item.base:
            state = Entry.State.RIVAL
        elif was is not None:
            act.change(was, state=Entry.State.PAST)
        is_text = boxes()[item.path].kind is BoxKind.TEXT
        entry = act.create(
            Entry,
            visit=visit, path=item.path,
            value=None if is_text else item.value,
            words=item.value if is_text else None,
            state=state, author=act.actor.account, at=act.at,
        )  # fmt: skip
        latest[state][item.path] = entry
        if state == Entry.State.CURRENT:
            counts = entry.pk
        saved.append(
            Saved(item.path, counts, state == Entry.State.RIVAL, state == Entry.State.AFTER)
        )
    return saved


def _content(entry: Entry) -> Any:
    return entry.words if entry.words is not None else entry.value


def settle_clash(actor: Actor, visit: Visit, path: str, chosen: int) -> Entry:
    """Chooses which of two people's values counts; the others stay as past entries."""
    require_clinical(actor)
    with action(actor, "settle clash", visit) as act:
        require_unsigned(visit)
        counting = [Entry.State.CURRENT, Entry.State.RIVAL]
        entries = list(visit.entries.filter(path=path, state__in=counting).order_by("pk"))
        winner = next((entry for entry in entries if entry.pk == chosen), None)
        if winner is None:
            raise InputError(_("That value is no longer there to choose: look at the page again."))
        for entry in entries:
            if entry is not winner:
                act.change(entry, state=Entry.State.PAST)
        return act.change(winner, state=Entry.State.CURRENT)


def sign_visit(actor: Actor, visit: Visit, next_visit: date | None) -> Visit:
    """Closes a visit, with the day of the next one; a plan that what was found voids ends here.

    Raises
    ------
    InputError
        If values still clash or contradict each other, a bandage put on at this visit was not
        checked, a bad check is not resolved, a stop has no named action, or the next visit is later
        than policy allows.
    """
    require_clinical(actor)
    with action(actor, "sign visit", visit) as act:
        # Read inside: somebody may have typed or signed a moment ago.
        require_open(visit.episode)
        _require_signable(visit, next_visit)
        force = plan_in_force(visit.episode)
        found = holding(visit, force) if force is not None else None
        if force is not None and found is not None and found.verdict is PlanVerdict.VOID:
            act.change(
                force, state=PlanRecord.State.VOIDED, ended_at=act.at, ended_by=None,
                ended_why=found.words,
            )  # fmt: skip
        return act.change(visit, next_visit=next_visit, signed_at=act.at, signed_by=actor.account)


def _require_signable(visit: Visit, next_visit: date | None) -> None:
    if visit.signed_at is not None:
        raise InputError(_("This visit was signed already."))
    if visit.entries.filter(state=Entry.State.RIVAL).exists():
        raise InputError(
            _("Two people differ about a value of this visit: choose which one counts.")
        )
    if visit.bandagings.filter(undone_at=None, checks=None).exists():
        raise InputError(_("The bandage put on at this visit was not checked: check it first."))
    if reason := unresolved(visit):
        raise InputError(reason)
    known = found_at(assembled(visit))
    if known.contradictions:
        texts = "; ".join(in_language(said) for _path, said in known.contradictions)
        raise InputError(
            _("Answers of this visit contradict each other: {texts}").format(texts=texts)
        )
    decision = known.decision
    if decision is not None:
        _require_action_for_stops(visit, decision)
    if next_visit is None:
        raise InputError(_("Give the day of the next visit."))
    if not visit.day < next_visit <= date(visit.day.year + 1, 12, 31):
        raise InputError(
            _(
                "The next visit must be after {day} and within a year; received "
                "{next_visit}: correct the date."
            ).format(day=visit.day, next_visit=next_visit)
        )
    if decision is not None:
        _require_first_look(visit, decision, next_visit)


def _require_action_for_stops(visit: Visit, decision: LegDecision) -> None:
    if open_stops := stops_without_action(visit, decision):
        texts = "; ".join(in_language(reason.said) for reason in open_stops)
        raise InputError(
            _("Say first to whom the person was referred, and when, for each stop: {texts}").format(
                texts=texts
            )
        )


def _require_first_look(visit: Visit, decision: LegDecision, next_visit: date) -> None:
    """A reduced bandage that is new on this leg is looked at within the days of its rule."""
    bandaging = bandage_on(visit)
    if decision.first_look_days is None or bandaging is None:
        return
    before = bandaging.plan.bandagings.filter(undone_at=None).exclude(visit_id=visit.pk)
    latest = visit.day + timedelta(days=decision.first_look_days)
    if next_visit > latest and not before.exists():
        raise InputError(
            _(
                "A reduced bandage is looked at within {hours} hours: the next visit must be by "
                "{latest}; received {next_visit}: correct the date."
            ).format(hours=24 * decision.first_look_days, latest=latest, next_visit=next_visit)
        )


def answer_none_present(actor: Actor, visit: Visit) -> list[Saved]:
    """Everything that may be was asked, and nothing is present: one press, an entry a question.

    Raises
    ------
    NotAllowedError
        If somebody else than clinical staff presses.
    InputError
        If the visit is signed, or nothing is left that one press may answer.
    """
    if actor.account.role not in (Role.PRESCRIBER, Role.BANDAGER):
        raise NotAllowedError(_("Only clinical staff may fill a visit."))
    with action(actor, ONE_PRESS, visit) as act:
        require_unsigned(visit)
        seen = assembled(visit)
        paths = open_to_press(seen)
        if not paths:
            raise InputError(_("Nothing is left that one press may answer: ask one by one."))
        typed = [
            Typed(path, none_present(question_path(path)), seen.emptied.get(path, 0))
            for path in paths
        ]
        return _save(act, visit, typed)
