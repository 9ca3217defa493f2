"""Hostile values in every form and address: a sentence, never a fault, and nothing written.

A few of each here, with one seed; thousands are ``python -m benchmarks.hostile_forms``.
"""

import random

import pytest

from benchmarks.hostile_forms import StrictError, Tally, prepared, strict, tried
from benchmarks.hostile_values import Form, Request, encoded, hostile
from gaiter.records.models import Episode
from tests.clinic import PASSWORD
from tests.web.addresses import addresses_of, views

pytestmark = pytest.mark.long

VALUES = (
    "abc", "a", "9" * 5000, "nan", "1e999", "[[[" * 2000, "\ud800", "\x00", "2_3", "9999-12-31",
    "//evil.example/",
)  # fmt: skip
# Drawn or planned for seconds; thousands of them are the benchmark's.
_SLOW = {"design", "propose", "practice-leg", "practice-try", "sheet-file", "practice-record"}


@pytest.fixture
def attacked(clinic):
    """The clinic with everything that its pages teach whoever attacks it."""
    return prepared(clinic, addresses_of(clinic), PASSWORD, unasked=_SLOW)


def asked(form: Form, name: str, value: str) -> list[tuple[str, str]]:
    """A good form but for one field, and what an address may always ask."""
    pairs = [(key, good[-1]) for key, good in form.fields.items() if good and key != name]
    return [*pairs, (name, value), ("next", value), ("plan", value), ("asked", value)]


def test_no_hostile_value_is_a_fault_anywhere(attacked) -> None:
    """Each value in one field of every form, and one request of another kind."""
    draw, tally = random.Random(1), Tally()
    for view in views():
        form, address = attacked.forms[view.name], attacked.address(view.name)
        for value in VALUES[:2] if view.name in _SLOW else VALUES:
            name = draw.choice(sorted(form.fields) or ["next"])
            pairs = encoded(asked(form, name, value))
            role = draw.choice(sorted(view.access.roles))
            if "POST" in view.access.verbs:
                request = Request("POST", address, body=pairs.encode())
            else:
                request = Request("GET", address, pairs)
            tried(attacked, view.name, request, role, tally, f"{role}, {name}={value[:20]!r}")
        request = hostile(view.access.verbs[-1], address, form, draw)
        tried(attacked, view.name, request, role, tally, role)
    assert tally.faults == {}, tally.faults.keys()
    # Most are refused and some are harmless: neither alone would be a test of anything.
    refused = sum(count for status, count in tally.statuses.items() if status >= 400)
    assert 0.3 < refused / tally.statuses.total() < 0.9


def test_what_stands_in_for_a_stricter_database_refuses_as_it_would(db) -> None:
    """A null character in a search: SQLite finds nothing, others refuse the question."""
    with strict(), pytest.raises(StrictError, match="null character"):
        list(Episode.objects.filter(reference="\x00"))
