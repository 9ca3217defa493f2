"""What every row of the record has in common."""

import pytest
from django.apps import apps
from django.core.management import call_command

from gaiter.records import models
from gaiter.records.ledger import Row
from gaiter.records.models import AuditEntry
from gaiter.records.sealing import SealedBytes, SealedText
from tests.records.models.rows import fields_of, made, sealed_at_rest

MODELS = list(apps.get_app_config("records").get_models())
pytestmark = pytest.mark.django_db


def test_every_model_is_a_row_and_is_named_in_the_package() -> None:
    assert {model.__name__ for model in MODELS} | {"Role"} == set(models.__all__)
    assert all(issubclass(model, Row) for model in MODELS)


def test_no_model_has_changed_without_its_migration() -> None:
    """Tables, and with them the constraints below, are made by migrations."""
    call_command("makemigrations", "records", check=True, dry_run=True, verbosity=0)


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_a_new_row_is_refused_outside_an_action(model) -> None:
    row = model(**fields_of(model))
    before = model._default_manager.count()
    with pytest.raises(RuntimeError, match="written outside an action"):
        row.save(force_insert=True)
    assert model._default_manager.count() == before


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_a_row_is_never_deleted(model) -> None:
    row = made(model, **({"number": 900} if model is AuditEntry else {}))
    with pytest.raises(RuntimeError, match="never deleted"):
        row.delete()
    assert model._default_manager.filter(pk=row.pk).exists()


@pytest.mark.parametrize(
    "model", [model for model in MODELS if model is not AuditEntry], ids=lambda m: m.__name__
)
def test_every_sealed_field_is_sealed_at_rest_and_opens_again(model) -> None:
    declared = {
        field.name
        for field in model._meta.concrete_fields
        if isinstance(field, SealedText | SealedBytes)
    }
    assert sealed_at_rest(model) == declared


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_no_row_takes_others_with_it(model) -> None:
    """A row that another hangs on is protected, never removed or emptied with it."""
    for field in model._meta.concrete_fields:
        if field.is_relation:
            assert field.remote_field.on_delete.__name__ == "PROTECT", field.name
