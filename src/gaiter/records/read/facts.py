"""Rows behind the list of today: every open leg in a fixed number of queries, each decided once."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import F, Q, Window
from django.db.models.functions import RowNumber

from gaiter.core.policy import Policy
from gaiter.core.safety import LegDecision
from gaiter.records.models import (
    AppliedRecord,
    BandageEvent,
    CallBack,
    Check,
    Deed,
    Entry,
    Episode,
    OverrideRecord,
    PlanRecord,
    ProvisionalRecord,
    Reading,
    StopAction,
    StopCleared,
    Visit,
)
from gaiter.records.read.alarm import AlarmFacts
from gaiter.records.visit.case import Around, Assembled, carried, mapping_of
from gaiter.records.visit.decided import found_in, uncleared

ANKLE, LENGTH, WIDTH = "leg.girth_cm.ankle", "leg.wound.length_cm", "leg.wound.width_cm"
_SERIES = (ANKLE, LENGTH, WIDTH)
# What no rule looks at.
_ASIDE = Q(path__startswith="care.") | (Q(path__startswith="look.") & ~Q(path="look.pain"))


@dataclass
class Facts:
    """Rows of one episode, oldest first, and the decision of its last visit."""

    visits: list[Visit] = field(default_factory=list)
    plans: list[PlanRecord] = field(default_factory=list)
    series: dict[int, dict[str, Any]] = field(default_factory=lambda: defaultdict(dict))
    checks: list[Check] = field(default_factory=list)
    deeds: list[Deed] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    applied: list[AppliedRecord] = field(default_factory=list)
    events: list[BandageEvent] = field(default_factory=list)
    calls: list[CallBack] = field(default_factory=list)
    overrides: list[OverrideRecord] = field(default_factory=list)
    provisionals: list[ProvisionalRecord] = field(default_factory=list)
    actions: list[StopAction] = field(default_factory=list)
    cleared: list[StopCleared] = field(default_factory=list)
    decision: LegDecision | None = None
    today: LegDecision | None = None

    @property
    def in_force(self) -> PlanRecord | None:
        """The plan in force."""
        approved = [p for p in self.plans if p.state == PlanRecord.State.APPROVED]
        return approved[-1] if approved else None

    @property
    def alarm_facts(self) -> AlarmFacts:
        """Rows that raise or answer an alarm."""
        checks = [check for check in self.checks if check.verdict]
        return AlarmFacts(checks, self.deeds, self.applied, self.events)

    @property
    def uncleared(self) -> list[StopAction]:
        """Stops of earlier visits that no prescriber has cleared."""
        newest_first = sorted(self.actions, key=lambda one: (one.at, one.pk), reverse=True)
        return uncleared(newest_first, [(one.code, one.at) for one in self.cleared])


def facts_of(episodes: Sequence[Episode], policy: Policy, today: date) -> Mapping[int, Facts]:
    """Facts of every episode by its key, decided as of its last visit and as of today."""
    found: dict[int, Facts] = defaultdict(Facts)
    for visit in Visit.objects.filter(episode__in=episodes).order_by("day", "pk"):
        found[visit.episode_id].visits.append(visit)
    _of_visits(found, episodes)
    _of_bandagings(found, episodes)
    for event in BandageEvent.objects.filter(episode__in=episodes).order_by("at"):
        found[event.episode_id].events.append(event)
    for call in CallBack.objects.filter(episode__in=episodes, done_at=None).order_by("at"):
        found[call.episode_id].calls.append(call)
    _of_stops(found, episodes)
    _decide(found, episodes, policy, today)
    return found


def _of_visits(found: dict[int, Facts], episodes: Sequence[Episode]) -> None:
    inside = {"visit__episode__in": episodes}
    plans = PlanRecord.objects.filter(**inside).defer("document", "case")
    for plan in plans.select_related("visit").order_by("pk"):
        found[plan.visit.episode_id].plans.append(plan)
    series = Entry.objects.filter(**inside, state=Entry.State.CURRENT, path__in=_SERIES)
    for episode_id, visit_id, path, value in series.values_list(
        "visit__episode_id", "visit_id", "path", "value"
    ):
        found[episode_id].series[visit_id][path] = value
    overrides = OverrideRecord.objects.filter(
        **inside, withdrawn_at=None, aim_low_mmhg__isnull=False
    )
    for override in overrides.select_related("visit", "prescriber").order_by("at", "pk"):
        found[override.visit.episode_id].overrides.append(override)
    provisionals = ProvisionalRecord.objects.filter(**inside, withdrawn_at=None)
    for chosen in provisionals.select_related("visit", "by", "order__prescriber").order_by("at"):
        found[chosen.visit.episode_id].provisionals.append(chosen)


def _of_stops(found: dict[int, Facts], episodes: Sequence[Episode]) -> None:
    """Stops of each leg, those of its closed episodes included."""
    legs: dict[tuple[int, str], list[int]] = defaultdict(list)
    for episode in episodes:
        legs[episode.person_id, episode.side].append(episode.pk)
    people = {person for person, _side in legs}
    actions = StopAction.objects.filter(visit__episode__person_id__in=people)
    for one in actions.select_related("visit__episode"):
        of = one.visit.episode
        for pk in legs.get((of.person_id, of.side), ()):
            found[pk].actions.append(one)
    for cleared in StopCleared.objects.filter(episode__person_id__in=people).select_related(
        "episode"
    ):
        for pk in legs.get((cleared.episode.person_id, cleared.episode.side), ()):
            found[pk].cleared.append(cleared)


def _of_bandagings(found: dict[int, Facts], episodes: Sequence[Episode]) -> None:
    # A bandage that was undone leaves its alarm standing, here as on the page of the leg.
    through = {"bandaging__visit__episode__in": episodes}
    for check in Check.objects.filter(**through).select_related("bandaging__visit").order_by("at"):
        found[check.bandaging.visit.episode_id].checks.append(check)
    for deed in Deed.objects.filter(**through).select_related("bandaging__visit").order_by("at"):
        found[deed.bandaging.visit.episode_id].deeds.append(deed)
    for reading in (
        Reading.objects.filter(**through, bandaging__undone_at=None, kind=Reading.Kind.SENSOR)
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


def _decide(
    found: dict[int, Facts], episodes: Sequence[Episode], policy: Policy, today: date
) -> None:
    """The decision of every last visit; what counts there is what each box said last."""
    latest, corrections = _latest_entries(episodes), _corrections(episodes)
    for episode in episodes:
        facts = found[episode.pk]
        if not facts.visits:
            continue
        visit = facts.visits[-1]
        visit.episode = episode
        entries = _at(visit, episode, latest) + _corrected_before(visit, episode, corrections)
        seen = carried(visit, sorted(entries, key=_moment), {})
        beside = _around(visit, episode, facts, found, episodes)
        facts.decision = _decided(seen, beside, policy, None)
        facts.today = _decided(seen, beside, policy, max(today, visit.day))


def _decided(
    seen: Assembled, beside: Around, policy: Policy, today: date | None
) -> LegDecision | None:
    document = mapping_of(seen, beside, today)
    return found_in(document, seen.visit.episode.side, policy).decision


def _latest_entries(episodes: Sequence[Episode]) -> list[tuple[Any, ...]]:
    """The last value of every box of every episode, oldest first."""
    last = Window(
        RowNumber(),
        partition_by=[F("visit__episode_id"), F("path")],
        order_by=[F("visit__day").desc(), F("visit_id").desc()],
    )
    entries = (
        Entry.objects.filter(visit__episode__in=episodes, state=Entry.State.CURRENT)
        .exclude(_ASIDE)
        .exclude(value=None, words=None)
        .annotate(rank=last)
        .filter(rank=1)
        .order_by("visit__day", "visit_id")
    )
    return list(entries.values_list(*_COLUMNS))


_COLUMNS = (
    "path", "value", "words", "pk", "visit__day", "visit_id", "visit__episode_id",
    "visit__episode__person_id",
)  # fmt: skip


def _at(visit: Visit, episode: Episode, latest: Sequence[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    """Entries of a leg, and of its person at the visits before, as the visit page counts them."""
    return [
        (path, value, words, pk, "", day, visit_id)
        for path, value, words, pk, day, visit_id, episode_id, person_id in latest
        if person_id == episode.person_id
        and (day, visit_id) <= (visit.day, visit.pk)
        and (episode_id == episode.pk or path.startswith("person."))
    ]


def _corrections(episodes: Sequence[Episode]) -> list[tuple[Any, ...]]:
    """What was typed after a signature: as the last values, and when."""
    after = Entry.objects.filter(visit__episode__in=episodes, state=Entry.State.AFTER)
    return list(after.exclude(_ASIDE).values_list(*_COLUMNS, "at"))


def _corrected_before(
    visit: Visit, episode: Episode, corrections: Sequence[tuple[Any, ...]]
) -> list[tuple[Any, ...]]:
    """Corrections of earlier visits, made before this one was signed."""
    made = [
        row
        for *row, at in corrections
        if row[5] != visit.pk and (visit.signed_at is None or at <= visit.signed_at)
    ]
    return _at(visit, episode, [tuple(row) for row in made])


def _moment(entry: tuple[Any, ...]) -> tuple[date, int, int]:
    """Day, visit and key of an entry: the order in which values follow each other."""
    _path, _value, _words, pk, _author, day, visit_id = entry
    return day, visit_id, pk


def _around(
    visit: Visit, episode: Episode, facts: Facts, found: Mapping[int, Facts],
    episodes: Sequence[Episode],
) -> Around:  # fmt: skip
    other = any(
        one.person_id == episode.person_id and one.pk != episode.pk
        and found[one.pk].in_force is not None
        for one in episodes
    )  # fmt: skip
    chosen = [one for one in facts.provisionals if one.visit_id == visit.pk]
    return Around(
        other_leg_compressed=other,
        overrides=[one for one in facts.overrides if one.visit_id == visit.pk],
        provisional=chosen[-1] if chosen else None,
    )
