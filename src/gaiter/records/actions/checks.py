"""The check of a bandage, what was done when it was not good, and the look ten minutes later."""

from collections.abc import Mapping

from django.utils.translation import gettext as _

from gaiter.core.check import CHECK_BOXES, CheckVerdict, Verdict, judge_check
from gaiter.core.check.boxes import TOES
from gaiter.core.errors import InputError
from gaiter.core.words import as_document
from gaiter.records.actions.clinical import require_clinical
from gaiter.records.actions.closed import require_open
from gaiter.records.actions.people import came_off, require_kind
from gaiter.records.ledger import Action, Actor, NotAllowedError, action
from gaiter.records.models import (
    BandageEvent,
    Bandaging,
    Check,
    Deed,
    Entry,
    Episode,
    Role,
)
from gaiter.records.read.alarm import Alarm, State, open_alarm
from gaiter.records.visit.case import local_policy
from gaiter.records.words import kept_words

# What every box says when it is good.
GOOD_ANSWERS: Mapping[str, str] = {
    key: box.good for key, box in CHECK_BOXES.items()
} | {"pain": "0"}  # fmt: skip

_LOOKS = (Deed.Kind.RECOVERED, Deed.Kind.NOT_RECOVERED)


def baseline_of(bandaging: Bandaging) -> Mapping[str, str | int | None]:
    """Toes and pain as they were said at the visit before its bandage went on, by box.

    What was typed after the bandage was on is no baseline.
    """
    boxes = {f"toes.{box.key}": box.key for box in TOES} | {"look.pain": "pain"}
    said = (
        Entry.objects.filter(
            visit_id=bandaging.visit_id, path__in=boxes, at__lte=bandaging.at
        )
        .exclude(state=Entry.State.RIVAL)
        .order_by("pk")
        .values_list("path", "value")
    )  # fmt: skip
    return {boxes[path]: value for path, value in said}


def record_check(  # the boxes of the sheet, what was done, in words
    actor: Actor, bandaging: Bandaging, moment: str, answers: Mapping[str, str], *,
    deed: str = "", words: str = "", once: str | None = None,
) -> Check:  # fmt: skip
    """The check of a bandage with its verdict.

    A bad check is kept at once, whatever was done about it so far: the alarm of the leg then
    stands until it is resolved. ``deed`` may say what was done already.

    Raises
    ------
    InputError
        If a box is not answered, the deed is no answer to the verdict, or one is named although
        every box is good.
    """
    require_clinical(actor)
    if moment not in Check.Moment.values:
        raise InputError(_("Say when you checked."))
    with action(actor, "record check", bandaging.visit, once=once) as act:
        _require_checkable(act.read(bandaging), moment)
        made = judge_check(answers, baseline_of(bandaging), local_policy())
        if deed:
            _require_an_answer(made, deed)
        kept = {key: answers[key] for key in CHECK_BOXES} | {"pain": int(answers["pain"])}
        return act.create(
            Check,
            bandaging=bandaging, moment=moment, answers=kept,
            bad=[one.key for one in made.failed],
            failed=[as_document(one.said) for one in made.failed],
            verdict=made.verdict.value, deed=deed,
            words=kept_words(_("In words"), words, 2000), by=actor.account, at=act.at,
        )  # fmt: skip


def _require_checkable(bandaging: Bandaging, moment: str) -> None:
    """Refuses a check of what is not on, and one of the day under its signature."""
    if bandaging.undone_at is not None:
        raise InputError(_("This bandage was undone: there is nothing to check."))
    require_open(bandaging.visit.episode)
    if bandaging.visit.signed_at is not None and moment != Check.Moment.LATER:
        raise InputError(
            _("This visit was signed already: what is seen now is a later look, say so.")
        )


def _require_an_answer(made: CheckVerdict, deed: str) -> None:
    if deed not in Check.Deed.values:
        raise InputError(_("Choose from the list what you did."))
    if made.verdict is Verdict.GOOD:
        raise InputError(_("Every box is good: leave the action empty, or correct the boxes."))
    if made.verdict is Verdict.TAKE_OFF and deed == Check.Deed.LOOSENED:
        raise InputError(_("TAKE IT OFF NOW: loosening is no answer here."))


def record_deed(
    actor: Actor, bandaging: Bandaging, kind: str, words: str = "", once: str | None = None
) -> Deed:
    """What was done about a bandage that was not good, or the look ten minutes later.

    Raises
    ------
    InputError
        If that does not answer what stands open about the leg.
    NotAllowedError
        If only a prescriber may.
    """
    if kind not in Deed.Kind.values:
        raise InputError(_("Choose from the list what you did."))
    chosen = Deed.Kind(kind)
    episode = bandaging.visit.episode
    least = {Deed.Kind.HANDED_OVER: 3, Deed.Kind.CLEARED: 10}.get(chosen, 0)
    what = _("To whom, and when") if chosen is Deed.Kind.HANDED_OVER else _("In words")
    with action(actor, f"bandage: {chosen.value.replace('_', ' ')}", episode, once=once) as act:
        act.read(bandaging)
        _require_answering(actor, open_alarm(episode), episode, bandaging, chosen)
        return _did(act, bandaging, chosen, kept_words(what, words, 2000, least))


def _did(act: Action, bandaging: Bandaging, kind: Deed.Kind, words: str = "") -> Deed:
    return act.create(
        Deed,
        bandaging=bandaging, kind=kind.value, words=words, by=act.actor.account, at=act.at,
    )  # fmt: skip


def record_came_off(
    actor: Actor, episode: Episode, kind: str, words: str, after: str, once: str | None = None
) -> None:
    """A bandage loosened or taken off by whoever is there, and the toes ten minutes later.

    Raises
    ------
    InputError
        If what was done is not said.
    """
    require_kind(kind)
    with action(actor, f"bandage {kind.replace('_', ' ')}", episode, once=once) as act:
        latest = Bandaging.objects.filter(visit__episode=episode).order_by("-at", "-pk").first()
        came_off(act, episode, kind, words)
        if after not in _LOOKS or latest is None:
            return
        alarm = open_alarm(episode)
        if after == Deed.Kind.NOT_RECOVERED or (alarm is not None and alarm.state is State.LOOK):
            look = Deed.Kind(after)
            _require_answering(actor, alarm, episode, latest, look)
            _did(act, latest, look)


def _require_answering(
    actor: Actor, alarm: Alarm | None, episode: Episode, bandaging: Bandaging, kind: Deed.Kind
) -> None:
    """Refuses a deed that answers nothing, so that nobody takes it for an answer."""
    if kind is Deed.Kind.TAKEN_OFF:
        return
    if kind is Deed.Kind.CLEARED and actor.account.role != Role.PRESCRIBER:
        raise NotAllowedError(_("Only a prescriber may clear a leg after an emergency."))
    if alarm is None:
        if kind in _LOOKS and _off_since(episode, bandaging):
            return
        raise InputError(_("Nothing stands open about this bandage."))
    state = alarm.state
    if kind is Deed.Kind.LOOSENED and alarm.off:
        raise InputError(_("TAKE IT OFF NOW: loosening is no answer here."))
    if kind in _LOOKS and state not in (State.LOOK, State.LOOSENED):
        raise InputError(
            _("Loosen it or take it off first, and say so; then look again.")
            if state in (State.LOOSEN, State.OFF_NOW)
            else _("It was said already that the toes have not come back.")
        )
    if kind is Deed.Kind.HANDED_OVER and state is not State.EMERGENCY:
        raise InputError(_("There is no emergency to hand over on this leg."))
    if kind is Deed.Kind.CLEARED and state is not State.HANDED_OVER:
        raise InputError(_("Only a leg that was handed over is cleared."))


def _off_since(episode: Episode, bandaging: Bandaging) -> bool:
    """True where anybody took this bandage off, or a later one."""
    return (
        BandageEvent.objects.filter(
            episode=episode, kind=BandageEvent.Kind.TAKEN_OFF, at__gte=bandaging.at
        ).exists()
        or bandaging.deeds.filter(kind=Deed.Kind.TAKEN_OFF).exists()
    )
