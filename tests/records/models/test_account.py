"""Accounts: one of a name, passwords hashed, written by actions only but for the hash's renewal."""

import pytest
from django.contrib.auth.hashers import make_password

from gaiter.core.case import Training
from gaiter.records.clash import ClashError
from gaiter.records.models import Account, Role, StandingOrder
from gaiter.records.models.account import Unit
from tests.records.models.rows import at_rest, made, sealed_at_rest

pytestmark = pytest.mark.django_db


def test_a_user_name_stands_once() -> None:
    made(Account, username="rowan")
    with pytest.raises(ClashError):
        made(Account, username="rowan")


def test_a_password_is_held_as_a_hash_only() -> None:
    account = made(Account, password=make_password("correct horse battery"))
    assert "horse" not in at_rest(account)["password"]
    assert account.check_password("correct horse battery")


def test_only_the_renewal_of_the_hash_is_written_without_an_action() -> None:
    account = made(Account, name="Tam Rowan")
    account.password = make_password("correct horse battery")
    account.save(update_fields=["password"])
    account.name = "Somebody else"
    for fields in (["name"], ["password", "name"], None):
        with pytest.raises(RuntimeError, match="outside an action"):
            account.save(update_fields=fields)
    again = Account.objects.get(pk=account.pk)
    assert again.check_password("correct horse battery")
    assert again.name == "Tam Rowan"


def test_an_account_starts_trained_active_and_in_centimetres() -> None:
    account = Account(username="new")
    assert (account.training, account.is_active, account.unit) == (Training.TRAINED, True, Unit.CM)
    assert not account.demo


def test_roles_are_the_four_of_the_table() -> None:
    assert set(Role.values) == {"prescriber", "bandager", "learner", "manager"}


def test_the_words_of_a_standing_order_are_sealed() -> None:
    assert sealed_at_rest(StandingOrder) == {"words"}
