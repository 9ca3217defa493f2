"""People, episodes, notes, files and calls."""

import secrets
from collections.abc import Iterable
from datetime import date
from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.actions.clinical import require_clinical
from gaiter.records.actions.closed import require_open
from gaiter.records.actions.teams import place_new, teams_for_new
from gaiter.records.content import name_of
from gaiter.records.ledger import Action, Actor, action
from gaiter.records.models import (
    BandageEvent,
    CallBack,
    Episode,
    Note,
    Person,
    StoredFile,
    Team,
)
from gaiter.records.pictures import cleaned
from gaiter.records.read.alarm import open_alarm
from gaiter.records.read.visible import visible_people
from gaiter.records.sealing import blind_index
from gaiter.records.words import kept_words

# Letters and digits that are not mistaken for each other on tape.
_LETTERS = "ACDEFGHJKLMNPQRTUVWXY34679"
_LONGEST_NAME, _LONGEST_WORDS = 120, 10_000


def add_person(
    actor: Actor,
    *,
    name: str,
    birth_date: date,
    number: str,
    phone: str = "",
    invented: bool = False,
    teams: Iterable[Team] | None = None,
    once: str | None = None,
) -> Person:
    """A new person, in teams of whoever adds them; a number that is known already is refused."""
    teams = teams_for_new(actor, teams)
    fields = _identity(actor, name, birth_date, number, phone)
    with action(actor, "add person", once=once) as act:
        if Person.objects.filter(number_index=fields["number_index"]).exists():
            raise InputError(
                _known_already(actor, fields["number_index"]).format(number=number.strip())
            )
        person = act.create(Person, **fields, invented=invented, created_at=act.at)
        act.subject = f"person:{person.pk}"
        place_new(act, person, teams)
        return person


def _known_already(actor: Actor, number_index: str) -> str:
    """Two records of one person would be worse than knowing that there is one."""
    if visible_people(actor).filter(number_index=number_index).exists():
        return _("A person with the number {number} is in the record already: search for it.")
    return _(
        "A person with the number {number} is in the record already, of another team: ask that "
        "team, or open the record from outside."
    )


def change_person(actor: Actor, person: Person, **changed: Any) -> Person:
    """New identifiers of a person: those that are given, of name, birth_date, number and phone.

    Raises
    ------
    InputError
        If one is none, or the number is another person's.
    StaleError
        If somebody else changed one of these since the person was read.
    """
    held = {
        "name": person.name, "birth_date": date.fromisoformat(person.birth_date),
        "number": person.number, "phone": person.phone,
    }  # fmt: skip
    identity = _identity(actor, **{**held, **changed})
    fields = {
        key: value for key, value in identity.items() if key.removesuffix("_index") in changed
    }
    # By its name, so that the person is not read anew and what the caller saw is compared.
    with action(actor, "change person", name_of(person)) as act:
        same = Person.objects.filter(number_index=identity["number_index"])
        if same.exclude(pk=person.pk).exists():
            raise InputError(
                _("The number {number} belongs to another person: correct it.").format(
                    number=identity["number"]
                )
            )
        return act.change(person, **fields)


def _identity(actor: Actor, name: str, birth_date: date, number: str, phone: str) -> dict[str, str]:
    name, number, phone = name.strip(), number.strip(), phone.strip()
    if not 1 <= len(name) <= _LONGEST_NAME:
        raise InputError(
            _("Name must be 1 to {longest} characters; received {name}: correct it.").format(
                longest=_LONGEST_NAME, name=len(name)
            )
        )
    if not 1 <= len(number) <= 40 or not any(c.isalnum() for c in number):
        raise InputError(
            _("Number must be 1 to 40 letters or digits: give the clinic's own number.")
        )
    if len(phone) > 40:
        raise InputError(
            _("Telephone must be at most 40 characters; received {phone}: shorten it.").format(
                phone=len(phone)
            )
        )
    if not date(1890, 1, 1) <= birth_date <= actor.today:
        raise InputError(
            _("Born must be a day from 1890 to today; received {birth_date}: correct it.").format(
                birth_date=birth_date
            )
        )
    return {
        "name": name,
        "birth_date": birth_date.isoformat(),
        "number": number,
        "phone": phone,
        "name_index": blind_index(name, "name"),
        "number_index": blind_index(number, "number"),
    }


def open_episode(actor: Actor, person: Person, side: str, once: str | None = None) -> Episode:
    """A new episode of one leg."""
    with action(actor, "open episode", person, once=once) as act:
        if person.episodes.filter(side=side, closed_on=None).exists():
            raise InputError(
                _("The {side} leg has an open episode already: go on with that one.").format(
                    side=side
                )
            )
        return act.create(
            Episode, person=person, side=side, reference=_reference(), opened_on=actor.today
        )


def _reference() -> str:
    while True:
        reference = "".join(secrets.choice(_LETTERS) for _turn in range(5))
        if not Episode.objects.filter(reference=reference).exists():
            return reference


def close_episode(actor: Actor, episode: Episode, outcome: str) -> Episode:
    """Ends an episode."""
    _require_outcome(outcome)
    require_clinical(actor)
    with action(actor, "close episode", episode) as act:
        if episode.closed_on is not None:
            raise InputError(
                _("This episode is closed already: give a reason to change its outcome.")
            )
        alarm = open_alarm(episode)
        if alarm is not None and outcome != Episode.Outcome.DIED:
            raise InputError(
                _("{headline}: no episode is closed before that is resolved.").format(
                    headline=alarm.headline
                )
            )
        return act.change(episode, closed_on=actor.today, outcome=outcome)


def _require_outcome(outcome: str) -> None:
    if outcome not in Episode.Outcome.values:
        raise InputError(
            _("Outcome must be one of {values}: choose one.").format(
                values=", ".join(Episode.Outcome.values)
            )
        )


def change_outcome(
    actor: Actor, episode: Episode, outcome: str, words: str, once: str | None = None
) -> Note:
    """Another outcome of a closed episode, and the note that says why under its own author.

    Raises
    ------
    InputError
        If the episode is open, the outcome is none or the one it has, or the reason is missing.
    """
    _require_outcome(outcome)
    require_clinical(actor)
    words = kept_words(_("Your reason"), words, 2000, 10)
    with action(actor, "change outcome", episode, once=once) as act:
        if episode.closed_on is None:
            raise InputError(_("This episode is open: close it with its outcome."))
        if outcome == episode.outcome:
            raise InputError(_("That is its outcome already: choose another, or leave it."))
        before = episode.get_outcome_display()
        act.change(episode, outcome=outcome)
        said = _("Outcome changed from “{before}” to “{after}”: {words}").format(
            before=before, after=episode.get_outcome_display(), words=words
        )
        return act.create(Note, episode=episode, words=said, author=actor.account, at=act.at)


def write_note(actor: Actor, episode: Episode, words: str, once: str | None = None) -> Note:
    """A note on an episode."""
    with action(actor, "write note", episode, once=once) as act:
        return act.create(
            Note,
            episode=episode,
            words=kept_words(_("Note"), words, _LONGEST_WORDS, 1),
            author=actor.account,
            at=act.at,
        )


def ask_for_call(actor: Actor, episode: Episode, why: str, once: str | None = None) -> CallBack:
    """A phone call that somebody has to return."""
    with action(actor, "ask for call", episode, once=once) as act:
        # Nobody would see it: only open legs stand in today's list.
        require_open(episode)
        return act.create(
            CallBack,
            episode=episode,
            why=kept_words(_("Reason"), why, _LONGEST_WORDS, 1),
            author=actor.account,
            at=act.at,
        )


def return_call(actor: Actor, call: CallBack, outcome: str) -> CallBack:
    """A phone call returned."""
    with action(actor, "return call", call.episode) as act:
        if act.read(call).done_at is not None:
            raise InputError(_("This call was returned already."))
        return act.change(
            call,
            done_at=act.at,
            done_by=actor.account,
            outcome=kept_words(_("Outcome"), outcome, _LONGEST_WORDS, 1),
        )


def record_bandage_event(
    actor: Actor, episode: Episode, kind: str, words: str, once: str | None = None
) -> BandageEvent:
    """A bandage loosened or taken off; anyone may record it."""
    require_kind(kind)
    with action(actor, f"bandage {kind.replace('_', ' ')}", episode, once=once) as act:
        return came_off(act, episode, kind, words)


def require_kind(kind: str) -> None:
    """Refuses what is neither loosened nor taken off."""
    if kind not in BandageEvent.Kind.values:
        raise InputError(_("Say whether the bandage was loosened or taken off."))


def came_off(act: Action, episode: Episode, kind: str, words: str) -> BandageEvent:
    """The event, as part of an action; nothing ever stands in its way, a closed episode neither."""
    return act.create(
        BandageEvent,
        episode=episode, kind=kind, words=kept_words(_("Why"), words, _LONGEST_WORDS),
        by=act.actor.account, at=act.at,
    )  # fmt: skip


def store_file(
    actor: Actor, episode: Episode, kind: str, title: str, content: bytes, once: str | None = None
) -> StoredFile:
    """A photo or a PDF, cleaned and sealed."""
    if kind not in StoredFile.Kind.values:
        raise InputError(
            _("Kind must be one of {values}: choose one.").format(
                values=", ".join(StoredFile.Kind.values)
            )
        )
    title = kept_words(_("Title"), title, 120) or str(StoredFile.Kind(kind).label)
    limit = settings.GAITER_LARGEST_FILE
    if not 0 < len(content) <= limit:
        raise InputError(
            _(
                "A file must be at most {limit} MB; received {content:.1f} MB: take "
                "a smaller picture."
            ).format(limit=limit // 2**20, content=len(content) / 2**20)
        )
    mime, clean = cleaned(content)
    with action(actor, "store file", episode, once=once) as act:
        return _stored(act, episode, kind, title, mime, clean)


def _stored(
    act: Action, episode: Episode, kind: str, title: str, mime: str, content: bytes
) -> StoredFile:
    return act.create(
        StoredFile,
        episode=episode, kind=kind, title=title, mime=mime, content=content, size=len(content),
        author=act.actor.account, at=act.at,
    )  # fmt: skip
