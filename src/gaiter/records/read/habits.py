"""What the clinic's own readings teach: each bandager's habits, and the sensor against theory."""

from datetime import date, datetime
from typing import Any

from django.db.models import Max, QuerySet

from gaiter.core.applied.calibration import BandageReading, learnt_calibration
from gaiter.core.applied.habits import HandReading, learnt_habits
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
    treated = latest_applied().filter(bandaging__by=account).values_list("bandaging__at", "hands")
    practised = Attempt.objects.filter(by=account).values_list("at", "hands")
    return [_hand(at, *entry) for at, hands in (*treated, *practised) for entry in hands]


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
    rows: list[tuple[str, Any]] = list(
        latest_applied().exclude(sensor=None).order_by("pk").values_list("system", "sensor")
    )
    return learnt_calibration([_bandage(system, *sensor) for system, sensor in rows], policy)


def _bandage(system: str, log_remainder: float, log_error: float, values: int) -> BandageReading:
    return BandageReading(system, log_remainder, log_error, values)
