"""What the database refuses is one sentence, that of the constraint, on both databases."""

import pytest
from django.apps import apps
from django.db import IntegrityError, models

from gaiter.core.errors import InputError
from gaiter.records.actions.visits import open_visit
from gaiter.records.clash import ClashError, StaleError, clash_of
from gaiter.records.ledger import action
from gaiter.records.models import (
    Account,
    AuditEntry,
    Episode,
    OverrideRecord,
    Person,
    PlanRecord,
    ProvisionalRecord,
    Role,
    StandingOrder,
    StockItem,
    Visit,
)
from tests.records.models.rows import made

pytestmark = pytest.mark.django_db


def named(part: object) -> str:
    """Name of a model in the name of a test."""
    return getattr(part, "__name__", "")


# Two rows that cannot both stand, and what is said.
TWICE = [
    (Account, {"username": "same"}, "user name is taken"),
    (Person, {"number_index": "same"}, "this number is in the record"),
    (StockItem, {"material": "wool", "width_cm": 10.0}, "on the shelf in that width"),
]
OF_ONE = [
    (Episode, "person", {"side": "left"}, "open episode already"),
    (Visit, "episode", {}, "open visit already"),
    (PlanRecord, "visit", {"state": "proposed"}, "was proposed a moment ago"),
    (OverrideRecord, "visit", {"code": "same"}, "set aside already"),
    (ProvisionalRecord, "visit", {}, "chosen already"),
]
WRONG = [
    (StandingOrder, {"maximum_mmhg": 0.0}, "more than 0"),
    (PlanRecord, {"maximum_mmhg": -1.0}, "more than 0"),
    (Episode, {"outcome": "healed"}, "closed with its outcome"),
    (StockItem, {"rolls": -1}, "fewer rolls"),
]


@pytest.mark.parametrize(("model", "same", "words"), TWICE, ids=named)
def test_what_stands_once(model, same, words) -> None:
    made(model, **same)
    with pytest.raises(ClashError, match=words):
        made(model, **same)


@pytest.mark.parametrize(("model", "of", "same", "words"), OF_ONE, ids=named)
def test_what_stands_once_a_row(model, of, same, words) -> None:
    first = made(model, **same)
    with pytest.raises(ClashError, match=words):
        made(model, **{of: getattr(first, of)}, **same)


@pytest.mark.parametrize(("model", "given", "words"), WRONG, ids=named)
def test_what_no_row_may_hold(model, given, words) -> None:
    with pytest.raises(ClashError, match=words):
        made(model, **given)


def test_every_constraint_has_words_of_its_own() -> None:
    usual = models.CheckConstraint.default_violation_error_message
    without = [
        constraint.name
        for model in apps.get_app_config("records").get_models()
        for constraint in model._meta.constraints
        if model is not AuditEntry and constraint.violation_error_message == usual
    ]
    assert without == []


def test_what_no_constraint_of_ours_says_is_that_somebody_was_quicker() -> None:
    said = clash_of(IntegrityError("FOREIGN KEY constraint failed"))
    assert isinstance(said, StaleError)
    assert isinstance(said, InputError)
    assert "a moment ago" in str(said)


def test_a_row_that_somebody_else_changed_is_not_written_over(clinic) -> None:
    mine, theirs = (Account.objects.get(username="learner") for _turn in range(2))
    with action(clinic.actor(Role.MANAGER), "change") as act:
        act.change(theirs, name="Theirs")
    with pytest.raises(StaleError), action(clinic.actor(Role.MANAGER), "change") as act:
        act.change(mine, name="Mine")
    assert Account.objects.get(username="learner").name == "Theirs"


def test_a_row_in_hand_is_as_it_was_after_a_refusal(clinic) -> None:
    def fails() -> None:
        with action(clinic.actor(), "try", clinic.person) as act:
            act.change(clinic.person, phone="555")
            raise InputError("no")

    with pytest.raises(InputError, match="no"):
        fails()
    assert clinic.person.phone == ""


def test_a_visit_that_somebody_opened_a_moment_ago_is_the_same(clinic) -> None:
    assert open_visit(clinic.actor(), clinic.episode).pk == clinic.visit.pk
