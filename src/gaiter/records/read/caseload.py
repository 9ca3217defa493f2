"""What needs doing today: one look over every open episode, in a fixed number of queries."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from gaiter.core.policy import Policy
from gaiter.core.safety import RULES, LegDecision, RuleKind, Subject
from gaiter.records.ledger import local_day
from gaiter.records.models import Episode, PlanRecord, Visit
from gaiter.records.read.alarm import alarm_of
from gaiter.records.read.facts import ANKLE, LENGTH, WIDTH, Facts, facts_of
from gaiter.records.visit.decided import stop_words
from gaiter.records.words import in_language

_TEST_DAY = "leg.arterial.measured_on"


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


def caseload(policy: Policy, today: date) -> list[LegToday]:
    """Every open episode, those that need somebody first."""
    episodes = list(Episode.objects.filter(closed_on=None).select_related("person"))
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
        words = rule.danger or (reason.text if rule.stops else "")
        if words and rule.stops and reason.kind is not rule.kind:
            words = _("{what}, set aside").format(what=_(words))
        if words:
            found.append(_(words))
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


def leg_today_of(
    episode: Episode, facts: Facts, policy: Policy, today: date, of_person: Sequence[str] = ()
) -> LegToday:
    """The marks of one episode."""
    signed = [visit for visit in facts.visits if visit.signed_at is not None]
    open_visit = next((visit for visit in facts.visits if visit.signed_at is None), None)
    waiting = [p for p in facts.plans if p.state == PlanRecord.State.PROPOSED]
    made = LegToday(
        episode, signed[-1] if signed else None, facts.in_force, open_visit, facts.decision
    )
    if warnings := [*_warnings(facts, policy), *of_person]:
        made.marks[Concern.WARNING] = "; ".join(dict.fromkeys(warnings))
    if made.next_visit is not None and open_visit is None:
        late = (today - made.next_visit).days
        if late > policy["missed_after_days"]:
            made.marks[Concern.MISSED] = _("was due {late} days ago").format(late=late)
        elif late > 0:
            made.marks[Concern.OVERDUE] = _("was due {next_visit:%a %d %b}").format(
                next_visit=made.next_visit
            )
        elif late == 0:
            made.marks[Concern.DUE] = _("last seen {day:%d %b}").format(day=signed[-1].day)
    elif open_visit is not None:
        made.marks[Concern.DUE] = _("visit of {day:%d %b} is open").format(day=open_visit.day)
    elif not facts.visits:
        made.marks[Concern.DUE] = _("first visit")
    if facts.calls:
        made.marks[Concern.CALL] = facts.calls[0].why[:120]
    if waiting:
        made.marks[Concern.APPROVAL] = _("proposed {proposed_at:%d %b, %H:%M}").format(
            proposed_at=timezone.localtime(waiting[-1].proposed_at)
        )
    if drift := _drift(facts, policy):
        made.marks[Concern.DRIFT] = drift
    if stalled := _stalled(facts, policy):
        made.marks[Concern.STALLED] = stalled
    if due := _arterial(facts.today):
        made.marks[Concern.ARTERIAL] = due
    return made


def _warnings(facts: Facts, policy: Policy) -> list[str]:
    """What is wrong now: alarm, stops, danger signs, a plan that ended, a bandage that came off."""
    found = []
    alarm = alarm_of(facts.alarm_facts, policy)
    if alarm is not None:
        found.append(f"{_(alarm.headline)} ({', '.join(map(in_language, alarm.failed))})")
    last = facts.visits[-1] if facts.visits else None
    said = [
        one
        for one in facts.uncleared
        if last is None or one.visit_id != last.pk or last.signed_at is not None
    ]
    found += [
        _("{what} Referred to {whom}, not cleared").format(
            what=stop_words(one.code), whom=one.referred_to
        )
        for one in said
    ]
    named = {RULES[one.code].danger for one in said if one.code in RULES}
    found += [sign for sign in danger_signs(facts.decision) if sign not in named]
    if facts.plans and facts.in_force is None:
        ended = [p for p in facts.plans if p.state == PlanRecord.State.VOIDED]
        if ended:
            why = (ended[-1].ended_why or "").rstrip(".")
            found.append(_("the plan ended: {why}").format(why=why))
    for reading in facts.readings[-1:]:
        most = reading.bandaging.plan.maximum_mmhg
        if reading.value > most:
            found.append(
                _("sensor read {value:g} mmHg, above the maximum {most:g}").format(
                    value=reading.value, most=most
                )
            )
    last_day = last.day if last is not None else date.min
    found += [
        _("bandage {what} on {at:%d %b}").format(
            what=event.get_kind_display(), at=local_day(event.at)
        )
        for event in facts.events
        if local_day(event.at) >= last_day
    ]
    return found


def _series(facts: Facts, path: str) -> list[tuple[Visit, float]]:
    return [
        (visit, float(facts.series[visit.pk][path]))
        for visit in facts.visits
        if facts.series[visit.pk].get(path) is not None
    ]


def _drift(facts: Facts, policy: Policy) -> str:
    """The ankle's girth has changed since the plan in force, and with it the pressure."""
    plan = facts.in_force
    if plan is None:
        return ""
    ankle = _series(facts, ANKLE)
    at_plan = [girth for visit, girth in ankle if visit.pk <= plan.visit_id]
    since = [girth for visit, girth in ankle if visit.pk > plan.visit_id]
    if not at_plan or not since:
        return ""
    change = at_plan[-1] / since[-1] - 1
    if abs(change) < policy["drift_share"]:
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


def _stalled(facts: Facts, policy: Policy) -> str:
    areas = [
        (visit.day, length * float(facts.series[visit.pk][WIDTH]))
        for visit, length in _series(facts, LENGTH)
        if facts.series[visit.pk].get(WIDTH) is not None
    ]
    if len(areas) < 2:
        return ""
    weeks, share = policy["stall_weeks"], policy["stall_share"]
    day, now = areas[-1]
    before = [(then, area) for then, area in areas if day - then >= timedelta(weeks=weeks)]
    if not before:
        return ""
    then, first = before[-1]
    smaller = 1 - now / first if first else 0.0
    if smaller >= share:
        return ""
    way = (
        _("{smaller:.0%} smaller").format(smaller=smaller)
        if smaller >= 0
        else _("{smaller:.0%} larger").format(smaller=-smaller)
    )
    return _(
        "wound {way} since {then:%d %b} (reassess under {share:.0%} in {weeks:g} weeks)"
    ).format(way=way, then=then, share=share, weeks=weeks)


def _arterial(decision: LegDecision | None) -> str:
    """The first thing that a rule about the arteries asks to be measured, as of today."""
    for reason in decision.reasons if decision is not None else ():
        rule = RULES.get(reason.code)
        if rule is None or rule.subject is not Subject.ARTERIES:
            continue
        if reason.kind is RuleKind.FIRST or _TEST_DAY in rule.reads:
            # What to do about it stands on the visit page; the list says what is due.
            return _(reason.text).split(":")[0]
    return ""
