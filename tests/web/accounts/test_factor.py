"""Second factors on the pages: password and present code first, and never on a locked screen."""

from dataclasses import replace

import pytest
from django.test import override_settings
from django.urls import reverse

from gaiter.records.actions.factors import codes_left, confirm_factor, factor_of, start_factor
from gaiter.records.entrance.tries import Kind
from gaiter.records.ledger import Actor
from gaiter.records.models import SecondFactor
from gaiter.records.totp import code_of
from tests.clinic import PASSWORD

SIGN_IN = {"username": "bandager", "password": PASSWORD}
SET_UP, ASKED = "second-factor-set-up", "second-factor"


def code_now(seed: str, steps: int = 0) -> str:
    return code_of(seed, int(Actor(None).now.timestamp()) // 30 + steps)


@pytest.fixture
def factor(clinic):
    """Seed and recovery codes of the bandager; the present half minute is not used yet."""
    actor = clinic.actor("bandager")
    made = start_factor(actor)
    seed = made.seed
    return seed, confirm_factor(actor, made.pk, code_now(seed, -1))


def test_a_second_factor_is_asked_for(factor, client) -> None:
    client.post(reverse("sign-in"), SIGN_IN)
    assert client.get(reverse("people"))["Location"].startswith("/second-factor/?")
    wrong = client.post(reverse(ASKED), {"code": "nothing"})
    assert (wrong.status_code, b"neither the code" in wrong.content) == (400, True)
    before = client.cookies["gaiter"].value
    assert client.post(reverse(ASKED), {"code": code_now(factor[0])})["Location"] == "/"
    assert client.cookies["gaiter"].value != before
    assert client.get(reverse("people")).status_code == 200


def test_a_recovery_code_stands_in_once_and_says_how_many_are_left(factor, client) -> None:
    for expected in (302, 400):
        client.post(reverse("sign-in"), SIGN_IN)
        answer = client.post(reverse(ASKED), {"code": factor[1][0]})
        assert answer.status_code == expected
        if expected == 302:
            assert "9 are left" in client.get(reverse("own")).content.decode()


def test_codes_are_not_guessed_on_the_page(factor, client) -> None:
    client.post(reverse("sign-in"), SIGN_IN)
    found = [
        client.post(reverse(ASKED), {"code": "nothing"}).status_code
        for _ in range(Kind.FACTOR.value + 1)
    ]
    assert found == [*[400] * Kind.FACTOR.value, 429]


def test_before_its_code_a_session_opens_nothing_else(factor, clinic, client) -> None:
    client.post(reverse("sign-in"), SIGN_IN)
    for name in ("people", "own", "off", "recovery-codes", "notices"):
        assert client.get(reverse(name))["Location"].startswith("/second-factor/?"), name
    assert client.get(reverse(SET_UP))["Location"] == "/second-factor/"
    answer = client.post(reverse(SET_UP), {"password": PASSWORD, "present": "nothing"})
    assert answer["Location"] == "/second-factor/"
    assert not SecondFactor.objects.filter(confirmed_at=None).exists()


def set_up(client, **form):
    return client.post(reverse(SET_UP), form)


def started(clinic) -> SecondFactor:
    return SecondFactor.objects.get(
        account=clinic.accounts["bandager"], confirmed_at=None, ended_at=None
    )


def test_a_factor_is_made_by_password_and_first_code_and_shows_codes_once(
    clinic, signed_in
) -> None:
    client = signed_in("bandager")
    assert b"data:image/svg" not in client.get(reverse(SET_UP)).content
    wrong = set_up(client, password="wrong")
    assert (wrong.status_code, b"not your password" in wrong.content) == (400, True)
    assert not SecondFactor.objects.exists()
    page = set_up(client, password=PASSWORD)
    assert b"data:image/svg" in page.content
    assert set_up(client, code="nothing").status_code == 400
    done = set_up(client, code=code_now(started(clinic).seed), next="/people/")
    assert done.content.decode().count("<li><code>") == 10
    assert 'href="/people/"' in done.content.decode()
    assert client.get(reverse("people")).status_code == 200
    assert b"<li><code>" not in client.get(reverse("own")).content


def test_a_factor_is_not_replaced_by_the_password_alone(factor, clinic, client) -> None:
    """It was, by anybody at an open screen, and even at a locked one without the password."""
    client.post(reverse("sign-in"), SIGN_IN)
    client.post(reverse(ASKED), {"code": factor[1][0]})
    for form in ({"password": PASSWORD}, {"password": PASSWORD, "present": "nothing"}):
        assert set_up(client, **form).status_code == 400
    assert not SecondFactor.objects.filter(confirmed_at=None).exists()
    assert set_up(client, password=PASSWORD, present=factor[1][1]).status_code == 200
    assert set_up(client, code=code_now(started(clinic).seed)).status_code == 200
    assert factor_of(clinic.accounts["bandager"]).seed != factor[0]


def test_a_locked_screen_sets_up_nothing(clinic, signed_in) -> None:
    client = signed_in("bandager")
    set_up(client, password=PASSWORD)
    code = code_now(started(clinic).seed)
    client.get(reverse("lock"))
    for form in ({}, {"password": PASSWORD}, {"code": code}):
        assert set_up(client, **form)["Location"].startswith("/lock/")
    assert client.get(reverse(SET_UP))["Location"].startswith("/lock/")
    assert client.get(reverse("recovery-codes"))["Location"].startswith("/lock/")
    assert factor_of(clinic.accounts["bandager"]) is None


def test_a_code_without_a_start_in_this_session_begins_again(clinic, signed_in) -> None:
    seed = start_factor(clinic.actor("bandager")).seed
    answer = set_up(signed_in("bandager"), code=code_now(seed))
    assert answer["Location"] == reverse(SET_UP)
    assert factor_of(clinic.accounts["bandager"]) is None


def test_new_recovery_codes_need_password_and_code(factor, clinic, client) -> None:
    client.post(reverse("sign-in"), SIGN_IN)
    client.post(reverse(ASKED), {"code": factor[1][0]})
    account = clinic.accounts["bandager"]
    for form in (
        {"password": "wrong", "present": factor[1][1]},
        {"password": PASSWORD, "present": ""},
        {"password": PASSWORD, "present": "nothing"},
    ):
        assert client.post(reverse("recovery-codes"), form).status_code == 400
    assert codes_left(account) == 9
    form = {"password": PASSWORD, "present": factor[1][1]}
    assert b"<li><code>" in client.post(reverse("recovery-codes"), form).content
    assert codes_left(account) == 10


def test_a_factor_set_up_here_ends_the_session_there(clinic, signed_in) -> None:
    from django.test import Client

    client, there = signed_in("bandager"), Client()
    there.post(reverse("sign-in"), SIGN_IN)
    set_up(client, password=PASSWORD)
    set_up(client, code=code_now(started(clinic).seed))
    assert there.get(reverse("people"))["Location"].startswith("/sign-in/")
    assert client.get(reverse("people")).status_code == 200


def test_a_policy_of_second_factors_leads_to_setting_one_up(clinic, client, settings) -> None:
    with override_settings(GAITER=replace(settings.GAITER, second_factor=True)):
        client.post(reverse("sign-in"), SIGN_IN)
        assert client.get(reverse("people"))["Location"].startswith("/second-factor/set-up/")
        assert set_up(client, password=PASSWORD).status_code == 200
        assert set_up(client, code=code_now(started(clinic).seed)).status_code == 200
        assert client.get(reverse("people")).status_code == 200
