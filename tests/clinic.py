"""A small clinic for tests: five accounts, one person, one filled visit."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from gaiter.core.applied.judge import applied_pressure
from gaiter.core.applied.readings import Readings, Spacing
from gaiter.core.landmark import HABIT_HEIGHTS
from gaiter.operations.demo.people import EVERY_VISIT, ORDINARY
from gaiter.records.actions.accounts import add_account
from gaiter.records.actions.people import add_person, open_episode
from gaiter.records.actions.plans import approve_plan, propose_plan
from gaiter.records.actions.practice import record_attempt
from gaiter.records.actions.teams import change_team, make_team, place_unseen
from gaiter.records.actions.visits import Typed, open_visit, save_entries
from gaiter.records.ledger import Actor
from gaiter.records.models import (
    Account,
    Attempt,
    Entry,
    Episode,
    Person,
    PlanRecord,
    Role,
    Team,
    Visit,
)
from gaiter.records.read.documents import leg_of
from gaiter.records.visit.case import assembled, case_of
from gaiter.web.plan.desk import computed_plan
from gaiter.web.practice.task import practice_case

PASSWORD = "correct horse battery"


@dataclass
class Clinic:
    """Accounts by role and the records of one leg."""

    accounts: dict[str, Account]
    person: Person
    episode: Episode
    visit: Visit

    def actor(self, role: str = Role.BANDAGER) -> Actor:
        return Actor(self.accounts[role], "127.0.0.1")

    def fill(self, values: dict[str, Any] | None = None, role: str = Role.BANDAGER) -> None:
        """Fills boxes of the visit, over what is there."""
        given = whole_visit() if values is None else values
        current = {
            entry.path: entry.pk for entry in self.visit.entries.filter(state=Entry.State.CURRENT)
        }
        typed = [Typed(path, value, current.get(path, 0)) for path, value in given.items()]
        save_entries(self.actor(role), self.visit, typed)

    def proposed(self) -> PlanRecord:
        case = case_of(assembled(self.visit))
        return propose_plan(self.actor(), self.visit, computed_plan(case), case)

    def approved(self) -> PlanRecord:
        return approve_plan(self.actor(Role.PRESCRIBER), self.proposed())


def whole_visit() -> dict[str, Any]:
    tested = (date.today() - timedelta(days=20)).isoformat()
    return {**ORDINARY, **EVERY_VISIT, "leg.arterial.measured_on": tested}


def small_clinic() -> Clinic:
    accounts = {
        role: add_account(
            Actor(None, "test"), username=role, name=f"Invented {role}", initials=role[:2].upper(),
            role=role, password=PASSWORD,
        )
        for role in Role.values
    }  # fmt: skip
    actor = Actor(accounts[Role.BANDAGER], "127.0.0.1")
    person = add_person(
        actor, name="Ada Invented", birth_date=date(1951, 3, 14), number="T-1", invented=True
    )
    episode = open_episode(actor, person, "right")
    return Clinic(accounts, person, episode, open_visit(actor, episode))


def attempt_of(actor: Actor, off_cm: float = 0.0, system: str | None = None) -> Attempt:
    """A practice bandage on the ordinary leg, its marks so far off the planned ones.

    It is the recommended one unless a system is named.
    """
    plan = computed_plan(practice_case("ordinary-leg"))
    leg = leg_of(plan)
    made = next(one for one in leg.systems if system in (None, one.name))
    spacings = [
        Spacing(layer=layer.number, place=place, cm=layer.mark_spacing_cm + off_cm)
        for layer in made.layers
        if layer.fabric
        for place in HABIT_HEIGHTS
    ]
    readings = Readings(
        document="gaiter.readings/1", side=leg.side, system=made.name, spacings=spacings
    )
    applied = applied_pressure(plan, readings)
    return record_attempt(actor, task="ordinary-leg", limb="limb", plan=plan, applied=applied)


def in_teams(clinic: Clinic, settings: Any) -> dict[str, Account]:
    """Teams count: the person is of two others, who are given by role; the clinic's are not."""
    settings.GAITER = replace(settings.GAITER, teams=True)
    nobody = Actor(None, "test")
    inside = {
        role: add_account(
            nobody, username=f"inside-{role}", name=f"Inside {role}", initials="IN", role=role,
            password=PASSWORD,
        )
        for role in (Role.PRESCRIBER.value, Role.BANDAGER.value)
    }  # fmt: skip
    others = [clinic.accounts[role] for role in inside]
    for name, accounts in (("Heron team", inside.values()), ("Ford team", others)):
        team = make_team(nobody, name)
        change_team(nobody, team, name=name, active=True, accounts=accounts)
    place_unseen(nobody, Team.objects.get(name="Heron team"), [clinic.person])
    return inside
