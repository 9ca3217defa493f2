"""Whose records somebody sees: the one place that decides it.

Without the setting everybody clinical sees every person. With it somebody sees the people of
their own teams and, for some hours, those whom they opened with a written reason. Pages are kept
shut before their views run (``allow(..., of=Visit)``); lists are taken from `visible_people`.
"""

from collections.abc import Iterable
from typing import Any

from django.conf import settings
from django.db.models import Exists, Model, OuterRef, Q, QuerySet

from gaiter.records.ledger import Actor
from gaiter.records.models import (
    Account,
    Bandaging,
    CallBack,
    Episode,
    OutsideOpening,
    OverrideRecord,
    Person,
    PlanRecord,
    Role,
    StandingOrder,
    StoredFile,
    Team,
    TeamMember,
    TeamPerson,
    Visit,
)

CLINICAL_ROLES = (Role.PRESCRIBER, Role.BANDAGER)
# From each record that an address names to its person.
_PERSON_OF: dict[type[Model], str] = {
    Person: "pk",
    Episode: "person",
    CallBack: "episode__person",
    StoredFile: "episode__person",
    Visit: "episode__person",
    OverrideRecord: "visit__episode__person",
    PlanRecord: "visit__episode__person",
    Bandaging: "visit__episode__person",
    StandingOrder: "person",
}


def teams_count() -> bool:
    """Whether teams decide who sees whom (``GAITER_TEAMS``)."""
    return bool(settings.GAITER.teams)


def own_teams(account: Account) -> QuerySet[Team]:
    """Active teams that an account is in."""
    mine = TeamMember.objects.filter(team=OuterRef("pk"), account=account, ended_at=None)
    return Team.objects.filter(Exists(mine), active=True).order_by("name")


def teams_of(person: Person) -> QuerySet[Team]:
    """Active teams that treat a person."""
    held = TeamPerson.objects.filter(team=OuterRef("pk"), person=person, ended_at=None)
    return Team.objects.filter(Exists(held), active=True).order_by("name")


def visible_people(actor: Actor) -> QuerySet[Person]:
    """Everybody whose records somebody sees now.

    The command line, which has no account, sees everybody: whoever runs the server holds the keys.
    """
    if not teams_count() or actor.account is None:
        return Person.objects.all()
    return _people(actor, Exists(_by_team(actor)) | Exists(_opened(actor)))


def people_of_teams(actor: Actor) -> QuerySet[Person]:
    """Everybody whom somebody sees by their teams, not by an opening from outside."""
    return _people(actor, Exists(_by_team(actor)))


def _by_team(actor: Actor) -> QuerySet[TeamPerson]:
    return TeamPerson.objects.filter(
        person=OuterRef("pk"),
        ended_at=None,
        team__active=True,
        team__members__account=actor.account,
        team__members__ended_at=None,
    )


def _people(actor: Actor, condition: Any) -> QuerySet[Person]:
    """People of a condition; nobody where the role sees nobody."""
    if actor.account.role not in CLINICAL_ROLES:
        return Person.objects.none()
    return Person.objects.filter(condition)


def _opened(actor: Actor) -> QuerySet[OutsideOpening]:
    # A clock that was put back opens nothing, and lets nothing last longer.
    return OutsideOpening.objects.filter(
        person=OuterRef("pk"), by=actor.account, at__lte=actor.now, until__gt=actor.now
    )


def is_visible(actor: Actor, model: type[Model], pk: int) -> bool:
    """Whether a record is of somebody whom the actor sees; one that is not there is not.

    A standing order for every patient is of nobody, and seen by everybody clinical.
    """
    path = _PERSON_OF[model]
    of_visible = Q(**{f"{path}__in": visible_people(actor)})
    if model is StandingOrder:
        of_visible |= Q(person=None)
    return model._default_manager.filter(of_visible, pk=pk).exists()


def members_of(teams: Iterable[Team]) -> dict[int, list[Account]]:
    """Everybody in each team, by the team's key."""
    found: dict[int, list[Account]] = {team.pk: [] for team in teams}
    held = TeamMember.objects.filter(team__in=found, ended_at=None).select_related("account")
    for member in held.order_by("account__name"):
        found[member.team_id].append(member.account)
    return found


def only_visible(actor: Actor, orders: Iterable[StandingOrder]) -> list[StandingOrder]:
    """Standing orders for every patient, and for those whom the actor sees."""
    orders = list(orders)
    if not teams_count():
        return orders
    of = [order.person_id for order in orders if order.person_id is not None]
    seen = set(visible_people(actor).filter(pk__in=of).values_list("pk", flat=True))
    return [order for order in orders if order.person_id is None or order.person_id in seen]


def unseen_people() -> QuerySet[Person]:
    """People whom nobody sees: in no team, or in teams without anybody clinical."""
    seen = TeamPerson.objects.filter(
        person=OuterRef("pk"),
        ended_at=None,
        team__active=True,
        team__members__ended_at=None,
        team__members__account__is_active=True,
        team__members__account__role__in=CLINICAL_ROLES,
    )
    return Person.objects.filter(~Exists(seen)).order_by("pk")


def unseen_legs() -> int:
    """Number of open legs of people whom nobody sees; 0 where teams do not count."""
    if not teams_count():
        return 0
    return Episode.objects.filter(closed_on=None, person__in=unseen_people()).count()


def last_openings(person: Person | None = None, most: int = 50) -> list[OutsideOpening]:
    """Openings from outside, of one person or of everybody, the newest first."""
    found = OutsideOpening.objects.select_related("by", "person").order_by("-at", "-pk")
    if person is not None:
        found = found.filter(person=person)
    return list(found[:most])
