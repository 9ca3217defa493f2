"""What the pages of teams show."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from django.forms import Form

from gaiter.records.models import Account, OutsideOpening, Team
from gaiter.web.frame.page import Page


@dataclass(frozen=True)
class TeamRow:
    """A team, who is in it, and how many people it treats."""

    team: Team
    accounts: Sequence[Account]
    people: int


@dataclass(frozen=True)
class TeamsPage(Page):
    """Every team, people whom nobody sees, and who was opened from outside.

    Attributes
    ----------
    count : bool
        Whether teams count in this clinic.
    unplaced : int
        People whom nobody sees, or would see once teams count.
    """

    template: ClassVar[str] = "teams/teams.html"
    count: bool
    rows: Sequence[TeamRow]
    form: Form
    unplaced: int
    placing: Form
    openings: Sequence[OutsideOpening]


@dataclass(frozen=True)
class TeamPage(Page):
    """One team: its name, whether it counts, and who is in it."""

    template: ClassVar[str] = "teams/team.html"
    team: Team
    form: Form


@dataclass(frozen=True)
class OutsidePage(Page):
    """The form that opens somebody of another team for some hours."""

    template: ClassVar[str] = "teams/outside.html"
    form: Form
    hours: int
