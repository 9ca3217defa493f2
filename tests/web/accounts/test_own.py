"""One's own account: password, sessions seen and ended, what was done to it."""

import pytest
from django.test import Client
from django.urls import reverse

from gaiter.records.actions.grants import issue_link
from gaiter.records.entrance.models import Session
from gaiter.records.models import Account, AuditEntry, Grant
from tests.clinic import PASSWORD

NEW = "thimble orchard gravel"
AGAIN = {"password": PASSWORD}


def entered(role: str = "bandager", address: str = "192.0.2.7") -> Client:
    client = Client(REMOTE_ADDR=address)
    client.post(reverse("sign-in"), {"username": role, "password": PASSWORD})
    return client


def test_a_new_password_ends_every_other_session_and_keeps_this_one(clinic) -> None:
    here, there = entered(), entered()
    form = {"unit": "cm", "password": PASSWORD, "new_password": NEW}
    assert here.post(reverse("own"), form)["Location"] == "/own/"
    assert here.get(reverse("people")).status_code == 200
    assert there.get(reverse("people"))["Location"].startswith("/sign-in/")
    assert Account.objects.get(username="bandager").check_password(NEW)


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"password": "", "new_password": NEW}, "present password"),
        ({"password": "wrong", "new_password": NEW}, "present password"),
        ({"password": PASSWORD, "new_password": "too short"}, "12 to 200 characters"),
        ({"password": PASSWORD, "new_password": "Gaiter Bandage 2026"}, "Anybody would try"),
        ({"password": PASSWORD, "new_password": "Invented bandager"}, "Anybody would try"),
    ],
)
def test_a_password_that_is_not_changed_says_why(clinic, form, words) -> None:
    answer = entered().post(reverse("own"), {"unit": "cm", **form})
    assert (answer.status_code, words in answer.content.decode()) == (400, True)
    assert Account.objects.get(username="bandager").check_password(PASSWORD)


def test_one_sees_where_one_is_signed_in_and_signs_out_there(clinic) -> None:
    here, there = entered(address="192.0.2.1"), entered(address="192.0.2.2")
    page = here.get(reverse("own")).content.decode()
    assert "From 192.0.2.1" in page
    assert "From 192.0.2.2" in page
    pk = Session.objects.get(where="192.0.2.2").pk
    address = reverse("end-session", args=[pk])
    assert f'formaction="{address}"' in page
    assert here.post(address, AGAIN).status_code == 302
    assert there.get(reverse("people"))["Location"].startswith("/sign-in/")
    assert here.get(reverse("people")).status_code == 200
    assert AuditEntry.objects.filter(verb="end session", who="bandager").exists()


def test_nobody_ends_anothers_session_or_finds_that_there_is_one(clinic) -> None:
    here, other = entered(), entered("prescriber", "192.0.2.2")
    pk = Session.objects.get(where="192.0.2.2").pk
    assert here.post(reverse("end-session", args=[pk])).status_code == 404
    own = Session.objects.get(where="192.0.2.7").pk
    assert here.post(reverse("end-session", args=[own])).status_code == 404
    here.post(reverse("end-other-sessions"), AGAIN)
    assert other.get(reverse("people")).status_code == 200
    assert "192.0.2.2" not in here.get(reverse("own")).content.decode()


def test_one_signs_out_everywhere_else_at_once(clinic) -> None:
    here, others = entered(), [entered(address=f"192.0.2.{n}") for n in (1, 2)]
    here.post(reverse("end-other-sessions"), AGAIN)
    for other in others:
        assert other.get(reverse("people")).status_code == 302
    assert here.get(reverse("people")).status_code == 200


@pytest.mark.parametrize("given", [{}, {"password": ""}, {"password": NEW}])
def test_no_session_ends_without_the_password(clinic, given) -> None:
    """Whoever finds a screen open shuts nobody out of their other browsers."""
    here, there = entered(address="192.0.2.1"), entered(address="192.0.2.2")
    one = reverse("end-session", args=[Session.objects.get(where="192.0.2.2").pk])
    for address in (one, reverse("end-other-sessions")):
        answer = here.post(address, given)
        assert answer.status_code == 400
        assert "Sign out everywhere but here" in answer.content.decode()
    assert there.get(reverse("people")).status_code == 200
    assert not AuditEntry.objects.filter(verb__startswith="end ").exists()


def test_the_password_is_not_guessed_where_sessions_end(clinic) -> None:
    here, there = entered(), entered()
    address = reverse("end-other-sessions")
    found = [here.post(address, {"password": NEW}).status_code for _ in range(9)]
    assert found == [*[400] * 8, 429]
    assert here.post(address, AGAIN).status_code == 429
    assert there.get(reverse("people")).status_code == 200


def test_nobody_reads_or_answers_anothers_notices(clinic) -> None:
    issue_link(clinic.actor("manager"), clinic.accounts["learner"])
    grant = Grant.objects.get()
    here = entered()
    page = here.get(reverse("notices")).content.decode()
    assert "Nothing was done" in page
    here.post(reverse("notices"), {"upto": grant.pk})
    grant.refresh_from_db()
    assert grant.shown_at is None


@pytest.mark.parametrize("upto", ["", "x", "-1", "9" * 40, "1.5", "2_3"])
def test_a_hostile_answer_to_a_notice_marks_nothing(clinic, upto) -> None:
    issue_link(clinic.actor("manager"), clinic.accounts["bandager"])
    here = entered()
    assert here.post(reverse("notices"), {"upto": upto, "once": "x"}).status_code == 400
    assert Grant.objects.get().shown_at is None


def test_nobody_changes_more_of_an_account_than_its_page_offers(clinic, signed_in) -> None:
    signed_in("bandager").post(
        reverse("own"),
        {"unit": "in", "role": "prescriber", "is_active": "", "era": "0", "username": "x"},
    )
    account = clinic.accounts["bandager"]
    account.refresh_from_db()
    assert (account.unit, account.role, account.username) == ("in", "bandager", "bandager")
    assert account.is_active
