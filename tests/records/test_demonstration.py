"""A demonstration says so, and only it does."""

import pytest

from gaiter.operations.demo.make import make_demo
from gaiter.records.demonstration import (
    is_demonstration,
    mark_demonstration,
    served_as_demonstration,
)
from gaiter.records.ledger import Actor
from gaiter.records.models import Account, Mark
from tests.records.models.rows import changed, made

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def asked_anew():
    served_as_demonstration.cache_clear()
    yield
    served_as_demonstration.cache_clear()


def test_a_clinic_is_none() -> None:
    made(Account, demo=False)
    made(Mark, name="index")
    assert not is_demonstration()


def test_it_is_marked_for_ever() -> None:
    mark_demonstration(Actor(None, "demo"))
    made(Account, demo=False)
    assert is_demonstration()


def test_one_from_before_marks_is_known_by_its_accounts() -> None:
    account = made(Account, demo=True)
    assert is_demonstration()
    changed(account, is_active=False)
    assert is_demonstration()


def test_making_a_demo_marks_it() -> None:
    make_demo(lambda words: None, ())
    assert Mark.objects.filter(name="demo").exists()


@pytest.mark.parametrize("signed_in_as", [None, "bandager"])
def test_every_page_says_loudly_what_it_is(clinic, client, signed_in_as) -> None:
    """Also to whoever has not signed in, and to an account that was added later."""
    words = "everybody in it is invented and its passwords are public"
    if signed_in_as:
        client.force_login(
            clinic.accounts[signed_in_as], backend="django.contrib.auth.backends.ModelBackend"
        )
    addresses = ("/", "/people/", "/nowhere/") if signed_in_as else ("/sign-in/", "/nowhere/")
    for address in addresses:
        assert words not in client.get(address).content.decode()
    mark_demonstration(Actor(None, "demo"))
    served_as_demonstration.cache_clear()
    for address in addresses:
        assert words in client.get(address).content.decode(), address
