"""After a rotation every sealed value opens with the new key alone, and says the same."""

from base64 import b64decode

import pytest
from django.apps import apps

from gaiter.operations.rotate import reseal_rows
from gaiter.records.ledger import broken_at
from gaiter.records.models import AuditEntry, Note, Person, StockItem, StoredFile
from gaiter.records.sealing import SealedBytes, SealedText
from tests.records.models.rows import SECRET, at_rest, made

pytestmark = pytest.mark.django_db


def keys_at_rest() -> set[str]:
    """Names of the keys under which anything in the record is sealed."""
    found = set()
    for model in apps.get_app_config("records").get_models():
        for row in model._default_manager.all():
            held = at_rest(row)
            for field in model._meta.concrete_fields:
                raw = held[field.column]
                if raw is not None and isinstance(field, SealedText):
                    found.add(b64decode(raw).split(b".")[0].decode())
                elif raw is not None and isinstance(field, SealedBytes):
                    found.add(bytes(raw).split(b".")[0].decode())
    return found


@pytest.fixture
def rotated(settings):
    """One row of each kind, the second key the current one since."""
    note, file = made(Note), made(StoredFile)
    made(StockItem)
    settings.GAITER_KEY_RING = {**settings.GAITER_KEY_RING, "current": "2"}
    return note, file


def test_every_row_is_sealed_under_the_current_key(rotated, settings) -> None:
    assert keys_at_rest() == {"1"}
    reseal_rows()
    assert keys_at_rest() == {"2"}
    ring = settings.GAITER_KEY_RING
    settings.GAITER_KEY_RING = {**ring, "keys": {"2": ring["keys"]["2"]}}
    note, file = rotated
    assert Note.objects.get(pk=note.pk).words == SECRET
    assert bytes(StoredFile.objects.get(pk=file.pk).content) == SECRET.encode()
    assert {person.name for person in Person.objects.all()} == {SECRET}


def test_the_rotation_is_noted_once_with_its_rows(rotated) -> None:
    before = AuditEntry.objects.count()
    # A note and a file, each with a person; episodes, accounts and stock hold nothing sealed.
    assert reseal_rows() == 4
    assert AuditEntry.objects.count() == before + 1
    entry = AuditEntry.objects.latest("number")
    assert (entry.subject, entry.changes) == ("keys", '[{"rows": 4}]')
    assert broken_at() is None
