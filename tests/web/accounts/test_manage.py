"""Accounts on the manager's pages: who opens whose, and that a second one is asked."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from gaiter.records.actions.accounts import add_account
from gaiter.records.actions.factors import confirm_factor, factor_of, start_factor
from gaiter.records.ledger import Actor
from gaiter.records.models import Account, Grant, Role
from gaiter.records.totp import code_of
from tests.web.as_shown import as_shown

NEW = "thimble orchard gravel"
BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def second(clinic):
    """Another manager's browser."""
    account = add_account(
        Actor(None, "test"), username="second", name="Second Manager", initials="S", role="manager"
    )
    client = Client()
    client.force_login(account, backend=BACKEND)
    return client


def link_in(page) -> str:
    text = page.content.decode()
    found = re.search(r"<code[^>]*>http://testserver(/welcome/#[^<]+)</code>", text)
    assert found, text[-1500:]
    return found.group(1)


def used(path: str):
    address, _sign, link = path.partition("#")
    return Client().post(address, {"link": link, "password": NEW})


def test_a_manager_does_not_become_a_prescriber(clinic, signed_in, second) -> None:
    """By another's link a manager approved as that prescriber, and nothing told of it."""
    manager, doctor = signed_in("manager"), clinic.accounts["prescriber"]
    page = manager.post(reverse("account", args=[doctor.pk]), {"link": "1"})
    assert "before a second manager approves it" in page.content.decode()
    path = link_in(page)
    refused = used(path)
    assert (refused.status_code, b"until a second manager" in refused.content) == (400, True)
    grant = Grant.objects.get()
    listed = manager.get(reverse("accounts")).content.decode()
    assert "You asked for it yourself" in listed
    approve = reverse("approve-grant", args=[grant.pk])
    assert manager.post(approve).status_code == 403
    assert approve not in listed
    assert approve in second.get(reverse("accounts")).content.decode()
    assert second.post(approve)["Location"] == reverse("account", args=[doctor.pk])
    assert used(path).status_code == 302


def test_nor_by_making_an_account_and_raising_it(clinic, signed_in) -> None:
    manager = signed_in("manager")
    new = {"username": "puppet", "name": "Pup Pet", "initials": "PP", "training": "trained"}
    path = link_in(manager.post(reverse("accounts"), {**new, "role": "bandager"}))
    assert used(path).status_code == 302
    puppet = Account.objects.get(username="puppet")
    address = reverse("account", args=[puppet.pk])
    raised = {**as_shown(manager, address), **new, "role": "prescriber", "is_active": "on"}
    answer = manager.post(address, raised, follow=True)
    assert "needs a new password" in answer.content.decode()
    puppet.refresh_from_db()
    assert (puppet.role, puppet.has_usable_password()) == (Role.PRESCRIBER, False)
    signing_in = {"username": "puppet", "password": NEW}
    assert Client().post(reverse("sign-in"), signing_in).status_code == 400
    again = link_in(manager.post(reverse("account", args=[puppet.pk]), {"link": "1"}))
    assert used(again).status_code == 400


@pytest.mark.parametrize("role", ["prescriber", "manager"])
def test_nor_by_a_second_factor_that_was_set_up_before_it_was_raised(
    clinic, signed_in, role
) -> None:
    """A code of the owner stands in for a second manager: not one that the manager set up."""
    manager, puppet = signed_in("manager"), clinic.accounts["bandager"]
    with_factor(clinic, "bandager")
    form = {"name": "Pup Pet", "initials": "PP", "training": "trained", "is_active": "on"}
    address = reverse("account", args=[puppet.pk])
    manager.post(address, {**as_shown(manager, address), **form, "role": role})
    assert factor_of(puppet) is None
    path = link_in(manager.post(reverse("account", args=[puppet.pk]), {"link": "1"}))
    assert used(path).status_code == 400


@pytest.mark.parametrize("role", ["prescriber", "manager"])
def test_a_new_account_that_approves_or_manages_waits_for_a_second_manager(
    clinic, signed_in, second, role
) -> None:
    new = {"username": "new", "name": "New", "initials": "N", "role": role, "training": "trained"}
    path = link_in(signed_in("manager").post(reverse("accounts"), new))
    assert used(path).status_code == 400
    second.post(reverse("approve-grant", args=[Grant.objects.get().pk]))
    assert used(path).status_code == 302


def with_factor(clinic, role: str) -> None:
    actor = clinic.actor(role)
    factor = start_factor(actor)
    confirm_factor(actor, factor.pk, code_of(factor.seed, int(actor.now.timestamp()) // 30))


def test_a_lost_second_factor_is_removed_and_its_owner_told(clinic, signed_in) -> None:
    """Nobody could remove one."""
    with_factor(clinic, "bandager")
    manager, address = (
        signed_in("manager"),
        reverse("account", args=[clinic.accounts["bandager"].pk]),
    )
    assert "Second factor lost" in manager.get(address).content.decode()
    assert manager.post(address, {"words": ""}).status_code == 400
    assert factor_of(clinic.accounts["bandager"]) is not None
    assert manager.post(address, {"words": "telephone in the river"}).status_code == 302
    assert factor_of(clinic.accounts["bandager"]) is None
    page = manager.get(address).content.decode()
    assert "Second factor lost" not in page
    assert "telephone in the river" in page


def test_a_prescribers_lost_factor_waits_for_a_second_manager(clinic, signed_in, second) -> None:
    with_factor(clinic, "prescriber")
    doctor = clinic.accounts["prescriber"]
    manager, address = signed_in("manager"), reverse("account", args=[doctor.pk])
    manager.post(address, {"words": "telephone in the river"})
    assert factor_of(doctor) is not None
    second.post(reverse("approve-grant", args=[Grant.objects.get().pk]))
    assert factor_of(doctor) is None


def test_what_was_asked_for_is_taken_back(clinic, signed_in) -> None:
    manager, account = signed_in("manager"), clinic.accounts["bandager"]
    path = link_in(manager.post(reverse("account", args=[account.pk]), {"link": "1"}))
    end = reverse("end-grant", args=[Grant.objects.get().pk])
    assert end in manager.get(reverse("account", args=[account.pk])).content.decode()
    assert manager.post(end).status_code == 302
    assert used(path).status_code == 404
    assert manager.post(end).status_code == 400
