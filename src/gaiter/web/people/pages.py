"""What the pages of people show."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from django.forms import Form

from gaiter.records.models import Episode, Person
from gaiter.web.frame.page import Page


@dataclass(frozen=True)
class PeoplePage(Page):
    """People found, or the latest ones; ``wanted`` is what was looked for."""

    template: ClassVar[str] = "people/people.html"
    people: Sequence[Person]
    wanted: str


@dataclass(frozen=True)
class NewPersonPage(Page):
    """The form of a new person."""

    template: ClassVar[str] = "people/new.html"
    form: Form


@dataclass(frozen=True)
class PersonPage(Page):
    """One person; ``free_sides`` are the legs without an open episode, ``age`` in whole years."""

    template: ClassVar[str] = "people/person.html"
    person: Person
    age: int
    episodes: Sequence[Episode]
    free_sides: Sequence[str]


@dataclass(frozen=True)
class ChangePersonPage(Page):
    """The form that corrects a person."""

    template: ClassVar[str] = "people/change.html"
    form: Form
    person: Person
