"""Standing orders on their page: who reads, who leaves, who ends, and what is written of it."""

import json
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from gaiter.records.actions.plans import leave_order
from gaiter.records.models import AuditEntry, Person, Role, StandingOrder
from tests.clinic import PASSWORD, in_teams

TODAY = date(2026, 11, 25)
FORM = {
    "number": "T-1", "maximum_mmhg": "40", "words": "While I am away.", "starts": "2026-11-25",
    "ends": "2026-11-28", "password": PASSWORD,
}  # fmt: skip


@pytest.fixture
def doctor(signed_in) -> Client:
    return signed_in("prescriber")


def left(clinic, person: Person | None = None, **changes) -> StandingOrder:
    given = {
        "maximum_mmhg": 40, "words": "While I am away.", "starts": TODAY, "ends": TODAY,
    }  # fmt: skip
    return leave_order(clinic.actor(Role.PRESCRIBER), person=person, **{**given, **changes})


def page(client: Client) -> str:
    return client.get(reverse("orders")).content.decode()


def test_an_order_is_left_for_one_person_as_it_was_said(clinic, doctor) -> None:
    answer = doctor.post(reverse("orders"), FORM)
    assert (answer.status_code, answer["Location"]) == (302, reverse("orders"))
    order = StandingOrder.objects.get()
    assert order.person == clinic.person
    assert (order.maximum_mmhg, order.words) == (40, "While I am away.")
    assert (order.starts, order.ends) == (TODAY, TODAY + timedelta(days=3))
    assert order.prescriber == clinic.accounts["prescriber"]
    shown = page(doctor)
    assert "The order stands." in shown
    assert "Ada Invented" in shown
    assert "<strong>40 mmHg</strong>" in shown


@pytest.mark.parametrize("number", ["", "  "])
def test_without_a_number_it_is_for_every_patient(clinic, doctor, number) -> None:
    assert doctor.post(reverse("orders"), {**FORM, "number": number}).status_code == 302
    assert StandingOrder.objects.get().person is None
    assert "Clinic protocol, every patient" in page(doctor)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"password": "wrong"}, "That is not your password."),
        ({"number": "T-99"}, "No person has that number: look it up under People."),
        ({"ends": "2026-11-24"}, "An order starts today or later"),
        ({"starts": "2026-11-24"}, "An order starts today or later"),
        # 93 days; a standing order is looked at again within three months, 92.
        ({"ends": "2027-02-26"}, "ends within 92 days"),
        ({"words": "Short one"}, "Say in 10 to 2000 characters what the order covers."),
    ],
)
def test_what_cannot_stand_is_said_and_nothing_is_left(clinic, doctor, wrong, words) -> None:
    answer = doctor.post(reverse("orders"), {**FORM, **wrong})
    assert answer.status_code == 400
    assert words in answer.content.decode()
    assert not StandingOrder.objects.exists()


def test_the_longest_order_is_left(clinic, doctor) -> None:
    assert doctor.post(reverse("orders"), {**FORM, "ends": "2027-02-25"}).status_code == 302


def test_a_wrong_password_tells_nothing_of_a_number(clinic, doctor) -> None:
    answer = doctor.post(reverse("orders"), {**FORM, "password": "wrong", "number": "T-99"})
    assert "No person has that number" not in answer.content.decode()


def test_a_bandager_reads_orders_and_leaves_none(clinic, signed_in) -> None:
    left(clinic)
    nurse = signed_in("bandager")
    shown = page(nurse)
    assert "Clinic protocol, every patient" in shown
    assert "Leave an order" not in shown
    assert "End this order" not in shown
    answer = nurse.post(reverse("orders"), FORM)
    assert answer.status_code == 400
    assert StandingOrder.objects.count() == 1


def test_an_order_of_another_day_is_not_shown(clinic, doctor) -> None:
    later = TODAY + timedelta(days=1)
    left(clinic, starts=later, ends=later, words="From tomorrow on.")
    assert "No order is in force" in page(doctor)


def test_the_audit_names_the_people_whose_orders_were_read(clinic, doctor) -> None:
    left(clinic, clinic.person)
    left(clinic)
    page(doctor)
    entry = AuditEntry.objects.filter(verb="open list", subject="orders").latest("pk")
    assert json.loads(entry.changes) == [{"people": [clinic.person.pk]}]


def test_an_order_for_somebody_of_another_team_is_not_shown(clinic, settings) -> None:
    left(clinic, clinic.person)
    inside = in_teams(clinic, settings)
    for account, told in ((clinic.accounts["prescriber"], False), (inside["prescriber"], True)):
        client = Client()
        client.force_login(account, backend="django.contrib.auth.backends.ModelBackend")
        assert ("Ada Invented" in page(client)) is told


def test_a_number_of_another_team_is_no_number(clinic, doctor, settings) -> None:
    in_teams(clinic, settings)
    answer = doctor.post(reverse("orders"), FORM)
    assert "No person has that number" in answer.content.decode()
    assert not StandingOrder.objects.exists()


def test_an_order_is_ended_once(clinic, doctor) -> None:
    order = left(clinic)
    ended = doctor.post(reverse("end-order", args=[order.pk]))
    assert ended["Location"] == reverse("orders")
    shown = page(doctor)
    assert "The order has ended." in shown
    assert "No order is in force" in shown
    order.refresh_from_db()
    assert order.revoked_at.date() == TODAY
    assert doctor.post(reverse("end-order", args=[order.pk])).status_code == 404


def test_a_bandager_ends_no_order(clinic, signed_in) -> None:
    order = left(clinic)
    assert signed_in("bandager").post(reverse("end-order", args=[order.pk])).status_code == 403
    order.refresh_from_db()
    assert order.revoked_at is None
