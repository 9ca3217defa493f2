"""The alarm of one leg: TAKE IT OFF NOW, until somebody said that it is off and what came of it.

An alarm is told by the rows of an episode in their order; nothing else is kept. It is raised by
a check or by readings, answered by what was done, and ends with the look ten minutes later.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum
from typing import Any

from django.utils.translation import gettext as _

from gaiter.core.applied.document import Advice
from gaiter.core.check import Verdict, words
from gaiter.core.policy import Policy
from gaiter.core.words import Said
from gaiter.records.models import (
    AppliedRecord,
    BandageEvent,
    Bandaging,
    Check,
    Deed,
    Episode,
    Visit,
)
from gaiter.records.visit.case import local_policy

READINGS_SAY = Said("Readings say that the bandage presses more than this leg may bear")


class State(StrEnum):
    """Where an alarm stands."""

    LOOSEN = "loosen"
    LOOSENED = "loosened"
    OFF_NOW = "off now"
    LOOK = "look"
    EMERGENCY = "emergency"
    HANDED_OVER = "handed over"


# States in which the bandage must be off the leg, or stay off it.
OFF_STATES = (State.OFF_NOW, State.LOOK, State.EMERGENCY, State.HANDED_OVER)


@dataclass(frozen=True)
class Alarm:
    """What stands open about the bandage of a leg.

    Attributes
    ----------
    state : State
        Where it stands.
    bandaging : int
        Key of the bandage that raised it.
    since : datetime
        When it came to where it stands.
    failed : tuple[Said, ...]
        What was seen.
    by_readings : bool
        True where readings raised it and not the toes.
    called : bool
        True where somebody has called the prescriber.
    handed_to : str
        To whom the person was handed over.
    headline : str
        What to do, for the top of every page of the leg.
    next : tuple[Said, ...]
        What to do, in order.
    """

    state: State
    bandaging: int
    since: datetime
    failed: tuple[Said, ...]
    by_readings: bool = False
    called: bool = False
    handed_to: str = ""
    headline: str = ""
    next: tuple[Said, ...] = ()

    @property
    def off(self) -> bool:
        """True where the bandage comes off or stays off."""
        return self.state in OFF_STATES

    @property
    def sign(self) -> str:
        """Name of the sign beside the headline."""
        return "stop" if self.off else "watch"


@dataclass(frozen=True)
class AlarmFacts:
    """Rows of one episode that raise or answer an alarm; in any order."""

    checks: Sequence[Check] = ()
    deeds: Sequence[Deed] = ()
    applied: Sequence[AppliedRecord] = ()
    events: Sequence[BandageEvent] = ()


def take_off_now(episode: Episode, policy: Policy | None = None) -> Alarm | None:
    """The alarm of a leg whose bandage comes off, or stays off; None where there is none."""
    alarm = open_alarm(episode, policy)
    return alarm if alarm is not None and alarm.off else None


def open_alarm(episode: Episode, policy: Policy | None = None) -> Alarm | None:
    """Whatever is not yet resolved about a leg's bandage, loosening included."""
    inside = {"bandaging__visit__episode_id": episode.pk}
    facts = AlarmFacts(
        checks=list(Check.objects.filter(**inside).exclude(verdict="")),
        deeds=list(Deed.objects.filter(**inside)),
        applied=list(
            AppliedRecord.objects.filter(**inside).only("bandaging_id", "advice", "at", "pk")
        ),
        events=list(BandageEvent.objects.filter(episode_id=episode.pk)),
    )
    return alarm_of(facts, policy or local_policy())


def unresolved(visit: Visit) -> str:
    """Why a visit cannot be signed yet; empty where nothing of its leg stands open."""
    alarm = open_alarm(visit.episode)
    if alarm is None or alarm.state is State.HANDED_OVER:
        return ""
    again = f"{local_policy()['check_again_min']:g}"
    return {
        State.LOOSEN: _("The check was not good: loosen the bandage and say so first."),
        State.LOOSENED: _(
            "The bandage was loosened: look again after {again} minutes and say what you saw."
        ).format(again=again),
        State.OFF_NOW: _("TAKE IT OFF NOW: say that the bandage is off first."),
        State.LOOK: _(
            "The bandage came off: look at the toes after {again} minutes and say what you saw."
        ).format(again=again),
        State.EMERGENCY: _(
            "The toes have not come back: say to whom the person was handed over first."
        ),
    }[alarm.state]


def alarm_of(facts: AlarmFacts, policy: Policy) -> Alarm | None:
    """The alarm that some rows add up to.

    Parameters
    ----------
    facts : AlarmFacts
        Rows of one episode.
    policy : Policy
        Minutes until the next look, for the words.
    """
    told = _Told()
    for row in _in_order(facts):
        if isinstance(row, Check):
            told.check(row)
        elif isinstance(row, Deed):
            told.deed(Deed.Kind(row.kind), row.bandaging_id, row.at, row.words)
        elif isinstance(row, AppliedRecord):
            told.readings(row)
        else:
            told.event(row)
    return _worded(told.alarm, policy) if told.alarm else None


def _in_order(facts: AlarmFacts) -> Iterable[Any]:
    """Rows by their time; what was done stands behind what it answers."""
    rows = [*facts.checks, *facts.applied, *facts.events, *facts.deeds]
    rank = {Check: 0, AppliedRecord: 0, BandageEvent: 1, Deed: 1}
    return sorted(rows, key=lambda row: (row.at, rank[type(row)], row.pk))


@dataclass
class _Told:
    """The alarm while the rows are read one after the other."""

    alarm: Alarm | None = None
    latest: int = 0
    off: set[int] = field(default_factory=set)

    def check(self, row: Check) -> None:
        """Boxes; what was done may stand with them."""
        self.latest = max(self.latest, row.bandaging_id)
        state = self.alarm.state if self.alarm else None
        if row.verdict == Verdict.TAKE_OFF:
            self._raise(State.OFF_NOW, row.bandaging_id, row.at, row.seen)
        elif row.verdict == Verdict.LOOSEN:
            # Not good at the look after loosening: off.
            worse = state is State.LOOSENED
            self._raise(
                State.OFF_NOW if worse else State.LOOSEN, row.bandaging_id, row.at,
                row.seen,
            )  # fmt: skip
        elif state is State.LOOSENED:
            self.alarm = None
        if row.deed:
            self.deed(Deed.Kind(row.deed), row.bandaging_id, row.at, row.words)

    def readings(self, row: AppliedRecord) -> None:
        """A bandage that readings say presses too much; readings made again may take it back."""
        self.latest = max(self.latest, row.bandaging_id)
        if row.advice == Advice.TAKE_OFF:
            if row.bandaging_id not in self.off:
                failed = (READINGS_SAY,)
                self._raise(State.OFF_NOW, row.bandaging_id, row.at, failed, by_readings=True)
        elif (
            self.alarm is not None
            and self.alarm.by_readings
            and self.alarm.state is State.OFF_NOW
            and self.alarm.bandaging == row.bandaging_id
        ):
            self.alarm = None

    def event(self, row: BandageEvent) -> None:
        """Somebody, anybody, loosened it or took it off."""
        kind = Deed.Kind.TAKEN_OFF
        if row.kind == BandageEvent.Kind.LOOSENED:
            kind = Deed.Kind.LOOSENED
        self.deed(kind, self.latest, row.at, row.words)

    def deed(self, kind: Deed.Kind, bandaging: int, at: datetime, said: str) -> None:
        """What was done about it."""
        if kind in (Deed.Kind.TAKEN_OFF, Deed.Kind.REDONE):
            self.off.add(bandaging)
        if self.alarm is None:
            if kind is Deed.Kind.NOT_RECOVERED:
                failed = (Said(str(Deed.Kind.NOT_RECOVERED.label)),)
                self.alarm = Alarm(State.EMERGENCY, bandaging, at, failed)
            return
        if kind is Deed.Kind.CALLED:
            self.alarm = replace(self.alarm, called=True)
            return
        pair = (self.alarm.state, kind)
        if pair not in _AFTER:
            return
        after = _AFTER[pair]
        handed_to = said if kind is Deed.Kind.HANDED_OVER else self.alarm.handed_to
        self.alarm = (
            None
            if after is None
            else replace(self.alarm, state=after, since=at, handed_to=handed_to)
        )

    def _raise(
        self, state: State, bandaging: int, at: datetime, failed: tuple[Said, ...],
        *, by_readings: bool = False,
    ) -> None:  # fmt: skip
        """A new alarm, unless a graver one stands."""
        now = self.alarm.state if self.alarm else None
        if now in (State.EMERGENCY, State.HANDED_OVER):
            return
        if state is State.LOOSEN and now in (State.OFF_NOW, State.LOOK):
            return
        if by_readings and now in (State.OFF_NOW, State.LOOK):
            return
        self.alarm = Alarm(state, bandaging, at, failed, by_readings)


_K = Deed.Kind
# What a deed makes of a state; None: resolved. A pair that is not here changes nothing: calling
# somebody, or loosening alone, never answers TAKE IT OFF NOW.
_AFTER: dict[tuple[State, Deed.Kind], State | None] = {
    (State.LOOSEN, _K.LOOSENED): State.LOOSENED,
    (State.LOOSEN, _K.REDONE): State.LOOSENED,
    (State.LOOSEN, _K.TAKEN_OFF): State.LOOK,
    (State.LOOSENED, _K.RECOVERED): None,
    (State.LOOSENED, _K.NOT_RECOVERED): State.OFF_NOW,
    (State.LOOSENED, _K.TAKEN_OFF): State.LOOK,
    (State.LOOSENED, _K.REDONE): State.LOOSENED,
    (State.OFF_NOW, _K.TAKEN_OFF): State.LOOK,
    (State.OFF_NOW, _K.REDONE): State.LOOK,
    (State.LOOK, _K.RECOVERED): None,
    (State.LOOK, _K.NOT_RECOVERED): State.EMERGENCY,
    (State.EMERGENCY, _K.HANDED_OVER): State.HANDED_OVER,
    (State.HANDED_OVER, _K.CLEARED): None,
}


def _worded(alarm: Alarm, policy: Policy) -> Alarm:
    """The alarm with its headline and what to do."""
    off_next = words.what_next(Verdict.TAKE_OFF, policy)
    headline, steps = {
        State.LOOSEN: (words.LOOSEN_IT, words.what_next(Verdict.LOOSEN, policy)),
        State.LOOSENED: (words.LOOSENED, words.what_next(Verdict.LOOSEN, policy)[1:]),
        State.OFF_NOW: (words.TAKE_IT_OFF_NOW, off_next),
        State.LOOK: (words.LOOK_AGAIN, (words.look_again_words(policy), off_next[2])),
        State.EMERGENCY: (words.VASCULAR_EMERGENCY, tuple(map(Said, words.EMERGENCY_NEXT))),
        State.HANDED_OVER: (words.HANDED_OVER, tuple(map(Said, words.HANDED_OVER_NEXT))),
    }[alarm.state]
    return replace(alarm, headline=headline, next=steps)


def bandaging_of(alarm: Alarm) -> Bandaging:
    """The bandage that raised an alarm."""
    return Bandaging.objects.select_related("visit__episode", "by").get(pk=alarm.bandaging)
