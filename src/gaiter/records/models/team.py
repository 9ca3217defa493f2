"""Teams: whose people somebody sees, and who was opened from outside."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gaiter.records.ledger import Row
from gaiter.records.models.account import Account
from gaiter.records.models.person import Person
from gaiter.records.sealing import SealedText


class Team(Row):
    """Accounts that see the same people."""

    name = models.CharField(
        max_length=60,
        unique=True,
        error_messages={"unique": _("There is a team of that name: choose another name.")},
    )
    active = models.BooleanField(default=True)

    def __str__(self) -> str:
        return self.name


class TeamMember(Row):
    """An account in a team, until it ended."""

    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="members")
    account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="memberships")
    since = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["team", "account"],
                condition=Q(ended_at=None),
                name="in_a_team_once",
                violation_error_message=_("This account is in the team already."),
            )
        ]


class TeamPerson(Row):
    """A person whom a team treats, until it ended."""

    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="people")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="in_teams")
    since = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["team", "person"],
                condition=Q(ended_at=None),
                name="treated_by_a_team_once",
                violation_error_message=_("This person is in the team already."),
            )
        ]


class OutsideOpening(Row):
    """A person opened by somebody of no team of theirs, for a written reason and some hours."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="outside_openings")
    by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="outside_openings")
    words = SealedText()
    at = models.DateTimeField()
    until = models.DateTimeField()
