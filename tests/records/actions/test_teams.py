"""Teams are made by managers; people are put in, moved and opened from outside, all on record."""

import json
from datetime import date

import pytest

from gaiter.core.errors import InputError
from gaiter.records.actions.people import add_person
from gaiter.records.actions.teams import (
    change_team,
    change_teams,
    make_team,
    open_outside,
    place_unseen,
)
from gaiter.records.ledger import Actor, AlreadyDoneError, NotAllowedError, broken_at
from gaiter.records.models import (
    AuditEntry,
    OutsideOpening,
    Person,
    Role,
    Team,
    TeamMember,
    TeamPerson,
)
from gaiter.records.read.visible import teams_of, visible_people
from tests.clinic import in_teams

NOBODY = Actor(None, "test")
REASON = "The toes are blue and nobody of the team is here."
BORN = {"name": "Bo Invented", "birth_date": date(1950, 1, 1)}


@pytest.fixture
def inside(clinic, settings):
    return in_teams(clinic, settings)


@pytest.fixture
def heron(inside):
    return Team.objects.get(name="Heron team")


@pytest.fixture
def ford(inside):
    return Team.objects.get(name="Ford team")


def last() -> AuditEntry:
    return AuditEntry.objects.latest("number")


def names(person) -> list[str]:
    return [team.name for team in teams_of(person)]


@pytest.mark.parametrize("role", [Role.PRESCRIBER, Role.BANDAGER, Role.LEARNER])
def test_only_a_manager_makes_fills_and_places(clinic, inside, heron, role) -> None:
    actor = clinic.actor(role)
    before = AuditEntry.objects.count()
    with pytest.raises(NotAllowedError, match="Only a manager"):
        make_team(actor, "Third")
    with pytest.raises(NotAllowedError, match="Only a manager"):
        change_team(actor, heron, name="Heron", active=True, accounts=[actor.account])
    with pytest.raises(NotAllowedError, match="Only a manager"):
        place_unseen(actor, heron, [clinic.person])
    assert AuditEntry.objects.count() == before


def test_a_manager_makes_renames_and_fills_a_team(clinic, inside) -> None:
    actor, nurse = clinic.actor(Role.MANAGER), clinic.accounts[Role.BANDAGER]
    team = make_team(actor, " Third ", "a")
    assert (team.name, last().verb, last().subject) == ("Third", "make team", f"team:{team.pk}")
    with pytest.raises(AlreadyDoneError):
        make_team(actor, "Fourth", "a")
    change_team(actor, team, name="Third floor", active=True, accounts=[nurse])
    changes = json.loads(last().changes)
    assert changes[0]["before"] == {"name": "Third", "active": True}
    assert changes[0]["after"] == {"name": "Third floor", "active": True}
    assert changes[1]["after"]["account_id"] == nurse.pk
    assert (last().verb, last().who) == ("change team", "manager")
    # The same again changes nobody; without, the membership ends and stays on record.
    change_team(actor, team, name="Third floor", active=True, accounts=[nurse])
    assert TeamMember.objects.filter(team=team).count() == 1
    change_team(actor, team, name="Third floor", active=True, accounts=[])
    assert TeamMember.objects.get(team=team).ended_at is not None
    assert broken_at() is None


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("", "1 to 60 characters; received 0"),
        ("x" * 61, "received 61"),
        ("heron TEAM", "There is a team called heron TEAM"),
        ("a\x00b", "cannot be kept"),
    ],
)
def test_a_name_that_cannot_be_is_refused(clinic, inside, name, words) -> None:
    with pytest.raises(InputError, match=words):
        make_team(NOBODY, name)
    assert Team.objects.count() == 2


def test_only_clinical_staff_are_in_a_team(clinic, heron) -> None:
    for role in (Role.LEARNER, Role.MANAGER):
        with pytest.raises(InputError, match=f"Invented {role.value} is not clinical staff"):
            change_team(NOBODY, heron, name="H", active=True, accounts=[clinic.accounts[role]])


def test_a_team_that_alone_treats_somebody_is_not_shut(clinic, inside, heron, ford) -> None:
    with pytest.raises(InputError, match="1 people are in this team only"):
        change_team(NOBODY, heron, name="Heron team", active=False, accounts=inside.values())
    heron.refresh_from_db()
    assert heron.active
    change_teams(Actor(inside["prescriber"]), clinic.person, [heron, ford])
    change_team(NOBODY, heron, name="Heron team", active=False, accounts=inside.values())
    assert names(clinic.person) == ["Ford team"]
    # Counting again, it does not see whoever it saw before.
    change_team(NOBODY, heron, name="Heron team", active=True, accounts=inside.values())
    assert names(clinic.person) == ["Ford team"]


def test_only_whom_nobody_sees_is_placed(clinic, inside, heron, ford) -> None:
    """A manager moves nobody out of sight of a team, nor into sight of another."""
    actor = clinic.actor(Role.MANAGER)
    assert place_unseen(actor, ford, [clinic.person]) == 0
    assert names(clinic.person) == ["Heron team"]
    change_team(NOBODY, heron, name="Heron team", active=True, accounts=[])
    assert place_unseen(actor, heron, [clinic.person]) == 0  # it is in this one
    assert place_unseen(actor, ford, [clinic.person], "a") == 1
    assert names(clinic.person) == ["Ford team", "Heron team"]
    assert (last().verb, last().subject) == ("place people", f"team:{ford.pk}")
    with pytest.raises(InputError, match="at least one person"):
        place_unseen(actor, ford, [])
    shut = make_team(NOBODY, "Shut")
    change_team(NOBODY, shut, name="Shut", active=False, accounts=[])
    with pytest.raises(InputError, match="does not count any more"):
        place_unseen(actor, shut, [clinic.person])


def test_a_new_person_is_in_teams_of_whoever_adds(clinic, inside, heron, ford) -> None:
    nurse = Actor(inside["bandager"])
    made = add_person(nurse, **BORN, number="T-2")
    assert names(made) == ["Heron team"]  # the only one is no choice
    change_team(NOBODY, ford, name="Ford team", active=True, accounts=[inside["bandager"]])
    with pytest.raises(InputError, match="one or more of your teams"):
        add_person(nurse, **BORN, number="T-3")
    both = add_person(nurse, **BORN, number="T-3", teams=[heron, ford])
    assert names(both) == ["Ford team", "Heron team"]
    assert "teamperson" in last().changes
    assert last().subject == f"person:{both.pk}"


def test_a_new_person_is_in_no_team_of_others_and_never_in_none(clinic, inside, heron) -> None:
    with pytest.raises(NotAllowedError, match="your own teams only"):
        add_person(clinic.actor(), **BORN, number="T-2", teams=[heron])
    TeamMember.objects.update(ended_at=clinic.actor().now)
    with pytest.raises(InputError, match="You are in no team"):
        add_person(clinic.actor(), **BORN, number="T-2")
    assert Person.objects.count() == 1


def test_a_number_of_another_team_is_refused_without_a_name(clinic, inside) -> None:
    with pytest.raises(InputError, match="of another team: ask that team"):
        add_person(clinic.actor(), **BORN, number="T-1")
    with pytest.raises(InputError, match="search for it"):
        add_person(Actor(inside["bandager"]), **BORN, number="T-1")


def test_a_bandager_adds_own_teams_and_takes_none_away(clinic, inside, heron, ford) -> None:
    nurse = Actor(inside["bandager"])
    with pytest.raises(NotAllowedError, match="your own teams only"):
        change_teams(nurse, clinic.person, [heron, ford])
    change_team(NOBODY, ford, name="Ford team", active=True, accounts=[inside["bandager"]])
    with pytest.raises(NotAllowedError, match="Only a prescriber takes"):
        change_teams(nurse, clinic.person, [ford])
    change_teams(nurse, clinic.person, [heron, ford], "a")
    assert names(clinic.person) == ["Ford team", "Heron team"]
    assert (last().verb, last().subject) == ("change teams", f"person:{clinic.person.pk}")


def test_a_prescriber_moves_and_leaves_nobody_without_a_team(clinic, inside, heron, ford) -> None:
    doctor = Actor(inside["prescriber"])
    with pytest.raises(InputError, match="at least one"):
        change_teams(doctor, clinic.person, [])
    change_teams(doctor, clinic.person, [ford])
    assert names(clinic.person) == ["Ford team"]
    assert clinic.person not in visible_people(doctor)
    assert clinic.person in visible_people(clinic.actor())
    assert TeamPerson.objects.get(team=heron).ended_at is not None
    shut = make_team(NOBODY, "Shut")
    change_team(NOBODY, shut, name="Shut", active=False, accounts=[])
    shut.refresh_from_db()
    with pytest.raises(InputError, match="does not count any more"):
        change_teams(clinic.actor(Role.PRESCRIBER), clinic.person, [ford, shut])


@pytest.mark.parametrize("role", [Role.PRESCRIBER, Role.BANDAGER])
def test_an_opening_from_outside_does_not_become_a_team(clinic, ford, heron, role) -> None:
    """Else four hours would be for ever."""
    open_outside(clinic.actor(role), "T-1", REASON)
    assert clinic.person in visible_people(clinic.actor(role))
    with pytest.raises(NotAllowedError, match="from outside"):
        change_teams(clinic.actor(role), clinic.person, [heron, ford])
    assert names(clinic.person) == ["Heron team"]


def test_an_opening_keeps_who_why_and_until_when(clinic, inside) -> None:
    made = open_outside(clinic.actor(), " t-1 ", f" {REASON} ", "a")
    assert (made.person, made.by, made.words) == (
        clinic.person, clinic.accounts[Role.BANDAGER], REASON,
    )  # fmt: skip
    assert (made.until - made.at).total_seconds() == 4 * 3600
    assert (last().verb, last().subject) == ("open outside", f"person:{clinic.person.pk}")
    assert last().who == "bandager"
    assert "sealed" in json.loads(last().changes)[0]["after"]["words"]
    assert REASON not in last().changes
    with pytest.raises(AlreadyDoneError):
        open_outside(clinic.actor(), "T-1", REASON, "a")


@pytest.mark.parametrize(
    ("words", "said"), [("x" * 9, "received 9"), ("x" * 501, "received 501"), (" " * 40, "0")]
)
def test_a_reason_is_10_to_500_characters(clinic, inside, words, said) -> None:
    with pytest.raises(InputError, match=f"10 to 500 characters.*{said}"):
        open_outside(clinic.actor(), "T-1", words)
    for longest in ("x" * 10, "x" * 500):
        open_outside(clinic.actor(), "T-1", longest)
    assert OutsideOpening.objects.count() == 2


def test_a_number_that_nobody_has_is_refused_and_on_record(clinic, inside) -> None:
    """A part of a number is one; what was tried is not written down."""
    for number in ("T-", "T-10", "Ada Invented", ""):
        with pytest.raises(InputError, match="No person has that number"):
            open_outside(clinic.actor(), number, REASON)
        assert (last().verb, last().subject) == ("open outside, no such number", "")
    assert OutsideOpening.objects.count() == 0


def test_nobody_opens_their_own_people_from_outside_nor_without_a_clinical_role(
    clinic, inside
) -> None:
    with pytest.raises(InputError, match="of your own team"):
        open_outside(Actor(inside["bandager"]), "T-1", REASON)
    for role in (Role.LEARNER, Role.MANAGER):
        with pytest.raises(NotAllowedError, match="Only clinical staff"):
            open_outside(clinic.actor(role), "T-1", REASON)
    assert OutsideOpening.objects.count() == 0
