"""A plan's document, case and system are written once, whoever tries."""

import pytest
from django.db import DatabaseError, transaction

from gaiter.records.ledger import Actor, action
from gaiter.records.models import PlanRecord
from tests.records.models.rows import changed, made, sealed_at_rest

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("name", ["document", "sha256", "case", "system"])
def test_what_a_plan_is_made_of_is_never_saved_again(name) -> None:
    plan = made(PlanRecord)
    with pytest.raises(RuntimeError, match="superseded, never edited"):
        changed(plan, state="approved", **{name: "other"})
    with pytest.raises(RuntimeError, match="superseded, never edited"), action(Actor(None), "x"):
        plan.save()
    again = PlanRecord.objects.get(pk=plan.pk)
    assert getattr(again, name) != "other"
    assert again.state == "proposed"


def test_its_state_goes_on() -> None:
    plan = made(PlanRecord)
    changed(plan, state="withdrawn", ended_why="leg has changed")
    again = PlanRecord.objects.get(pk=plan.pk)
    assert (again.state, again.ended_why) == ("withdrawn", "leg has changed")


@pytest.mark.parametrize("name", ["document", "sha256", "case"])
def test_the_database_refuses_an_edit_round_the_model(name) -> None:
    plan = made(PlanRecord)
    with pytest.raises(DatabaseError, match=r"never edited|append-only"), transaction.atomic():
        PlanRecord.objects.filter(pk=plan.pk).update(**{name: "other"})


def test_the_database_refuses_to_remove_one() -> None:
    plan = made(PlanRecord)
    with pytest.raises(DatabaseError, match=r"never removed|append-only"), transaction.atomic():
        PlanRecord.objects.filter(pk=plan.pk).delete()


def test_why_it_ended_is_sealed() -> None:
    assert sealed_at_rest(PlanRecord) == {"ended_why"}
