"""What the log keeps of a row is what the database gives back, of every model and field."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from django.apps import apps

from gaiter.records.content import digest_logged, digest_now, logged, name_of
from gaiter.records.ledger import Row
from gaiter.records.models import (
    Account,
    AuditEntry,
    Entry,
    Note,
    PlanRecord,
    Role,
    StandingOrder,
    StoredFile,
)  # fmt: skip
from tests.records.models.rows import SECRET, made

pytestmark = pytest.mark.django_db
KEPT = [
    model
    for model in apps.get_app_config("records").get_models()
    if issubclass(model, Row) and model is not AuditEntry
]


def same(row, said) -> bool:
    return all(
        digest_now(row, field) == digest_logged(said[field.attname], field)
        for field in row._meta.concrete_fields
    )


@pytest.mark.parametrize("model", KEPT, ids=lambda model: model.__name__)
def test_a_row_read_again_is_as_it_was_logged(model) -> None:
    row = made(model)
    again = model._base_manager.get(pk=row.pk)
    assert same(again, logged(row))
    assert name_of(again) == f"{model._meta.model_name}:{row.pk}"


@pytest.mark.parametrize(
    ("model", "given"),
    [
        (StandingOrder, {"maximum_mmhg": 60}),
        (Account, {"role": Role.PRESCRIBER}),
        (PlanRecord, {"accepted": ("a place", "another")}),
        (Entry, {"value": 1e300}),
        (Entry, {"value": {"b": 1, "a": [0.1, None, True]}}),
        (Note, {"at": datetime(2026, 1, 2, 3, 4, 5, 678, timezone(timedelta(hours=5)))}),
    ],
)
def test_how_a_value_was_given_makes_no_difference(model, given) -> None:
    row = made(model, **given)
    assert same(model._base_manager.get(pk=row.pk), logged(row))


def test_values_that_differ_are_told_apart() -> None:
    field = Entry._meta.get_field("value")
    values = [None, False, 0, "", "0", [], {}, 0.1, True, "True", [0], 1e-300]
    assert len({digest_logged(value, field) for value in values}) == len(values) - 0


def test_of_secrets_the_log_keeps_nothing_that_can_be_tried() -> None:
    note, file, account = made(Note), made(StoredFile), made(Account, password="hash")
    assert set(logged(note)["words"]) == {"sealed"}
    assert SECRET not in str(logged(note))
    assert set(logged(file)["content"]) == set(logged(account)["password"]) == {"keyed"}
    # Two people with one password hash, or two rows with one file, do not look alike.
    other = made(StoredFile)
    assert logged(file)["content"] != logged(other)["content"]


def test_days_and_moments_are_written_alike_wherever_the_clinic_is() -> None:
    row = made(StandingOrder, starts=date(2026, 1, 2), ends=date(2026, 1, 3))
    assert logged(row, ["starts"]) == {"starts": "2026-01-02"}
    at = datetime(2026, 1, 2, 3, tzinfo=timezone(timedelta(hours=5)))
    note = made(Note, at=at)
    assert logged(note, ["at"]) == {"at": at.astimezone(UTC).isoformat(timespec="microseconds")}
