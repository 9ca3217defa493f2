"""Visits: one current value a box, words sealed."""

import pytest

from gaiter.records.clash import ClashError
from gaiter.records.models import (
    Entry,
    OverrideRecord,
    ProvisionalRecord,
    StopAction,
    StopCleared,
)
from tests.records.models.rows import changed, made, sealed_at_rest

pytestmark = pytest.mark.django_db
CURRENT, PAST, RIVAL = Entry.State.CURRENT, Entry.State.PAST, Entry.State.RIVAL


@pytest.mark.parametrize(
    "model", [Entry, OverrideRecord, ProvisionalRecord, StopAction, StopCleared]
)
def test_words_are_sealed(model) -> None:
    assert sealed_at_rest(model) == {"words"}


def test_a_box_has_one_value_that_counts() -> None:
    first = made(Entry, path="leg.girth_cm.ankle", state=CURRENT)
    of_box = {"visit": first.visit, "path": first.path}
    with pytest.raises(ClashError):
        made(Entry, state=CURRENT, **of_box)
    rival = made(Entry, state=RIVAL, **of_box)
    made(Entry, state=RIVAL, **of_box)
    made(Entry, state=PAST, **of_box)
    made(Entry, state=CURRENT, visit=first.visit, path="leg.girth_cm.calf")
    made(Entry, state=CURRENT, path=first.path)  # of another visit
    with pytest.raises(ClashError):
        changed(rival, state=CURRENT)


@pytest.mark.parametrize("value", [23.5, True, None, ["latex"], "same"])
def test_a_value_comes_back_as_it_was_typed(value) -> None:
    entry = made(Entry, value=value)
    again = Entry.objects.get(pk=entry.pk).value
    assert again == value
    assert type(again) is type(value)
