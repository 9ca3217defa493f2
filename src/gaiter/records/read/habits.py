"""What the clinic's own readings teach: each bandager's habits, and the sensor against theory."""

from datetime import date, datetime
from typing import Any

from django.db.models import Case, F, Max, Q, QuerySet, TextField, When

from gaiter.core.applied.calibration import BandageReading, bandage_reading, learnt_calibration
from gaiter.core.applied.document import TAKEN_VERSION, Applied
from gaiter.core.applied.habits import HandReading, hand_readings, learnt_habits
from gaiter.core.case import Bandager, Calibration, Habit, Training
from gaiter.core.landmark import Landmark
from gaiter.core.policy import Policy
from gaiter.records.ledger import local_day
from gaiter.records.models import Account, AppliedRecord, Attempt


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


def _with_older(rows: QuerySet[Any]) -> QuerySet[Any]:
    """With the document of the rows that another version has taken from; None beside the others."""
    document = When(~Q(taken=TAKEN_VERSION), then=F("document"))
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
    return [told.log_remainder, told.log_error, told.values] if told else None


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
    told = [
        (system, sensor if older is None else sensor_of(Applied.model_validate_json(older)))
        for system, sensor, older in _with_older(kept).values_list("system", "sensor", "older")
    ]
    return learnt_calibration(
        [_bandage(system, *sensor) for system, sensor in told if sensor is not None], policy
    )


def _bandage(system: str, log_remainder: float, log_error: float, values: int) -> BandageReading:
    return BandageReading(system, log_remainder, log_error, values)
