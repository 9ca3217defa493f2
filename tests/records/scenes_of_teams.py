"""What six writers do at once with teams; as tests/records/scenes.py."""

from gaiter.records.actions import teams
from gaiter.records.ledger import Actor
from gaiter.records.models import OutsideOpening, Role, Team, TeamMember, TeamPerson
from tests.clinic import Clinic
from tests.records.scenes import Scene, rows, six, six_on

REASON = "Nobody of the team is here tonight."


def manager(c: Clinic) -> Actor:
    return c.actor(Role.MANAGER)


def filled(c: Clinic, name: str) -> Team:
    """A team with the prescriber in it."""
    team = teams.make_team(manager(c), name)
    doctor = c.accounts[Role.PRESCRIBER]
    return teams.change_team(manager(c), team, name=name, active=True, accounts=[doctor])


def make_team(c: Clinic) -> Scene:
    calls = six(lambda _n: lambda: teams.make_team(manager(c), "Heron"))
    return Scene(calls, 1, "There is a team called Heron", rows(Team, 1, name="Heron"))


def change_team(c: Clinic) -> Scene:
    nurse, doctor = c.accounts[Role.BANDAGER], c.accounts[Role.PRESCRIBER]
    calls = six_on(
        filled(c, "Heron"),
        lambda _n, one: teams.change_team(
            manager(c), one, name="Heron", active=True, accounts=[nurse, doctor]
        ),
    )
    return Scene(calls, 6, "", rows(TeamMember, 2, ended_at=None))


def place_unseen(c: Clinic) -> Scene:
    calls = six_on(
        filled(c, "Heron"), lambda _n, one: teams.place_unseen(manager(c), one, [c.person])
    )
    return Scene(calls, 6, "", rows(TeamPerson, 1))


def change_teams(c: Clinic) -> Scene:
    heron, ford = filled(c, "Heron"), filled(c, "Ford")
    teams.place_unseen(manager(c), heron, [c.person])
    calls = six_on(
        c.person,
        lambda _n, one: teams.change_teams(c.actor(Role.PRESCRIBER), one, [heron, ford]),
    )
    return Scene(calls, 6, "", rows(TeamPerson, 2, ended_at=None))


def open_outside(c: Clinic) -> Scene:
    calls = six(lambda _n: lambda: teams.open_outside(c.actor(), "T-1", REASON))
    return Scene(calls, 6, "", rows(OutsideOpening, 6))
