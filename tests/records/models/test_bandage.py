"""What was put on, checked, read and done: words sealed, answers kept as they were given."""

import pytest

from gaiter.records.models import (
    AppliedRecord,
    BandageEvent,
    Bandaging,
    Check,
    Deed,
    Reading,
)
from tests.records.models.rows import made, sealed_at_rest

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("model", "fields"),
    [(Bandaging, {"undone_why"}), (Check, {"words"}), (Deed, {"words"}), (BandageEvent, {"words"}),
     (Reading, set()), (AppliedRecord, set())],
)  # fmt: skip
def test_what_is_sealed(model, fields) -> None:
    assert sealed_at_rest(model) == fields


def test_answers_come_back_as_they_were_given() -> None:
    answers = {"colour": "paler", "pain": "8"}
    check = made(Check, answers=answers, bad=["colour"], failed=["toes paler"], verdict="")
    again = Check.objects.get(pk=check.pk)
    assert (again.answers, again.bad, again.failed) == (answers, ["colour"], ["toes paler"])


def test_a_check_before_there_were_verdicts_has_none() -> None:
    assert (Check().verdict, Check().failed) == ("", [])


def test_what_may_be_done_with_a_check_may_be_done_later_too() -> None:
    assert set(Check.Deed.values) < set(Deed.Kind.values)
    assert set(BandageEvent.Kind.values) < set(Deed.Kind.values)


def test_a_bandage_knows_its_checks_readings_and_deeds() -> None:
    check = made(Check)
    bandaging = check.bandaging
    deed, reading = made(Deed, bandaging=bandaging), made(Reading, bandaging=bandaging)
    applied = made(AppliedRecord, bandaging=bandaging)
    assert list(bandaging.checks.all()) == [check]
    assert list(bandaging.deeds.all()) == [deed]
    assert list(bandaging.readings.all()) == [reading]
    assert list(bandaging.applied.all()) == [applied]
