"""Signing in, lock-out, second factor, idle lock, one-time links."""

import time

import pytest
from django.test import override_settings
from django.urls import reverse
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice

from gaiter.records.actions.accounts import add_account, change_account, one_time_link
from gaiter.records.models import Account, AuditEntry
from tests.clinic import PASSWORD

SIGN_IN = {"username": "bandager", "password": PASSWORD}


def test_the_right_password_opens_today_and_is_audited(clinic, client) -> None:
    response = client.post(reverse("sign-in"), SIGN_IN)
    assert response["Location"] == "/"
    assert AuditEntry.objects.filter(verb="sign in", who="bandager").exists()


@pytest.mark.parametrize("role", ["manager", "learner"])
def test_each_role_starts_on_its_own_page(clinic, client, role) -> None:
    response = client.post(reverse("sign-in"), {**SIGN_IN, "username": role})
    assert response["Location"] == {"manager": "/stock/", "learner": "/practice/"}[role]


def test_a_wrong_password_says_nothing_of_the_account(clinic, client) -> None:
    known = client.post(reverse("sign-in"), {**SIGN_IN, "password": "wrong"})
    unknown = client.post(reverse("sign-in"), {"username": "nobody", "password": "wrong"})
    for response in (known, unknown):
        assert response.status_code == 400
        assert b"do not match an account" in response.content


def test_five_wrong_passwords_lock_the_name_out(clinic, client) -> None:
    for _ in range(5):
        response = client.post(reverse("sign-in"), {**SIGN_IN, "password": "wrong"})
    assert response.status_code == 429
    assert client.post(reverse("sign-in"), SIGN_IN).status_code == 429


def test_an_account_that_may_not_sign_in_does_not(clinic, client) -> None:
    change_account(clinic.actor("manager"), clinic.accounts["bandager"], is_active=False)
    assert client.post(reverse("sign-in"), SIGN_IN).status_code == 400


def test_going_on_leads_only_to_our_own_pages(clinic, client) -> None:
    response = client.post(reverse("sign-in"), {**SIGN_IN, "next": "https://elsewhere.example/"})
    assert response["Location"] == "/"


def test_an_idle_screen_locks_and_opens_where_it_was(clinic, signed_in) -> None:
    client = signed_in("bandager")
    client.get(reverse("people"))
    session = client.session
    session["seen"] = time.time() - 3600
    session.save()
    locked = client.get(reverse("people"))
    assert locked["Location"] == "/lock/?next=%2Fpeople%2F"
    assert client.post(reverse("lock"), {"password": "wrong"}).status_code == 400
    assert client.get(reverse("people")).status_code == 302
    opened = client.post(reverse("lock"), {"password": PASSWORD, "next": "/people/"})
    assert opened["Location"] == "/people/"
    assert client.get(reverse("people")).status_code == 200


def test_a_script_is_told_that_the_screen_is_locked(clinic, signed_in) -> None:
    client = signed_in("bandager")
    client.get(reverse("lock"))
    response = client.post(
        reverse("save-visit", args=[clinic.visit.pk]), "{}", "application/json",
        headers={"Accept": "application/json"},
    )  # fmt: skip
    assert (response.status_code, response.json()) == (423, {"gone": "/lock/"})


@pytest.fixture
def factor(clinic):
    device = TOTPDevice.objects.create(user=clinic.accounts["bandager"], confirmed=True)
    return device, lambda: f"{totp(device.bin_key):06d}"


def test_a_second_factor_is_asked_for(factor, client) -> None:
    _, code = factor
    client.post(reverse("sign-in"), SIGN_IN)
    assert client.get(reverse("people"))["Location"].startswith("/second-factor/")
    assert client.post(reverse("second-factor"), {"code": "000000"}).status_code == 400
    TOTPDevice.objects.update(throttling_failure_count=0, throttling_failure_timestamp=None)
    assert client.post(reverse("second-factor"), {"code": code()})["Location"] == "/"
    assert client.get(reverse("people")).status_code == 200


def test_a_policy_of_second_factors_leads_to_setting_one_up(clinic, client, settings) -> None:
    from dataclasses import replace

    with override_settings(GAITER=replace(settings.GAITER, second_factor=True)):
        client.post(reverse("sign-in"), SIGN_IN)
        assert client.get(reverse("people"))["Location"].startswith("/second-factor/set-up/")
        page = client.get(reverse("second-factor-set-up"))
        assert b"data:image/svg" in page.content
        device = TOTPDevice.objects.get(confirmed=False)
        code = f"{totp(device.bin_key):06d}"
        assert client.post(reverse("second-factor-set-up"), {"code": code}).status_code == 302
        assert client.get(reverse("people")).status_code == 200


def test_a_one_time_link_sets_a_password_once(clinic, client) -> None:
    made = add_account(
        clinic.actor("manager"), username="new", name="New", initials="N", role="bandager"
    )
    link = one_time_link(made)
    weak = client.post(link, {"password": "short"})
    assert weak.status_code == 400
    assert b"at least 12 characters" in weak.content
    assert client.post(link, {"password": "long enough to keep"})["Location"] == "/"
    assert client.get(link).status_code == 404
    assert Account.objects.get(username="new").check_password("long enough to keep")


def test_passwords_are_kept_with_argon2() -> None:
    from gaiter.operations import settings as shipped

    assert shipped.PASSWORD_HASHERS[0].endswith("Argon2PasswordHasher")


def test_the_last_manager_cannot_be_shut_out(clinic, signed_in) -> None:
    one = clinic.accounts["manager"]
    response = signed_in("manager").post(
        reverse("account", args=[one.pk]),
        {
            "name": "M",
            "initials": "M",
            "role": "bandager",
            "training": "trained",
            "is_active": "on",
        },
    )
    assert response.status_code == 400
    assert b"last manager" in response.content
