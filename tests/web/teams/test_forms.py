"""Boxes of teams: who stands in them, and what a made-up form cannot choose."""

from dataclasses import replace

import pytest

from gaiter.records.actions.accounts import change_account
from gaiter.records.actions.teams import change_team, make_team
from gaiter.records.ledger import Actor
from gaiter.records.models import Account, Person, Role, Team
from gaiter.web.teams.forms import (
    NewTeamForm,
    OutsideForm,
    PersonTeamsForm,
    PlaceForm,
    TeamChoice,
    TeamForm,
)
from tests.clinic import in_teams
from tests.records.models.rows import made

NOBODY = Actor(None, "test")


@pytest.fixture
def inside(clinic, settings) -> dict[str, Account]:
    """Teams count; the person is of Heron team, and these accounts with them."""
    return in_teams(clinic, settings)


def team(name: str) -> Team:
    return Team.objects.get(name=name)


def closed_team(name: str) -> Team:
    shut = make_team(NOBODY, name)
    change_team(NOBODY, shut, name=name, active=False, accounts=[])
    return shut


@pytest.mark.parametrize(
    ("name", "good"), [("x" * 60, True), ("x" * 61, False), ("", False), ("  ", False)]
)
def test_a_team_has_a_name_of_up_to_60_characters(name, good) -> None:
    assert NewTeamForm({"name": name}).is_valid() is good


def test_only_who_treats_and_may_sign_in_is_offered_for_a_team(clinic) -> None:
    offered = TeamForm().fields["accounts"].queryset
    assert {account.role for account in offered} == {Role.PRESCRIBER, Role.BANDAGER}
    names = [account.name for account in offered]
    assert names == sorted(names)
    nurse = clinic.accounts["bandager"]
    assert nurse in offered
    kept = {"name": nurse.name, "initials": nurse.initials, "role": nurse.role}
    change_account(
        clinic.actor(Role.MANAGER), nurse, **kept, training=nurse.training, is_active=False
    )
    assert nurse not in TeamForm().fields["accounts"].queryset


@pytest.mark.parametrize("key", ["abc", "9" * 400, "-1", "1 OR 1=1"])
def test_a_key_that_is_none_is_no_choice_and_no_error_of_the_database(clinic, key) -> None:
    form = TeamForm({"name": "Ford", "accounts": [key]})
    assert not form.is_valid()
    [said] = form.errors["accounts"]
    # What was sent is told back, but no more of it than a line holds.
    assert key[:40] in said
    assert len(said) < 100


def test_nobody_ticked_is_nobody_in_it(clinic) -> None:
    form = TeamForm({"name": "Ford"})
    assert form.is_valid()
    assert list(form.cleaned_data["accounts"]) == []
    assert form.cleaned_data["active"] is False


def test_a_choice_of_teams_offers_nothing_until_it_is_told(clinic) -> None:
    """A form that forgets to say which teams shows none, and not all of them."""
    make_team(NOBODY, "Ford team")
    assert list(TeamChoice().queryset) == []
    assert str(TeamChoice().label) == "Teams"
    assert str(TeamChoice(label="Mine").label) == "Mine"


def test_people_are_placed_by_number_and_never_by_name(clinic, inside) -> None:
    lost = made(Person, number="T-77", number_index="lost", name="Cy Invented")
    form = PlaceForm()
    assert form.shown == [lost.pk]
    shown = str(form["people"])
    assert "T-77" in shown
    assert "Cy Invented" not in shown
    placed = PlaceForm({"team": team("Ford team").pk, "people": [lost.pk]})
    assert placed.is_valid()
    assert placed.chosen() == [lost]


def test_somebody_who_is_seen_is_not_placed_by_a_made_up_form(clinic, inside) -> None:
    form = PlaceForm({"team": team("Ford team").pk, "people": [clinic.person.pk]})
    assert list(form.errors) == ["people"]


def test_everybody_is_everybody_whom_nobody_sees(clinic, inside) -> None:
    lost = [made(Person, number=f"T-8{n}", number_index=f"lost {n}") for n in (1, 2)]
    form = PlaceForm({"team": team("Ford team").pk, "everybody": "on", "people": [lost[0].pk]})
    assert form.is_valid()
    assert form.chosen() == lost


def test_nobody_is_put_into_a_team_that_does_not_count(clinic, inside) -> None:
    shut = closed_team("Closed team")
    form = PlaceForm({"team": shut.pk, "everybody": "on"})
    assert list(form.errors) == ["team"]
    assert "Closed team" not in str(PlaceForm()["team"])


def test_where_teams_do_not_count_a_manager_reads_nothing_of_people(clinic, settings) -> None:
    settings.GAITER = replace(settings.GAITER, teams=False)
    make_team(NOBODY, "Ford team")
    form = PlaceForm({"team": team("Ford team").pk, "people": [clinic.person.pk]})
    assert "people" not in form.fields
    assert form.shown == []
    assert form.is_valid()
    assert form.chosen() == []


def test_a_prescriber_says_all_the_teams_of_a_person(clinic, inside) -> None:
    doctor, ford, heron = inside["prescriber"], team("Ford team"), team("Heron team")
    form = PersonTeamsForm(doctor, clinic.person)
    assert form.offers
    assert form.initial == {"teams": [heron]}
    assert set(form.fields["teams"].queryset) == {ford, heron}
    moved = PersonTeamsForm(doctor, clinic.person, {"teams": [ford.pk]})
    assert moved.is_valid()
    # What was not ticked again is left.
    assert moved.chosen() == [ford]


def test_a_bandager_adds_an_own_team_and_takes_none_away(clinic, inside) -> None:
    nurse, heron = clinic.accounts["bandager"], team("Heron team")
    own = team("Ford team")
    form = PersonTeamsForm(nurse, clinic.person, {"teams": [own.pk]})
    assert list(form.fields["teams"].queryset) == [own]
    assert str(form.fields["teams"].label) == "Add your team"
    assert form.is_valid()
    assert form.chosen() == [heron, own]
    other = PersonTeamsForm(nurse, clinic.person, {"teams": [heron.pk]})
    assert list(other.errors) == ["teams"]


def test_a_bandager_of_the_persons_team_has_nothing_to_add(clinic, inside) -> None:
    form = PersonTeamsForm(inside["bandager"], clinic.person, {})
    assert not form.offers
    assert form.is_valid()
    assert form.chosen() == [team("Heron team")]


@pytest.mark.parametrize(
    ("words", "good"), [("x" * 9, False), ("x" * 10, True), ("x" * 500, True), ("x" * 501, False)]
)
def test_opening_from_outside_says_why_in_10_to_500_characters(words, good) -> None:
    """As long as the label says."""
    form = OutsideForm({"number": "T-1", "words": words})
    assert form.is_valid() is good
    assert "10 to 500 characters" in form.fields["words"].label
