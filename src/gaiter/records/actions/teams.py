"""Teams: made and filled by a manager, people put into them, and opened from outside."""

from collections.abc import Iterable, Sequence
from datetime import timedelta

from django.conf import settings
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.actions.clinical import require_clinical
from gaiter.records.entrance.tries import Kind, count_try, take_back
from gaiter.records.ledger import Action, Actor, NotAllowedError, action
from gaiter.records.models import (
    Account,
    OutsideOpening,
    Person,
    Role,
    Team,
    TeamMember,
    TeamPerson,
)
from gaiter.records.read.visible import (
    CLINICAL_ROLES,
    own_teams,
    people_of_teams,
    teams_count,
    teams_of,
    unseen_people,
)
from gaiter.records.sealing import blind_index
from gaiter.records.words import kept_words

LEAST_REASON, LONGEST_REASON = 10, 500
_LONGEST_NAME = 60


def _require_manager(actor: Actor) -> None:
    if actor.account is not None and actor.account.role != Role.MANAGER:
        raise NotAllowedError(_("Only a manager makes teams and says who is in them."))


def make_team(actor: Actor, name: str, once: str | None = None) -> Team:
    """A new team, without anybody."""
    _require_manager(actor)
    with action(actor, "make team", once=once) as act:
        team = act.create(Team, name=_free_name(name))
        act.subject = f"team:{team.pk}"
        return team


def change_team(
    actor: Actor, team: Team, *, name: str, active: bool, accounts: Iterable[Account],
    once: str | None = None,
) -> Team:  # fmt: skip
    """Name of a team, whether it counts, and who is in it.

    Raises
    ------
    InputError
        If somebody is not clinical, or a team is shut that alone treats somebody.
    """
    _require_manager(actor)
    wanted = {account.pk: account for account in accounts}
    for account in wanted.values():
        if account.role not in CLINICAL_ROLES:
            raise InputError(
                _("{name} is not clinical staff, and sees nobody: leave them out.").format(
                    name=account.name
                )
            )
    with action(actor, "change team", team, once=once) as act:
        team = Team.objects.get(pk=team.pk)
        if not active:
            _require_other_teams(team)
            # So that a team that counts again does not see whoever was moved meanwhile.
            for row in team.people.filter(ended_at=None):
                act.change(row, ended_at=act.at)
        act.change(team, name=_free_name(name, team), active=active)
        held = {member.account_id: member for member in team.members.filter(ended_at=None)}
        for pk in held.keys() - wanted.keys():
            act.change(held[pk], ended_at=act.at)
        for pk in sorted(wanted.keys() - held.keys()):
            act.create(TeamMember, team=team, account=wanted[pk], since=act.at)
        return team


def _free_name(name: str, team: Team | None = None) -> str:
    name = kept_words(_("Name"), name, _LONGEST_NAME, 1)
    others = Team.objects.filter(name__iexact=name)
    if (others.exclude(pk=team.pk) if team else others).exists():
        raise InputError(_("There is a team called {name}: choose another name.").format(name=name))
    return name


def _require_other_teams(team: Team) -> None:
    elsewhere = TeamPerson.objects.filter(ended_at=None, team__active=True).exclude(team=team)
    alone = team.people.filter(ended_at=None).exclude(person__in=elsewhere.values("person"))
    if count := alone.count():
        raise InputError(
            _(
                "{count} people are in this team only, and nobody would see them: put them into "
                "another team first."
            ).format(count=count)
        )


def place_unseen(
    actor: Actor, team: Team, people: Iterable[Person], once: str | None = None
) -> int:
    """Puts people whom nobody sees into a team; the number of those who were put.

    Whoever is seen by a team meanwhile stays where they are.
    """
    _require_manager(actor)
    with action(actor, "place people", team, once=once) as act:
        if not Team.objects.filter(pk=team.pk, active=True).exists():
            raise InputError(_("This team does not count any more: choose another one."))
        wanted = [person.pk for person in people]
        if not wanted:
            raise InputError(_("Choose at least one person."))
        # Those in this very team are unseen because nobody is in it: nothing is to be done.
        held = team.people.filter(ended_at=None).values("person")
        unseen = unseen_people().filter(pk__in=wanted).exclude(pk__in=held)
        placed = list(unseen)
        _place(act, [team], placed)
        return len(placed)


def _place(act: Action, teams: Iterable[Team], people: Sequence[Person]) -> None:
    for team in teams:
        for person in people:
            act.create(TeamPerson, team=team, person=person, since=act.at)


def place_new(act: Action, person: Person, teams: Sequence[Team]) -> None:
    """A new person in teams, inside the action that adds the person."""
    _place(act, teams, [person])


def teams_for_new(actor: Actor, wanted: Iterable[Team] | None) -> Sequence[Team]:
    """Teams into which somebody puts a new person; their only one where none is named.

    Raises
    ------
    InputError
        If none is chosen, or there is none to choose.
    NotAllowedError
        If one is not their own.
    """
    if not teams_count() or actor.account is None:
        return ()
    own = list(own_teams(actor.account))
    if not own:
        raise InputError(
            _("You are in no team, and would not see this person: a manager puts you into one.")
        )
    if wanted is None and len(own) == 1:
        return own
    chosen = list(wanted or ())
    if not chosen:
        raise InputError(_("Choose one or more of your teams for this person."))
    if not set(chosen) <= set(own):
        raise NotAllowedError(_("You put a new person into your own teams only."))
    return chosen


def change_teams(
    actor: Actor, person: Person, wanted: Iterable[Team], once: str | None = None
) -> None:
    """The teams of a person: anybody clinical adds their own, a prescriber moves.

    Raises
    ------
    NotAllowedError
        If the person is opened from outside, or somebody else than a prescriber moves.
    InputError
        If no team would be left, or one does not count.
    """
    require_clinical(actor)
    chosen = set(wanted)
    with action(actor, "change teams", person, once=once) as act:
        if not people_of_teams(actor).filter(pk=person.pk).exists():
            raise NotAllowedError(
                _(
                    "You opened this person from outside: somebody of their team puts them into "
                    "another."
                )
            )
        held = set(teams_of(person))
        added, left = chosen - held, held - chosen
        _require_may(actor, added, left)
        if not chosen:
            raise InputError(_("A person is in one team or more: choose at least one."))
        if not all(team.active for team in chosen):
            raise InputError(_("This team does not count any more: choose another one."))
        for row in person.in_teams.filter(team__in=left, ended_at=None):
            act.change(row, ended_at=act.at)
        # In the order of their keys, so that the audit reads alike every time.
        _place(act, sorted(added, key=lambda team: team.pk), [person])


def _require_may(actor: Actor, added: set[Team], left: set[Team]) -> None:
    if actor.account.role == Role.PRESCRIBER:
        return
    if left:
        raise NotAllowedError(_("Only a prescriber takes a person out of a team."))
    if not added <= set(own_teams(actor.account)):
        raise NotAllowedError(_("You add your own teams only; a prescriber moves a person."))


def open_outside(actor: Actor, number: str, words: str, once: str | None = None) -> OutsideOpening:
    """Opens somebody of another team for some hours; the reason is shown with the person.

    Raises
    ------
    InputError
        If the reason is too short or too long, nobody has the number, or the person is of the
        actor's own teams.
    TooManyTriesError
        After too many numbers that nobody has; no number is looked for then.
    """
    require_clinical(actor)
    words = kept_words(_("Reason"), words, LONGEST_REASON, LEAST_REASON)
    whose = str(actor.account.pk)
    count_try(Kind.OUTSIDE, whose)
    person = Person.objects.filter(number_index=blind_index(number, "number")).first()
    if person is None:
        # Whoever tries one number after the other is seen in the audit.
        with action(actor, "open outside, no such number"):
            pass
        raise InputError(_("No person has that number: give the whole number as it is written."))
    # This one only: whoever knows one number does not buy tries at others with it.
    take_back(Kind.OUTSIDE, whose)
    with action(actor, "open outside", person, once=once) as act:
        if people_of_teams(actor).filter(pk=person.pk).exists():
            raise InputError(_("This person is of your own team: look under People."))
        return act.create(
            OutsideOpening,
            person=person,
            by=actor.account,
            words=words,
            at=act.at,
            until=act.at + timedelta(hours=settings.GAITER.break_glass_hours),
        )
