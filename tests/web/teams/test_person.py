"""Teams on the pages of people, and opening somebody of another team."""

from dataclasses import replace
from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from gaiter.records.actions.teams import change_team
from gaiter.records.ledger import Actor
from gaiter.records.models import AuditEntry, OutsideOpening, Person, Team
from gaiter.records.read.visible import teams_of
from tests.clinic import in_teams

REASON = "The toes are blue, and nobody of the team answers"


@pytest.fixture
def inside(clinic, settings):
    return in_teams(clinic, settings)


@pytest.fixture
def own(inside):
    """A browser of somebody of the person's team."""
    return browser(inside["bandager"])


def browser(account) -> Client:
    client = Client()
    client.force_login(account, backend="django.contrib.auth.backends.ModelBackend")
    return client


def opened(client, number="T-1", words=REASON):
    return client.post(reverse("open-outside"), {"number": number, "words": words})


def test_people_say_who_sees_whom(clinic, inside, own, nurse, settings) -> None:
    address = reverse("people")
    assert "Heron team" in own.get(address).content.decode()
    page = nurse.get(address).content.decode()
    assert "Ford team" in page
    assert reverse("open-outside") in page
    ford = Team.objects.get(name="Ford team")
    change_team(Actor(None, "test"), ford, name=ford.name, active=True, accounts=[])
    assert "You are in no team, so you see nobody" in nurse.get(address).content.decode()
    settings.GAITER = replace(settings.GAITER, teams=False)
    page = nurse.get(address).content.decode()
    assert "Everyone clinical in this clinic sees every person." in page
    assert reverse("open-outside") not in page


def test_an_empty_list_says_whose_it_is(clinic, inside, own, nurse) -> None:
    assert "No leg of your teams is open" in nurse.get(reverse("today")).content.decode()
    assert "No leg of your teams is open" not in own.get(reverse("today")).content.decode()


def test_a_record_opens_for_four_hours_and_shuts_by_itself(clinic, inside, nurse, settings) -> None:
    """However often it is used meanwhile: the end does not move."""
    settings.GAITER = replace(settings.GAITER, idle_minutes=240)
    pages = [
        reverse("person", args=[clinic.person.pk]),
        reverse("leg", args=[clinic.episode.pk]),
        reverse("visit", args=[clinic.visit.pk]),
    ]
    today = f"{reverse('today')}?show=all"
    with time_machine.travel("2026-11-25T09:40:00Z", tick=False) as clock:
        assert [nurse.get(page).status_code for page in pages] == [404] * 3
        assert opened(nurse)["Location"] == pages[0]
        for _turn in range(8):
            assert [nurse.get(page).status_code for page in pages] == [200] * 3
            assert clinic.person.name in nurse.get(today).content.decode()
            clock.shift(timedelta(minutes=29))
        clock.move_to("2026-11-25T13:39:59Z")
        assert (
            nurse.post(reverse("note", args=[clinic.episode.pk]), {"words": "seen"}).status_code
            == 302
        )
        clock.move_to("2026-11-25T13:40:00Z")
        assert [nurse.get(page).status_code for page in pages] == [404] * 3
        assert clinic.person.name not in nurse.get(today).content.decode()
        answer = nurse.post(reverse("note", args=[clinic.episode.pk]), {"words": "seen"})
        assert answer.status_code == 404


def test_the_hours_are_the_clinics(clinic, inside, nurse, settings) -> None:
    settings.GAITER = replace(settings.GAITER, break_glass_hours=1)
    assert "for 1 hour." in nurse.get(reverse("open-outside")).content.decode()
    opened(nurse)
    made = OutsideOpening.objects.get()
    assert made.until - made.at == timedelta(hours=1)


def test_it_opens_one_person_to_one_account(clinic, inside, nurse) -> None:
    opened(nurse)
    person = reverse("person", args=[clinic.person.pk])
    assert browser(clinic.accounts["prescriber"]).get(person).status_code == 404
    assert nurse.get(person).status_code == 200


def test_whoever_opens_the_person_reads_who_did_and_why(clinic, inside, own, nurse) -> None:
    opened(nurse, words="Because of <b>bleeding</b> at night")
    for client in (own, nurse):
        shown = client.get(reverse("person", args=[clinic.person.pk])).content.decode()
        page = " ".join(shown.split())
        assert "<b>Opened outside the team</b> by Invented bandager on" in page
        assert "because: Because of &lt;b&gt;bleeding&lt;/b&gt; at night" in page
    entry = AuditEntry.objects.get(verb="open outside")
    assert (entry.who, entry.subject) == ("bandager", f"person:{clinic.person.pk}")


def test_it_stays_shown_when_teams_count_no_more(clinic, inside, nurse, settings) -> None:
    opened(nurse)
    settings.GAITER = replace(settings.GAITER, teams=False)
    page = nurse.get(reverse("person", args=[clinic.person.pk])).content.decode()
    assert REASON in page


@pytest.mark.parametrize(
    ("number", "words", "said"),
    [
        ("T-1", "too short", "at least 10 characters"),
        ("T-1", "x" * 501, "at most 500 characters"),
        ("T-1", "\x00" * 12, "Null characters are not allowed"),
        ("T", REASON, "No person has that number"),
        ("Ada Invented", REASON, "No person has that number"),
        ("", REASON, "required"),
    ],
)
def test_without_a_reason_or_a_number_nothing_opens(
    clinic, inside, nurse, number, words, said
) -> None:
    answer = opened(nurse, number, words)
    assert answer.status_code == 400
    assert said in answer.content.decode()
    assert OutsideOpening.objects.count() == 0
    assert nurse.get(reverse("person", args=[clinic.person.pk])).status_code == 404


def test_numbers_that_nobody_has_are_tried_ten_times_in_a_quarter_of_an_hour(
    clinic, inside, nurse, settings
) -> None:
    """However many right ones are between; somebody else is not stopped."""
    settings.GAITER = replace(settings.GAITER, idle_minutes=240)
    start = clinic.actor().now
    with time_machine.travel(start, tick=False) as clock:
        for turn in range(10):
            assert opened(nurse, f"X-{turn}").status_code == 400
            if turn < 3:
                assert opened(nurse).status_code == 302
        answer = opened(nurse)
        assert answer.status_code == 429
        assert "Too many wrong tries: wait 15 minutes" in answer.content.decode()
        assert OutsideOpening.objects.count() == 3
        doctor = browser(clinic.accounts["prescriber"])
        assert opened(doctor).status_code == 302
        assert opened(browser(clinic.accounts["bandager"])).status_code == 429  # signed in anew
        clock.move_to(start + timedelta(minutes=14, seconds=59))
        assert opened(nurse).status_code == 429
        clock.move_to(start + timedelta(minutes=15))
        assert opened(nurse).status_code == 302


def test_a_new_person_is_put_into_the_teams_that_are_ticked(clinic, inside, own) -> None:
    new = {"name": "Bo", "birth_date": "1950-01-01", "number": "T-2"}
    assert 'name="teams"' not in own.get(reverse("new-person")).content.decode()
    assert own.post(reverse("new-person"), new).status_code == 302
    assert [t.name for t in teams_of(Person.objects.latest("pk"))] == ["Heron team"]
    ford = Team.objects.get(name="Ford team")
    change_team(
        Actor(None, "test"), ford, name=ford.name, active=True, accounts=[inside["bandager"]]
    )
    again = {**new, "number": "T-3"}
    assert own.post(reverse("new-person"), again).status_code == 400
    assert own.post(reverse("new-person"), {**again, "teams": [ford.pk]}).status_code == 302
    assert list(teams_of(Person.objects.latest("pk"))) == [ford]


def test_whoever_is_in_no_team_adds_nobody(clinic, inside, nurse) -> None:
    ford = Team.objects.get(name="Ford team")
    change_team(Actor(None, "test"), ford, name=ford.name, active=True, accounts=[])
    new = {"name": "Bo", "birth_date": "1950-01-01", "number": "T-2"}
    answer = nurse.post(reverse("new-person"), new)
    assert (answer.status_code, Person.objects.count()) == (400, 1)
    assert "You are in no team" in answer.content.decode()


def test_a_bandager_adds_only_their_own_team(clinic, inside, own) -> None:
    person, address = (
        reverse(name, args=[clinic.person.pk]) for name in ("person", "person-teams")
    )
    assert "Change the teams" not in own.get(person).content.decode()  # none of theirs is left
    ford = Team.objects.get(name="Ford team")
    assert own.post(address, {"teams": [ford.pk]}).status_code == 400
    change_team(
        Actor(None, "test"), ford, name=ford.name, active=True, accounts=[inside["bandager"]]
    )
    assert "Add your team" in own.get(person).content.decode()
    assert own.post(address, {"teams": [ford.pk]})["Location"] == person
    assert [t.name for t in teams_of(clinic.person)] == ["Ford team", "Heron team"]


def test_a_prescriber_moves_a_person_and_sees_them_no_more(clinic, inside) -> None:
    doctor, ford = browser(inside["prescriber"]), Team.objects.get(name="Ford team")
    address = reverse("person-teams", args=[clinic.person.pk])
    assert doctor.post(address, {}).status_code == 400
    assert doctor.post(address, {"teams": [ford.pk]})["Location"] == reverse("people")
    assert doctor.get(reverse("person", args=[clinic.person.pk])).status_code == 404
    assert list(teams_of(clinic.person)) == [ford]


def test_whoever_opened_from_outside_cannot_make_it_last(clinic, inside, nurse) -> None:
    opened(nurse)
    page = nurse.get(reverse("person", args=[clinic.person.pk])).content.decode()
    assert "Change the teams" not in page
    ford = Team.objects.get(name="Ford team")
    answer = nurse.post(reverse("person-teams", args=[clinic.person.pk]), {"teams": [ford.pk]})
    assert answer.status_code == 403
    assert [t.name for t in teams_of(clinic.person)] == ["Heron team"]


def test_an_order_is_left_for_nobody_of_another_team(clinic, inside) -> None:
    given = {
        "number": "T-1", "maximum_mmhg": "30", "words": "While I am away", "password":
        "correct horse battery", "starts": "2026-11-25", "ends": "2026-11-26",
    }  # fmt: skip
    answer = browser(clinic.accounts["prescriber"]).post(reverse("orders"), given)
    assert answer.status_code == 400
    assert "No person has that number" in answer.content.decode()
    assert browser(inside["prescriber"]).post(reverse("orders"), given).status_code == 302
