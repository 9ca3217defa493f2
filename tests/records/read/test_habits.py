"""Whose readings teach what: the last word on each bandage that somebody laid, and practice."""

from datetime import UTC, date, datetime

import pytest

from gaiter.core.applied.document import TAKEN_VERSION
from gaiter.core.applied.habits import HandReading
from gaiter.core.landmark import Landmark
from gaiter.records.models import Account, AppliedRecord, Attempt, Bandaging
from gaiter.records.read.habits import (
    bandager_of,
    calibration,
    habits_of,
    hand_readings_of,
    latest_applied,
)
from tests.records.actions.test_practice import applied as document_without_marks
from tests.records.models.rows import made

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)
AT = datetime(2026, 11, 24, 10, 0, tzinfo=UTC)


def account(training="trained") -> Account:
    return made(Account, training=training, initials="TR")


def applied(bandaging, *hands, sensor=None, by=None, **changes):
    changes = {"system": "paste", "taken": TAKEN_VERSION, **changes}
    return made(
        AppliedRecord, bandaging=bandaging, hands=list(hands), sensor=sensor, **changes,
        **({"by": by} if by else {}),
    )  # fmt: skip


def test_only_the_last_word_on_a_bandage_counts() -> None:
    one, other = made(Bandaging, at=AT), made(Bandaging, at=AT)
    applied(one)
    last, only = applied(one), applied(other)
    assert set(latest_applied()) == {last, only}


def test_hands_are_of_whoever_laid_the_bandage_and_of_their_practice() -> None:
    hands, typist = account(), account()
    bandaging = made(Bandaging, by=hands, at=AT)
    applied(bandaging, ["elastic", "ankle", -0.5, 0.02], by=typist)
    applied(bandaging, ["elastic", "ankle", -0.1, 0.02], by=typist)
    made(Attempt, by=hands, at=AT, taken=TAKEN_VERSION, hands=[["wool", "calf", 0.2, 0.03]])
    assert hand_readings_of(hands) == [
        HandReading(date(2026, 11, 24), "elastic", Landmark.ANKLE, -0.1, 0.02),
        HandReading(date(2026, 11, 24), "wool", Landmark.CALF, 0.2, 0.03),
    ]
    assert hand_readings_of(typist) == []


def test_what_another_version_took_is_taken_from_the_document_anew() -> None:
    """The document has no mark spacing, whatever an older program kept of it."""
    hands, document = account(), document_without_marks().model_dump_json(by_alias=True)
    bandaging = made(Bandaging, by=hands, at=AT)
    applied(bandaging, ["elastic", "ankle", -0.1, 0.02], taken=TAKEN_VERSION + 1, document=document)
    assert hand_readings_of(hands) == []


def test_the_day_of_a_reading_is_the_clinics(settings) -> None:
    settings.TIME_ZONE = "Pacific/Auckland"
    hands = account()
    applied(made(Bandaging, by=hands, at=AT.replace(hour=20)), ["elastic", "ankle", 0.0, 0.02])
    assert hand_readings_of(hands)[0].on == date(2026, 11, 25)


def test_a_habit_leans_the_way_that_was_read_and_not_beyond_it(policy) -> None:
    hands = account()
    for _ in range(6):
        bandaging = made(Bandaging, by=hands, at=AT)
        applied(bandaging, *(["elastic", place, -0.2, 0.02] for place in ("ankle", "calf")))
    (habit,) = habits_of(hands, policy, TODAY).values()
    assert habit.readings == 12
    # exp(-0.2) is 18 % less tension; the prior draws it towards none.
    assert -18.2 < habit.heights[Landmark.CALF].tension_percent < -9
    assert habits_of(hands, policy, date(2026, 11, 23)) == {}


def test_a_bandager_has_training_initials_and_habits(policy) -> None:
    known = bandager_of(account("untrained"), policy, TODAY)
    assert (known.training.value, known.initials, dict(known.habits)) == ("untrained", "TR", {})


def test_the_sensor_teaches_by_the_last_word_of_each_bandage(policy) -> None:
    assert calibration(policy) is None
    one = made(Bandaging, at=AT)
    applied(one, sensor=[0.4, 0.05, 9, {}])
    applied(one, sensor=[-0.5, 0.05, 2, {"calf": [-0.1, 0.1]}])
    applied(made(Bandaging, at=AT), sensor=[-0.5, 0.05, 3, {"calf": [-0.1, 0.1]}])
    applied(made(Bandaging, at=AT), sensor=None)
    made_of = calibration(policy)
    learnt, calf = made_of.clinic, made_of.sites[Landmark.CALF]
    assert (calf.bandages, calf.legs) == (2, 2)
    assert (learnt.bandages, learnt.values) == (2, 5)
    # exp(-0.5) = 0.61 lies under the policy's median, and so does what is learnt.
    assert 0.61 < learnt.median < policy["theory_remainder_median"]
