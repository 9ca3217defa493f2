"""What the clinic's own readings teach: each bandager's habits, and the sensor against theory."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.db.models import Case, F, Max, Q, QuerySet, TextField, When

from gaiter.core.applied.calibration import (
    BandageReading,
    OffsetReading,
    bandage_reading,
    learnt_calibration,
    leg_readings,
)
from gaiter.core.applied.document import TAKEN_VERSION, Applied
from gaiter.core.applied.habits import HandReading, hand_readings, learnt_habits
from gaiter.core.case import Bandager, Calibration, Habit, LegReading, Training
from gaiter.core.landmark import Landmark
from gaiter.core.plan.leg_readings import NEWEST_DAYS
from gaiter.core.policy import Policy
from gaiter.records.ledger import local_day
from gaiter.records.models import Account, AppliedRecord, Attempt, Reading, Visit


def latest_applied() -> QuerySet[AppliedRecord]:
    """The last word on every bandage that was read."""
    last = AppliedRecord.objects.values("bandaging").annotate(last=Max("pk")).values("last")
    return AppliedRecord.objects.filter(pk__in=last)


def hand_readings_of(account: Account) -> list[HandReading]:
    """Every mark spacing on the bandages that somebody laid, practice included."""
    treated = _with_older(latest_applied().filter(bandaging__by=account))
    practised = _with_older(Attempt.objects.filter(by=account))
    rows = (
        *treated.values_list("bandaging__at", "hands", "older"),
        *practised.values_list("at", "hands", "older"),
    )
    return [
        _hand(at, *entry)
        for at, kept, older in rows
        for entry in (kept if older is None else hands_of(Applied.model_validate_json(older)))
    ]


# Kept before the sensor's sites stood apart: without their list at the end.
_SITES_TOGETHER = Q(sensor__isnull=False) & Q(sensor__3__isnull=True)


def _with_older(rows: QuerySet[Any], also: Q | None = None) -> QuerySet[Any]:
    """With the document of the rows that another version has taken from; None beside the others.

    ``also`` names further rows to take anew.
    """
    other = ~Q(taken=TAKEN_VERSION)
    document = When(other | also if also else other, then=F("document"))
    return rows.annotate(older=Case(document, default=None, output_field=TextField(null=True)))


def hands_of(applied: Applied) -> list[list[Any]]:
    """What a bandage tells of the hands, as it is kept."""
    return [
        [hand.material, hand.height.value, hand.log_tension, hand.log_error]
        for hand in hand_readings(applied)
    ]


def sensor_of(applied: Applied) -> list[Any] | None:
    """What a bandage tells of the sensor, as it is kept; None where it tells nothing."""
    told = bandage_reading(applied)
    if told is None:
        return None
    sites = {site.value: [one.log_offset, one.log_error] for site, one in told.offsets.items()}
    return [told.log_remainder, told.log_error, told.values, sites]


def _hand(at: datetime, material: str, height: str, log_tension: float, error: float) -> Any:
    return HandReading(local_day(at), material, Landmark(height), log_tension, error)


def habits_of(account: Account, policy: Policy, today: date) -> dict[str, Habit]:
    """Somebody's habits by material."""
    cv = policy.hands[Training(account.training)].tension_cv
    return learnt_habits(hand_readings_of(account), cv, today)


def bandager_of(account: Account, policy: Policy, today: date) -> Bandager:
    """Somebody as a plan knows them: training, initials and habits."""
    return Bandager(
        training=Training(account.training),
        initials=account.initials,
        habits=habits_of(account, policy, today),
    )


def calibration(policy: Policy) -> Calibration | None:
    """What the clinic's sensor taught so far."""
    kept = latest_applied().exclude(Q(sensor__isnull=True) & Q(taken=TAKEN_VERSION)).order_by("pk")
    columns = ("system", "bandaging__visit__episode_id", "sensor", "older")
    rows = _with_older(kept, _SITES_TOGETHER).values_list(*columns)
    told = [
        (system, leg, sensor if older is None else sensor_of(Applied.model_validate_json(older)))
        for system, leg, sensor, older in rows
    ]
    return learnt_calibration(
        [_bandage(system, leg, *sensor) for system, leg, sensor in told if sensor is not None],
        policy,
    )


def _bandage(
    system: str, leg: int, log_remainder: float, log_error: float, values: int,
    sites: Mapping[str, Sequence[float]],
) -> BandageReading:  # fmt: skip
    offsets = {Landmark(site): OffsetReading(*one) for site, one in sites.items()}
    return BandageReading(system, log_remainder, log_error, values, offsets, str(leg))


def sensor_readings_before(visit: Visit) -> list[LegReading]:
    """What the sensor read on earlier bandages of this leg, of the newest that were read."""
    before = latest_applied().filter(
        bandaging__visit__episode_id=visit.episode_id,
        bandaging__visit_id__lt=visit.pk,
        bandaging__undone_at=None,
        bandaging__in=Reading.objects.filter(kind=Reading.Kind.SENSOR).values("bandaging"),
    )
    rows = before.order_by("-bandaging__at").values_list("bandaging__at", "document")[:NEWEST_DAYS]
    return [
        reading
        for at, document in reversed(rows)
        for reading in leg_readings(Applied.model_validate_json(document), local_day(at))
    ]
