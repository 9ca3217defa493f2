"""What the pages of people show."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from django.forms import Form

from gaiter.records.models import Episode, OutsideOpening, Person, Team
from gaiter.web.frame.page import Page


@dataclass(frozen=True)
class PeoplePage(Page):
    """People found, or the latest ones.

    Attributes
    ----------
    wanted : str
        What was looked for.
    by_team : bool
        Whether people are seen by teams; without, everybody clinical sees every person.
    own : Sequence[Team]
        Teams of whoever looks.
    """

    template: ClassVar[str] = "people/people.html"
    people: Sequence[Person]
    wanted: str
    by_team: bool
    own: Sequence[Team]


@dataclass(frozen=True)
class NewPersonPage(Page):
    """The form of a new person."""

    template: ClassVar[str] = "people/new.html"
    form: Form


@dataclass(frozen=True)
class PersonPage(Page):
    """One person.

    Attributes
    ----------
    age : int
        Whole years.
    free_sides : Sequence[str]
        Legs without an open episode.
    openings : Sequence[OutsideOpening]
        By whom the person was opened from outside, the newest first.
    held : Sequence[Team]
        Teams that treat the person; empty where teams do not count.
    teams_form : Form or None
        The form that changes them, for whoever may.
    """

    template: ClassVar[str] = "people/person.html"
    person: Person
    age: int
    episodes: Sequence[Episode]
    free_sides: Sequence[str]
    openings: Sequence[OutsideOpening]
    held: Sequence[Team]
    teams_form: Form | None


@dataclass(frozen=True)
class ChangePersonPage(Page):
    """The form that corrects a person."""

    template: ClassVar[str] = "people/change.html"
    form: Form
    person: Person
