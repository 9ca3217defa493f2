"""The invented people say only what a visit's boxes take, and each has a story that is told."""

from datetime import date

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from gaiter.operations.demo import make
from gaiter.operations.demo.people import (
    ACCOUNTS,
    EVERY_VISIT,
    NO_WOUND,
    ORDINARY,
    PASSWORD,
    SPECS,
)
from gaiter.records.models import Role
from gaiter.records.visit.boxes import BoxKind, boxes

# Parts of a story that the visits themselves tell.
_BY_VISITS = {"override", "plan waits", "bad check", "alarm", "sensor high"}


def test_every_role_has_an_account_and_initials_of_its_own() -> None:
    assert {role for *_names, role, _training in ACCOUNTS} == set(Role.values)
    assert len({username for username, *_rest in ACCOUNTS}) == len(ACCOUNTS)
    assert len({initials for _u, _n, initials, *_rest in ACCOUNTS}) == len(ACCOUNTS)


def test_the_public_password_is_one_that_nobody_may_choose_for_an_account() -> None:
    with pytest.raises(ValidationError, match="Anybody would try this early"):
        validate_password(PASSWORD)


@pytest.mark.parametrize(
    ("name", "values"),
    [("ordinary", ORDINARY), ("every visit", EVERY_VISIT), ("no wound", NO_WOUND)]
    + [(f"{s.name} {s.side}", {**s.changes, **s.last, "person.sex": s.sex}) for s in SPECS],
)
def test_every_value_is_one_that_its_box_takes(name, values) -> None:
    known = boxes()
    for path, value in values.items():
        box = known[path]
        if value is None:
            continue
        typed = list(value or ["none"]) if box.kind is BoxKind.MANY else box.shown(value)
        assert box.parsed(typed) == value, f"{name}: {path}"


def test_each_leg_stands_once_and_its_person_was_born_once() -> None:
    legs = [(spec.name, spec.side) for spec in SPECS]
    assert len(set(legs)) == len(legs)
    born: dict[str, set[str]] = {}
    for spec in SPECS:
        born.setdefault(spec.name, set()).add(spec.born)
        assert date(1900, 1, 1) < date.fromisoformat(spec.born) < date(2008, 1, 1)
    assert all(len(days) == 1 for days in born.values())


def test_every_part_of_a_story_is_told_by_somebody() -> None:
    for spec in SPECS:
        for part in spec.story:
            told = hasattr(make._Maker, "_" + part.replace(" ", "_"))
            assert told or part in _BY_VISITS, f"{spec.name}: {part}"
