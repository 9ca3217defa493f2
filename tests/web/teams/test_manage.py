"""The manager's pages of teams: made, filled, given people, and what was opened from outside."""

import json
import re
from dataclasses import replace

import pytest
from django.urls import reverse

from gaiter.records.actions.teams import change_team, open_outside
from gaiter.records.ledger import Actor
from gaiter.records.models import AuditEntry, Person, Team, TeamPerson
from gaiter.records.read.visible import members_of, teams_of
from tests.clinic import in_teams
from tests.records.models.rows import made


@pytest.fixture
def inside(clinic, settings):
    return in_teams(clinic, settings)


@pytest.fixture
def manager(signed_in):
    return signed_in("manager")


def test_a_team_is_made_filled_and_renamed(clinic, inside, manager) -> None:
    answer = manager.post(reverse("teams"), {"name": "Third floor"})
    team = Team.objects.get(name="Third floor")
    address = reverse("team", args=[team.pk])
    assert answer["Location"] == address
    nurse = clinic.accounts["bandager"]
    page = manager.get(address).content.decode()
    assert nurse.name in page
    assert clinic.accounts["learner"].name not in page
    given = {"name": "Third", "active": "on", "accounts": [str(nurse.pk)]}
    assert manager.post(address, given).status_code == 302
    team.refresh_from_db()
    assert (team.name, members_of([team])[team.pk]) == ("Third", [nurse])
    # The form holds who is in it, so that keeping it again takes nobody out.
    page = manager.get(address).content.decode()
    assert re.findall(r'name="accounts" value="(\d+)"[^>]*checked', page) == [str(nurse.pk)]


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"name": "Heron team", "active": "on"}, "There is a team called Heron team"),
        ({"name": ""}, "required"),
        ({"name": "Ford", "active": "on", "accounts": ["abc"]}, "not a valid value"),
        ({"name": "Ford", "active": "on", "accounts": ["9" * 400]}, "not a valid value"),
    ],
)
def test_what_a_team_cannot_be_is_said_on_its_page(inside, manager, given, words) -> None:
    ford = Team.objects.get(name="Ford team")
    answer = manager.post(reverse("team", args=[ford.pk]), given)
    assert answer.status_code == 400
    assert words in answer.content.decode()
    ford.refresh_from_db()
    assert ford.name == "Ford team"


def test_a_learner_is_put_into_no_team_by_a_made_up_form(clinic, inside, manager) -> None:
    ford = Team.objects.get(name="Ford team")
    learner = clinic.accounts["learner"]
    given = {"name": ford.name, "active": "on", "accounts": [str(learner.pk)]}
    assert manager.post(reverse("team", args=[ford.pk]), given).status_code == 400
    assert learner not in members_of([ford])[ford.pk]


def test_people_whom_nobody_sees_are_listed_by_number_and_placed(clinic, inside, manager) -> None:
    lost = made(Person, number="T-77", number_index="lost", name="Cy Invented")
    page = manager.get(reverse("teams")).content.decode()
    assert "1 person whom no team sees" in page
    assert "T-77" in page
    assert "Cy Invented" not in page
    entry = AuditEntry.objects.get(verb="open list", subject="teams")
    assert json.loads(entry.changes) == [{"people": [lost.pk]}]
    heron = Team.objects.get(name="Heron team")
    put = {"team": str(heron.pk), "people": [str(lost.pk)]}
    assert manager.post(reverse("place-people"), put).status_code == 302
    assert list(teams_of(lost)) == [heron]
    assert "T-77" not in manager.get(reverse("teams")).content.decode()


@pytest.mark.parametrize(
    "given",
    [{}, {"team": "0"}, {"team": "x", "everybody": "on"}, {"team": "9" * 400, "everybody": "on"}],
)
def test_without_a_team_or_people_nobody_is_placed(inside, manager, given) -> None:
    made(Person, number="T-77", number_index="lost")
    before = TeamPerson.objects.count()
    assert manager.post(reverse("place-people"), given).status_code == 400
    only_team = {"team": str(Team.objects.get(name="Ford team").pk)}
    answer = manager.post(reverse("place-people"), only_team)
    assert "Choose at least one person." in answer.content.decode()
    assert TeamPerson.objects.count() == before


def test_a_person_whom_a_team_sees_is_not_among_the_choices(clinic, inside, manager) -> None:
    ford = Team.objects.get(name="Ford team")
    put = {"team": str(ford.pk), "people": [str(clinic.person.pk)]}
    assert manager.post(reverse("place-people"), put).status_code == 400
    assert [team.name for team in teams_of(clinic.person)] == ["Heron team"]


def test_before_teams_count_everybody_is_placed_unread(clinic, inside, manager, settings) -> None:
    """So that nobody is out of sight in between; a manager reads no number of a person."""
    TeamPerson.objects.update(ended_at=clinic.actor().now)
    settings.GAITER = replace(settings.GAITER, teams=False)
    page = manager.get(reverse("teams")).content.decode()
    assert "teams do not count yet" in page
    assert "1 person whom no team sees" in page
    assert "T-1" not in page
    heron = Team.objects.get(name="Heron team")
    manager.post(reverse("place-people"), {"team": str(heron.pk), "everybody": "on"})
    assert list(teams_of(clinic.person)) == [heron]


def test_what_was_opened_from_outside_is_listed(clinic, inside, manager) -> None:
    open_outside(clinic.actor(), "T-1", "The toes are blue <b>now</b>")
    page = manager.get(reverse("teams")).content.decode()
    assert "The toes are blue &lt;b&gt;now&lt;/b&gt;" in page
    assert clinic.accounts["bandager"].name in page
    assert "T-1" in page
    assert clinic.person.name not in page


def test_a_leg_that_nobody_sees_is_said_today_and_to_the_manager(
    clinic, inside, manager, client
) -> None:
    assert "nobody's list" not in manager.get(reverse("accounts")).content.decode()
    heron = Team.objects.get(name="Heron team")
    change_team(Actor(None, "test"), heron, name=heron.name, active=True, accounts=[])
    assert "1 open leg stands in nobody's list" in manager.get(reverse("accounts")).content.decode()
    client.force_login(
        clinic.accounts["bandager"], backend="django.contrib.auth.backends.ModelBackend"
    )
    page = client.get(reverse("today")).content.decode()
    assert "1 open leg stands in nobody's list" in page
    assert clinic.person.name not in page


def test_before_teams_count_nobody_is_called_unseen(clinic, manager, settings) -> None:
    settings.GAITER = replace(settings.GAITER, teams=False)
    page = manager.get(reverse("teams")).content.decode()
    assert "Everybody sees them today; once teams count nobody would" in page
    assert "nobody's list" not in page


def test_the_lists_ask_as_often_for_many_as_for_one(
    clinic, inside, manager, django_assert_max_num_queries
) -> None:
    for number in range(6):
        manager.post(reverse("teams"), {"name": f"Team {number}"})
        made(Person, number=f"Q-{number}", number_index=f"q{number}")
    manager.get(reverse("teams"))
    # Session and account, teams, members, count of people and the form's choices, openings, and
    # the opening of the list in the audit.
    with django_assert_max_num_queries(18):
        manager.get(reverse("teams"))
