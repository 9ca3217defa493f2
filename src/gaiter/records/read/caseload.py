"""What needs doing today: one look over every open episode, in a fixed number of queries.

Rows are asked for here; what their numbers mean is judged in :mod:`gaiter.core.episode`.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from gaiter.core.episode import (
    Lateness,
    above_maximum,
    arterial_due,
    girth_drift,
    lateness,
    wound_stalled,
)
from gaiter.core.policy import Policy
from gaiter.core.safety import RULES, LegDecision
from gaiter.core.words import Said
from gaiter.records.ledger import Actor, local_day
from gaiter.records.models import Episode, PlanRecord, Visit
from gaiter.records.read.alarm import alarm_of
from gaiter.records.read.facts import ANKLE, LENGTH, WIDTH, Facts, facts_of
from gaiter.records.read.visible import visible_people
from gaiter.records.visit.decided import stop_words
from gaiter.records.words import in_language


class Concern(StrEnum):
    """Why an episode stands in the list."""

    WARNING = gettext_noop("warning sign")
    MISSED = gettext_noop("missed visit")
    OVERDUE = gettext_noop("overdue")
    DUE = gettext_noop("due today")
    CALL = gettext_noop("call to return")
    APPROVAL = gettext_noop("plan waits for approval")
    DRIFT = gettext_noop("pressure drift")
    STALLED = gettext_noop("wound stalled")
    ARTERIAL = gettext_noop("arterial test due")


@dataclass
class LegToday:
    """One episode with every mark and its sentence."""

    episode: Episode
    last: Visit | None
    plan: PlanRecord | None
    open_visit: Visit | None
    decision: LegDecision | None = None
    marks: dict[Concern, str] = field(default_factory=dict)

    @property
    def next_visit(self) -> date | None:
        """Day of the next visit."""
        return self.last.next_visit if self.last else None


def caseload(policy: Policy, today: date, actor: Actor) -> list[LegToday]:
    """Every open episode that the actor sees, those that need somebody first."""
    mine = Episode.objects.filter(closed_on=None, person__in=visible_people(actor))
    episodes = list(mine.select_related("person"))
    facts = facts_of(episodes, policy, today)
    order = {mark: rank for rank, mark in enumerate(Concern)}
    legs_today = [
        leg_today_of(e, facts[e.pk], policy, today, _of_person(e, episodes, facts))
        for e in episodes
    ]
    legs_today.sort(
        key=lambda s: (
            min((order[mark] for mark in s.marks), default=len(order)),
            s.next_visit or date.max,
        )
    )
    return legs_today


def leg_today(episode: Episode, policy: Policy, today: date) -> LegToday:
    """One episode with its marks."""
    whole = Episode.objects.filter(person_id=episode.person_id, closed_on=None)
    episodes = [episode, *whole.exclude(pk=episode.pk).select_related("person")]
    facts = facts_of(episodes, policy, today)
    said = _of_person(episode, episodes, facts)
    return leg_today_of(episode, facts[episode.pk], policy, today, said)


def danger_signs(decision: LegDecision | None, *, of_person: bool = False) -> list[str]:
    """What the rules that fired call a danger sign, gravest first; a stop set aside says so."""
    found = []
    for reason in decision.reasons if decision is not None else ():
        rule = RULES.get(reason.code)
        if rule is None or (of_person and not rule.of_person):
            continue
        words = _(rule.danger) if rule.danger else in_language(reason.said) if rule.stops else ""
        if words and rule.stops and reason.kind is not rule.kind:
            words = _("{what}, set aside").format(what=words)
        if words:
            found.append(words)
    return found


def _of_person(
    episode: Episode, episodes: Sequence[Episode], facts: Mapping[int, Facts]
) -> list[str]:
    """Danger signs of the person that were seen at a visit of the other leg."""
    return [
        _("{what} (visit of the other leg)").format(what=words)
        for other in episodes
        if other.person_id == episode.person_id and other.pk != episode.pk
        for words in danger_signs(facts[other.pk].decision, of_person=True)
    ]


@dataclass(frozen=True)
class _Look:
    """Everything that the questions about one leg are asked of."""

    facts: Facts
    policy: Policy
    today: date
    of_person: Sequence[str]

    @property
    def last(self) -> Visit | None:
        """The last visit that was signed."""
        signed = [visit for visit in self.facts.visits if visit.signed_at is not None]
        return signed[-1] if signed else None

    @property
    def open_visit(self) -> Visit | None:
        """The visit that is open."""
        return next((visit for visit in self.facts.visits if visit.signed_at is None), None)

    @property
    def awaited(self) -> date | None:
        """Day of the next visit; None while one is open, or where no day was given."""
        return self.last.next_visit if self.last and self.open_visit is None else None

    def is_late(self, how: Lateness) -> bool:
        """Whether the next visit is so late."""
        awaited = self.awaited
        return awaited is not None and lateness(awaited, self.today, self.policy) is how

    def series(self, path: str) -> list[tuple[Visit, float]]:
        """What was measured at a path, by visit, oldest first."""
        series = self.facts.series
        return [
            (visit, float(series[visit.pk][path]))
            for visit in self.facts.visits
            if series[visit.pk].get(path) is not None
        ]


def leg_today_of(
    episode: Episode, facts: Facts, policy: Policy, today: date, of_person: Sequence[str] = ()
) -> LegToday:
    """The marks of one episode."""
    look = _Look(facts, policy, today, of_person)
    marks = {concern: words for concern, asked in _CONCERNS if (words := asked(look))}
    return LegToday(episode, look.last, facts.in_force, look.open_visit, facts.decision, marks)


def _missed(look: _Look) -> str:
    if look.awaited is None or not look.is_late(Lateness.MISSED):
        return ""
    return _("was due {late} days ago").format(late=(look.today - look.awaited).days)


def _overdue(look: _Look) -> str:
    if not look.is_late(Lateness.OVERDUE):
        return ""
    return _("was due {next_visit:%a %d %b}").format(next_visit=look.awaited)


def _due(look: _Look) -> str:
    if look.open_visit is not None:
        return _("visit of {day:%d %b} is open").format(day=look.open_visit.day)
    if look.last is not None and look.is_late(Lateness.DUE):
        return _("last seen {day:%d %b}").format(day=look.last.day)
    return "" if look.facts.visits else _("first visit")


def _call(look: _Look) -> str:
    return look.facts.calls[0].why[:120] if look.facts.calls else ""


def _waits(look: _Look) -> str:
    waiting = [p for p in look.facts.plans if p.state == PlanRecord.State.PROPOSED]
    if not waiting:
        return ""
    return _("proposed {proposed_at:%d %b, %H:%M}").format(
        proposed_at=timezone.localtime(waiting[-1].proposed_at)
    )


def _drift(look: _Look) -> str:
    """The ankle's girth at the plan in force against the last one since."""
    plan = look.facts.in_force
    if plan is None:
        return ""
    ankle = look.series(ANKLE)
    at_plan = [girth for visit, girth in ankle if visit.pk <= plan.visit_id]
    since = [girth for visit, girth in ankle if visit.pk > plan.visit_id]
    if not at_plan or not since:
        return ""
    return _said(girth_drift(at_plan[-1], since[-1], look.policy))


def _stalled(look: _Look) -> str:
    areas = [
        (visit.day, length * float(look.facts.series[visit.pk][WIDTH]))
        for visit, length in look.series(LENGTH)
        if look.facts.series[visit.pk].get(WIDTH) is not None
    ]
    return _said(wound_stalled(areas, look.policy))


def _arterial(look: _Look) -> str:
    decision = look.facts.today
    return _said(arterial_due(decision)) if decision is not None else ""


def _said(said: Said | None) -> str:
    return in_language(said) if said is not None else ""


def _warned(look: _Look) -> str:
    """What is wrong now: alarm, stops, danger signs, a plan that ended, a bandage that came off."""
    found = [
        *_alarmed(look),
        *_signs(look.facts),
        *_ended(look.facts),
        *_read_too_high(look.facts),
        *_came_off(look.facts),
        *look.of_person,
    ]
    return "; ".join(dict.fromkeys(found))


def _alarmed(look: _Look) -> Iterator[str]:
    alarm = alarm_of(look.facts.alarm_facts, look.policy)
    if alarm is not None:
        yield f"{_(alarm.headline)} ({', '.join(map(in_language, alarm.failed))})"


def _signs(facts: Facts) -> Iterator[str]:
    """Stops that are not cleared, then danger signs that none of them names."""
    last = facts.visits[-1] if facts.visits else None
    said = [
        one
        for one in facts.uncleared
        if last is None or one.visit_id != last.pk or last.signed_at is not None
    ]
    for one in said:
        yield _("{what} Referred to {whom}, not cleared").format(
            what=stop_words(one.code), whom=one.referred_to
        )
    named = {_(RULES[one.code].danger) for one in said if one.code in RULES}
    yield from (sign for sign in danger_signs(facts.decision) if sign not in named)


def _ended(facts: Facts) -> Iterator[str]:
    """The plan that ended, while none is in force."""
    ended = [p for p in facts.plans if p.state == PlanRecord.State.VOIDED]
    if ended and facts.in_force is None:
        why = (ended[-1].ended_why or "").rstrip(".")
        yield _("the plan ended: {why}").format(why=why)


def _read_too_high(facts: Facts) -> Iterator[str]:
    """What a sensor read last at any place of the bandage that was read last."""
    if not facts.readings:
        return
    on = facts.readings[-1].bandaging
    last = {one.place: one.value for one in facts.readings if one.bandaging_id == on.pk}
    said = above_maximum(max(last.values()), on.plan.maximum_mmhg)
    if said is not None:
        yield in_language(said)


def _came_off(facts: Facts) -> Iterator[str]:
    """Bandages loosened or taken off since the last visit."""
    last_day = facts.visits[-1].day if facts.visits else date.min
    for event in facts.events:
        if local_day(event.at) >= last_day:
            yield _("bandage {what} on {at:%d %b}").format(
                what=event.get_kind_display(), at=local_day(event.at)
            )


# In the order of the list of today: what is asked of every leg, each in words or nothing.
_CONCERNS: tuple[tuple[Concern, Callable[[_Look], str]], ...] = (
    (Concern.WARNING, _warned),
    (Concern.MISSED, _missed),
    (Concern.OVERDUE, _overdue),
    (Concern.DUE, _due),
    (Concern.CALL, _call),
    (Concern.APPROVAL, _waits),
    (Concern.DRIFT, _drift),
    (Concern.STALLED, _stalled),
    (Concern.ARTERIAL, _arterial),
)
