"""People and their episodes: identities sealed, one number a person, one open episode a leg."""

from datetime import date

import pytest

from gaiter.records.clash import ClashError
from gaiter.records.models import CallBack, Episode, Note, Person, StoredFile
from tests.records.models.rows import made, sealed_at_rest

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("model", "fields"),
    [
        (Person, {"name", "birth_date", "number", "phone"}),
        (Note, {"words"}),
        (CallBack, {"why", "outcome"}),
        (StoredFile, {"title", "content"}),
    ],
)
def test_what_is_sealed(model, fields) -> None:
    assert sealed_at_rest(model) == fields


def test_a_number_stands_once() -> None:
    made(Person, number_index="same")
    with pytest.raises(ClashError):
        made(Person, number_index="same")


@pytest.mark.parametrize(
    ("day", "age"),
    [(date(2026, 3, 13), 74), (date(2026, 3, 14), 75), (date(2026, 3, 15), 75),
     (date(2026, 12, 1), 75), (date(2027, 1, 1), 75)],
)  # fmt: skip
def test_an_age_is_whole_years_and_turns_on_the_birthday(day, age) -> None:
    assert Person(birth_date="1951-03-14").age_on(day) == age


def test_whoever_is_born_on_the_29th_of_february_turns_older_on_the_1st_of_march() -> None:
    person = Person(birth_date="1952-02-29")
    assert person.born == date(1952, 2, 29)
    assert (person.age_on(date(2026, 2, 28)), person.age_on(date(2026, 3, 1))) == (73, 74)


def test_a_leg_has_one_open_episode() -> None:
    first = made(Episode, side="left", closed_on=None, outcome="")
    person = {"person": first.person}
    with pytest.raises(ClashError):
        made(Episode, side="left", closed_on=None, **person)
    made(Episode, side="right", closed_on=None, **person)
    made(Episode, side="left", closed_on=date(2026, 1, 2), outcome="moved", **person)
    assert first.person.episodes.count() == 3


def test_a_reference_stands_once() -> None:
    made(Episode, reference="AC-1")
    with pytest.raises(ClashError):
        made(Episode, reference="AC-1")
