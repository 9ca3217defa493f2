"""What needs doing today: one look over every open episode, in a fixed number of queries."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from gaiter.core.applied.document import Advice
from gaiter.core.policy import Policy
from gaiter.records.action import local_day
from gaiter.records.models import (
    AppliedRecord,
    BandageEvent,
    CallBack,
    Check,
    Entry,
    Episode,
    PlanRecord,
    Reading,
    Visit,
)


class Mark(StrEnum):
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


# A visit that is this many days late counts as missed (our choice, no source).
MISSED_AFTER_DAYS = 2
# A girth that changed by this share changes the pressure of the same stretch by as much
# (Laplace); smaller changes lie within the tape's error (our choice, no source).
DRIFT_SHARE = 0.05
# Prognosis thresholds at four weeks: on track from 40 % smaller, to be assessed again under
# 20 % (Kantor & Margolis 2000, Br J Dermatol 142:960; cut-offs as surveyed in the method note).
STALL_WEEKS, STALL_SHARE = 4, 0.20

DANGER = {
    "leg.findings.rest_pain": "pain at rest",
    "leg.findings.new_pain": "new pain",
    "leg.findings.colour_change": "change of colour",
    "leg.findings.acute_ischaemia": "signs of sudden lack of blood",
    "leg.findings.gangrene": "dead tissue",
    "leg.findings.sepsis": "unwell with infection",
    "person.breathless_lying": "breathless lying flat",
    "person.heart_failure_decompensated": "heart failure decompensated",
}
_DANGER_CHOICES = {
    "leg.findings.infection": {"spreading": "spreading infection"},
    "leg.findings.clot.state": {"suspected": "clot suspected", "confirmed": "clot confirmed"},
    "toes.colour": {c: f"toes {c}" for c in ("paler", "bluer", "greyer")},
    "toes.warmth": {"cold": "toes cold"},
    "toes.feeling": {"no toe": "no feeling in the toes"},
}
_ANKLE, _LENGTH, _WIDTH = "leg.girth_cm.ankle", "leg.wound.length_cm", "leg.wound.width_cm"
_TESTED = "leg.arterial.measured_on"
_PATHS = {*DANGER, *_DANGER_CHOICES, _ANKLE, _LENGTH, _WIDTH, _TESTED}


@dataclass
class Standing:
    """One episode with every mark and its sentence."""

    episode: Episode
    last: Visit | None
    plan: PlanRecord | None
    open_visit: Visit | None
    marks: dict[Mark, str] = field(default_factory=dict)

    @property
    def next_visit(self) -> date | None:
        """Day of the next visit."""
        return self.last.next_visit if self.last else None


# What ends a warning from readings; a later bandage and its readings do as well.
_PUT_RIGHT = (Check.Deed.REDONE, Check.Deed.TAKEN_OFF)


@dataclass
class _Facts:
    """Rows of one episode."""

    visits: list[Visit] = field(default_factory=list)
    plans: list[PlanRecord] = field(default_factory=list)
    entries: dict[int, dict[str, Any]] = field(default_factory=lambda: defaultdict(dict))
    checks: list[Check] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    applied: list[AppliedRecord] = field(default_factory=list)
    events: list[BandageEvent] = field(default_factory=list)
    calls: list[CallBack] = field(default_factory=list)


def caseload(policy: Policy, today: date) -> list[Standing]:
    """Every open episode, those that need somebody first."""
    episodes = list(Episode.objects.filter(closed_on=None).select_related("person"))
    facts = _facts(episodes)
    order = {mark: rank for rank, mark in enumerate(Mark)}
    standings = [
        standing_of(e, facts[e.pk], policy, today, _of_person(e, episodes, facts)) for e in episodes
    ]
    standings.sort(
        key=lambda s: (
            min((order[mark] for mark in s.marks), default=len(order)),
            s.next_visit or date.max,
        )
    )
    return standings


def standing(episode: Episode, policy: Policy, today: date) -> Standing:
    """One episode with its marks."""
    whole = Episode.objects.filter(person_id=episode.person_id, closed_on=None)
    episodes = [episode, *whole.exclude(pk=episode.pk)]
    facts = _facts(episodes)
    said = _of_person(episode, episodes, facts)
    return standing_of(episode, facts[episode.pk], policy, today, said)


def _of_person(
    episode: Episode, episodes: Sequence[Episode], facts: Mapping[int, _Facts]
) -> list[str]:
    """Warning signs of the person that were seen at a visit of the other leg."""
    return [
        _("{what} (visit of the other leg)").format(what=_(words))
        for other in episodes
        if other.person_id == episode.person_id and other.pk != episode.pk
        for path, words in DANGER.items()
        if path.startswith("person.")
        and facts[other.pk].visits
        and facts[other.pk].entries[facts[other.pk].visits[-1].pk].get(path) is True
    ]


def _facts(episodes: Sequence[Episode]) -> Mapping[int, _Facts]:
    found: dict[int, _Facts] = defaultdict(_Facts)
    inside = {"visit__episode__in": episodes}
    for visit in Visit.objects.filter(episode__in=episodes).order_by("day", "pk"):
        found[visit.episode_id].visits.append(visit)
    plans = PlanRecord.objects.filter(**inside).defer("document", "case")
    for plan in plans.select_related("visit").order_by("pk"):
        found[plan.visit.episode_id].plans.append(plan)
    entries = Entry.objects.filter(**inside, state=Entry.State.CURRENT, path__in=_PATHS)
    for episode_id, visit_id, path, value in entries.values_list(
        "visit__episode_id", "visit_id", "path", "value"
    ):
        found[episode_id].entries[visit_id][path] = value
    through = {"bandaging__visit__episode__in": episodes}
    for check in Check.objects.filter(**through).select_related("bandaging__visit").order_by("at"):
        found[check.bandaging.visit.episode_id].checks.append(check)
    for reading in (
        Reading.objects.filter(**through, kind=Reading.Kind.SENSOR)
        .select_related("bandaging__visit", "bandaging__plan")
        .defer("bandaging__plan__document", "bandaging__plan__case")
        .order_by("at")
    ):
        found[reading.bandaging.visit.episode_id].readings.append(reading)
    for applied in (
        AppliedRecord.objects.filter(**through)
        .select_related("bandaging__visit")
        .only("advice", "at", "bandaging__visit__episode_id")
        .order_by("at")
    ):
        found[applied.bandaging.visit.episode_id].applied.append(applied)
    for event in BandageEvent.objects.filter(episode__in=episodes).order_by("at"):
        found[event.episode_id].events.append(event)
    for call in CallBack.objects.filter(episode__in=episodes, done_at=None).order_by("at"):
        found[call.episode_id].calls.append(call)
    return found


def standing_of(
    episode: Episode, facts: _Facts, policy: Policy, today: date, of_person: Sequence[str] = ()
) -> Standing:
    """The marks of one episode."""
    signed = [visit for visit in facts.visits if visit.signed_at is not None]
    open_visit = next((visit for visit in facts.visits if visit.signed_at is None), None)
    approved = [p for p in facts.plans if p.state == PlanRecord.State.APPROVED]
    waiting = [p for p in facts.plans if p.state == PlanRecord.State.PROPOSED]
    made = Standing(
        episode, signed[-1] if signed else None, approved[-1] if approved else None, open_visit
    )
    if warnings := [*_warnings(facts), *of_person]:
        made.marks[Mark.WARNING] = "; ".join(warnings)
    if made.next_visit is not None and open_visit is None:
        late = (today - made.next_visit).days
        if late > MISSED_AFTER_DAYS:
            made.marks[Mark.MISSED] = _("was due {late} days ago").format(late=late)
        elif late > 0:
            made.marks[Mark.OVERDUE] = _("was due {next_visit:%a %d %b}").format(
                next_visit=made.next_visit
            )
        elif late == 0:
            made.marks[Mark.DUE] = _("last seen {day:%d %b}").format(day=signed[-1].day)
    elif open_visit is not None:
        made.marks[Mark.DUE] = _("visit of {day:%d %b} is open").format(day=open_visit.day)
    elif not facts.visits:
        made.marks[Mark.DUE] = _("first visit")
    if facts.calls:
        made.marks[Mark.CALL] = facts.calls[0].why[:120]
    if waiting:
        made.marks[Mark.APPROVAL] = _("proposed {proposed_at:%d %b, %H:%M}").format(
            proposed_at=timezone.localtime(waiting[-1].proposed_at)
        )
    if drift := _drift(facts, made.plan):
        made.marks[Mark.DRIFT] = drift
    if stalled := _stalled(facts):
        made.marks[Mark.STALLED] = stalled
    if due := _arterial(facts, policy, today):
        made.marks[Mark.ARTERIAL] = due
    return made


def _warnings(facts: _Facts) -> list[str]:
    """What went wrong at the last visit or since, until a later visit has looked again."""
    found = []
    if facts.visits:
        said = facts.entries[facts.visits[-1].pk]
        found += [_(words) for path, words in DANGER.items() if said.get(path) is True]
        for path, words in _DANGER_CHOICES.items():
            if said.get(path) in words:
                found.append(_(words[said[path]]))
    for check in facts.checks[-1:]:
        if check.bad and facts.visits and check.bandaging.visit_id == facts.visits[-1].pk:
            found.append(_("check not good, {deed}").format(deed=check.get_deed_display()))
    for reading in facts.readings[-1:]:
        most = reading.bandaging.plan.maximum_mmhg
        if reading.value > most:
            found.append(
                _("sensor read {value:g} mmHg, above the maximum {most:g}").format(
                    value=reading.value, most=most
                )
            )
    for applied in facts.applied[-1:]:
        off = [c for c in facts.checks if c.at > applied.at and c.deed in _PUT_RIGHT]
        if applied.advice == Advice.TAKE_OFF and not off:
            found.append(_("readings say: take the bandage off now"))
    last_day = facts.visits[-1].day if facts.visits else date.min
    found += [
        _("bandage {what} on {at:%d %b}").format(
            what=event.get_kind_display(), at=local_day(event.at)
        )
        for event in facts.events
        if local_day(event.at) >= last_day
    ]
    return list(dict.fromkeys(found))


def _series(facts: _Facts, path: str) -> list[tuple[Visit, float]]:
    return [
        (visit, float(facts.entries[visit.pk][path]))
        for visit in facts.visits
        if facts.entries[visit.pk].get(path) is not None
    ]


def _drift(facts: _Facts, plan: PlanRecord | None) -> str:
    """The ankle's girth has changed since the plan, and with it the pressure."""
    if plan is None:
        return ""
    ankle = _series(facts, _ANKLE)
    at_plan = [girth for visit, girth in ankle if visit.pk <= plan.visit_id]
    since = [girth for visit, girth in ankle if visit.pk > plan.visit_id]
    if not at_plan or not since:
        return ""
    change = at_plan[-1] / since[-1] - 1
    if abs(change) < DRIFT_SHARE:
        return ""
    return _(
        "ankle {at_plan:g} → {since:g} cm since the plan: the same stretch "
        "presses about {change:.0%} {more}"
    ).format(
        at_plan=at_plan[-1],
        since=since[-1],
        change=abs(change),
        more=_("more") if change > 0 else _("less"),
    )


def _stalled(facts: _Facts) -> str:
    areas = [
        (visit.day, length * float(facts.entries[visit.pk][_WIDTH]))
        for visit, length in _series(facts, _LENGTH)
        if facts.entries[visit.pk].get(_WIDTH) is not None
    ]
    if len(areas) < 2:
        return ""
    day, now = areas[-1]
    before = [(then, area) for then, area in areas if day - then >= timedelta(weeks=STALL_WEEKS)]
    if not before:
        return ""
    then, first = before[-1]
    smaller = 1 - now / first if first else 0.0
    if smaller >= STALL_SHARE:
        return ""
    way = (
        _("{smaller:.0%} smaller").format(smaller=smaller)
        if smaller >= 0
        else _("{smaller:.0%} larger").format(smaller=-smaller)
    )
    return _(
        "wound {way} since {then:%d %b} (reassess under {stall_share:.0%} in four weeks)"
    ).format(way=way, then=then, stall_share=STALL_SHARE)


def _arterial(facts: _Facts, policy: Policy, today: date) -> str:
    tested = [
        facts.entries[visit.pk][_TESTED]
        for visit in facts.visits
        if facts.entries[visit.pk].get(_TESTED)
    ]
    if not facts.visits:
        return ""
    if not tested:
        return _("no arterial test on record")
    days = (today - date.fromisoformat(tested[-1])).days
    limit = policy["arterial_test_days"]
    return (
        _("last test {days} days ago, due after {limit:g}").format(days=days, limit=limit)
        if days > limit
        else ""
    )
