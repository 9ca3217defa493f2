"""The audit log is appended to, and that is all."""

import pytest
from django.db import DatabaseError, transaction

from gaiter.records.clash import ClashError
from gaiter.records.ledger import Actor, action
from gaiter.records.models import AuditEntry

pytestmark = pytest.mark.django_db


@pytest.fixture
def entry():
    with action(Actor(None, "test"), "open", once="a-form"):
        pass
    return AuditEntry.objects.get(once="a-form")


def test_an_entry_is_never_changed_even_inside_an_action(entry) -> None:
    entry.who = "nobody"
    with pytest.raises(RuntimeError, match="never changed"), action(Actor(None), "bend"):
        entry.save(update_fields=["who"])
    assert AuditEntry.objects.get(pk=entry.pk).who == ""


def test_the_database_refuses_what_goes_round_the_model(entry) -> None:
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        AuditEntry.objects.filter(pk=entry.pk).update(who="nobody")
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        AuditEntry.objects.filter(pk=entry.pk).delete()


@pytest.mark.parametrize("twice", ["number", "once"])
def test_number_and_token_stand_once(entry, twice) -> None:
    values = {"number": entry.number + 5, "once": "another", twice: getattr(entry, twice)}
    copy = AuditEntry(
        at=entry.at, who="", role="", where="", verb="v", subject="", changes="[]",
        previous="", hash="", **values,
    )  # fmt: skip
    with pytest.raises(ClashError), action(Actor(None), "double"):
        copy.save(force_insert=True)
