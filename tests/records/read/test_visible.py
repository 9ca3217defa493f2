"""Whose records somebody sees: by team, by an opening from outside, and never by role alone."""

from dataclasses import replace
from datetime import timedelta

import pytest

from gaiter.records.actions.accounts import change_account
from gaiter.records.actions.plans import leave_order
from gaiter.records.actions.teams import change_team, make_team, open_outside, place_unseen
from gaiter.records.ledger import Actor
from gaiter.records.models import Person, Role, StandingOrder, Team, TeamPerson, Visit
from gaiter.records.read.visible import (
    is_visible,
    last_openings,
    members_of,
    only_visible,
    own_teams,
    people_of_teams,
    teams_of,
    unseen_legs,
    unseen_people,
    visible_people,
)
from tests.clinic import in_teams
from tests.records.models.rows import AT, changed, made

NOBODY = Actor(None, "test")


@pytest.fixture
def inside(clinic, settings):
    return in_teams(clinic, settings)


def without_teams(settings) -> None:
    settings.GAITER = replace(settings.GAITER, teams=False)


def sees(account, person) -> bool:
    return person in visible_people(Actor(account))


def test_without_the_setting_everybody_clinical_sees_every_person(clinic, inside, settings) -> None:
    doctor = clinic.accounts[Role.PRESCRIBER]
    assert not sees(doctor, clinic.person)
    without_teams(settings)
    assert sees(doctor, clinic.person)
    assert unseen_legs() == 0


def test_somebody_sees_the_people_of_their_own_teams(clinic, inside) -> None:
    for role in (Role.PRESCRIBER, Role.BANDAGER):
        assert sees(inside[role], clinic.person)
        assert not sees(clinic.accounts[role], clinic.person)
    assert [team.name for team in own_teams(inside["bandager"])] == ["Heron team"]
    assert [team.name for team in teams_of(clinic.person)] == ["Heron team"]
    assert visible_people(NOBODY).get() == clinic.person  # the command line


def test_whoever_leaves_a_team_or_its_role_sees_its_people_no_more(clinic, inside) -> None:
    heron, nurse = Team.objects.get(name="Heron team"), inside["bandager"]
    change_account(
        NOBODY, nurse, name=nurse.name, initials="IN", role="learner", training="trained",
        is_active=True,
    )  # fmt: skip
    nurse.refresh_from_db()
    assert not sees(nurse, clinic.person)
    doctor = inside["prescriber"]
    change_team(NOBODY, heron, name="Heron team", active=True, accounts=[])
    assert not sees(doctor, clinic.person)


def test_a_team_that_does_not_count_shows_nobody(clinic, inside) -> None:
    changed(Team.objects.get(name="Heron team"), active=False)
    assert not sees(inside["bandager"], clinic.person)
    assert list(own_teams(inside["bandager"])) == []
    assert list(teams_of(clinic.person)) == []


def test_a_person_whose_time_in_a_team_ended_is_not_seen_by_it(clinic, inside) -> None:
    changed(TeamPerson.objects.get(), ended_at=AT)
    assert not sees(inside["bandager"], clinic.person)


@pytest.mark.parametrize(
    ("hours", "opens"), [(-0.01, False), (0, True), (3.99, True), (4, False), (400, False)]
)
def test_an_opening_lasts_from_its_moment_to_its_end(clinic, inside, hours, opens) -> None:
    """Four hours; before it, as after a clock was put back, nothing is open."""
    nurse = clinic.accounts[Role.BANDAGER]
    made_at = clinic.actor().now
    open_outside(replace(clinic.actor(), at=made_at), "T-1", "The toes are blue, their team is out")
    later = Actor(nurse, "", made_at + timedelta(hours=hours))
    assert (clinic.person in visible_people(later)) is opens
    assert clinic.person not in people_of_teams(later)
    # Nobody else sees the person by it.
    doctor = Actor(clinic.accounts[Role.PRESCRIBER], "", later.at)
    assert clinic.person not in visible_people(doctor)


def test_a_record_is_seen_through_its_person_and_a_missing_one_not_at_all(clinic, inside) -> None:
    ours, theirs = Actor(inside["bandager"]), clinic.actor()
    assert is_visible(ours, Visit, clinic.visit.pk)
    assert not is_visible(theirs, Visit, clinic.visit.pk)
    assert not is_visible(ours, Visit, 999)


def test_an_order_for_every_patient_is_seen_by_all_and_one_for_a_person_is_not(
    clinic, inside, settings
) -> None:
    said = {"maximum_mmhg": 40, "words": "While I am away."}
    today = clinic.actor().today
    doctor = Actor(inside["prescriber"])
    one, every = (
        leave_order(doctor, person=person, **said, starts=today, ends=today)
        for person in (clinic.person, None)
    )
    theirs = clinic.actor()
    assert only_visible(doctor, [one, every]) == [one, every]
    assert only_visible(theirs, [one, every]) == [every]
    assert is_visible(theirs, StandingOrder, every.pk)
    assert not is_visible(theirs, StandingOrder, one.pk)
    without_teams(settings)
    assert only_visible(theirs, [one, every]) == [one, every]


def test_who_is_seen_by_nobody_is_counted(clinic, inside) -> None:
    """In no team, in one without anybody clinical, or in one that does not count."""
    assert list(unseen_people()) == []
    heron = Team.objects.get(name="Heron team")
    held = list(inside.values())
    for active, accounts in ((True, []), (True, held)):
        change_team(NOBODY, heron, name=heron.name, active=active, accounts=accounts)
        expected = [] if accounts else [clinic.person]
        assert list(unseen_people()) == expected
        assert unseen_legs() == len(expected)
    other = made(Person)
    assert list(unseen_people()) == [other]
    assert unseen_legs() == 0  # without an open leg
    # Somebody who may not sign in sees nobody.
    for account in held:
        changed(account, is_active=False)
    assert clinic.person in unseen_people()


def test_members_are_given_by_team(clinic, inside) -> None:
    empty = make_team(NOBODY, "Empty")
    heron = Team.objects.get(name="Heron team")
    found = members_of([heron, empty])
    assert found == {heron.pk: [inside["bandager"], inside["prescriber"]], empty.pk: []}


def test_openings_are_told_newest_first_of_one_person_or_of_all(clinic, inside) -> None:
    other = made(Person, number="T-2", number_index="x")
    place_unseen(NOBODY, Team.objects.get(name="Heron team"), [other])
    first = open_outside(clinic.actor(), "T-1", "First reason given")
    second = open_outside(clinic.actor(Role.PRESCRIBER), "T-1", "Second reason given")
    assert last_openings(clinic.person) == [second, first]
    assert last_openings() == [second, first]
    assert last_openings(other) == []
    assert last_openings(most=1) == [second]
