"""Wrong tries: counted before they are judged, apart by kind, forgotten after their window."""

from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from gaiter.records.entrance.models import Tries
from gaiter.records.entrance.tries import (
    WINDOW,
    Kind,
    TooManyTriesError,
    count_try,
    forget,
    take_back,
)

pytestmark = pytest.mark.django_db


def spend(kind: Kind, whose: str) -> None:
    for _ in range(kind.value):
        count_try(kind, whose)


def test_so_many_tries_are_taken_and_the_next_is_told_how_long_to_wait() -> None:
    spend(Kind.NAME, "rowan")
    with pytest.raises(TooManyTriesError, match="wait 15 minutes") as refused:
        count_try(Kind.NAME, "rowan")
    assert refused.value.minutes == 15


def test_kinds_and_owners_are_counted_apart() -> None:
    spend(Kind.NAME, "rowan")
    count_try(Kind.NAME, "sedge")
    count_try(Kind.SESSION, "rowan")


def test_a_window_opens_anew_when_it_is_over_and_not_before() -> None:
    spend(Kind.SESSION, "one")
    now = timezone.now()
    with (
        time_machine.travel(now + WINDOW - timedelta(seconds=30)),
        pytest.raises(TooManyTriesError, match="wait 1 minute"),
    ):
        count_try(Kind.SESSION, "one")
    with time_machine.travel(now + WINDOW + timedelta(seconds=1)):
        count_try(Kind.SESSION, "one")


def test_a_clock_that_is_put_back_opens_nothing() -> None:
    spend(Kind.SESSION, "one")
    with (
        time_machine.travel(timezone.now() - timedelta(days=1)),
        pytest.raises(TooManyTriesError),
    ):
        count_try(Kind.SESSION, "one")


def test_a_right_try_is_taken_back_alone() -> None:
    spend(Kind.ADDRESS, "192.0.2.1")
    take_back(Kind.ADDRESS, "192.0.2.1")
    count_try(Kind.ADDRESS, "192.0.2.1")
    with pytest.raises(TooManyTriesError):
        count_try(Kind.ADDRESS, "192.0.2.1")


def test_forgetting_takes_the_wrong_ones_and_what_is_old_of_everybody() -> None:
    spend(Kind.NAME, "rowan")
    with time_machine.travel(timezone.now() + timedelta(hours=2)):
        count_try(Kind.NAME, "sedge")
        forget(Kind.NAME, "sedge")
    assert not Tries.objects.exists()


def test_no_name_that_was_typed_lies_in_the_database() -> None:
    count_try(Kind.NAME, "my password in the wrong box")
    held = Tries.objects.get().fingerprint
    assert len(held) == 64
    assert "password" not in held
    # Names that differ by case or an accent only are two, unlike those of people.
    count_try(Kind.NAME, "My password in the wrong box")
    count_try(Kind.NAME, "\ud800")
    assert Tries.objects.count() == 3
