"""Boxes of a visit: saved by base value, clashes keep both, nothing is lost."""

import pytest

from gaiter.core.errors import InputError
from gaiter.records.actions.visits import Typed, open_visit, save_entries, settle_clash, sign_visit
from gaiter.records.models import Entry, Role, Visit
from gaiter.records.visit.case import assembled

ANKLE = "leg.girth_cm.ankle"


def save(clinic, value, base, role=Role.BANDAGER):
    return save_entries(clinic.actor(role), clinic.visit, [Typed(ANKLE, value, base)])[0]


def current(clinic):
    return clinic.visit.entries.get(path=ANKLE, state=Entry.State.CURRENT)


def test_a_value_follows_the_one_it_saw(clinic) -> None:
    was = current(clinic)
    saved = save(clinic, 24.0, was.pk)
    assert not saved.clash
    assert current(clinic).value == 24.0
    assert Entry.objects.get(pk=was.pk).state == Entry.State.PAST


def test_two_people_who_saw_the_same_value_clash_and_both_are_kept(clinic) -> None:
    base = current(clinic).pk
    save(clinic, 24.0, base)
    second = save(clinic, 25.0, base, Role.PRESCRIBER)
    assert second.clash
    assert second.entry == current(clinic).pk
    assert current(clinic).value == 24.0
    rival = clinic.visit.entries.get(path=ANKLE, state=Entry.State.RIVAL)
    assert (rival.value, rival.author.role) == (25.0, Role.PRESCRIBER)


def test_the_same_value_twice_is_no_clash(clinic) -> None:
    base = current(clinic).pk
    save(clinic, 24.0, base)
    assert not save(clinic, 24.0, base, Role.PRESCRIBER).clash


def test_a_visit_with_a_clash_is_not_signed_until_somebody_chooses(clinic) -> None:
    base = current(clinic).pk
    save(clinic, 24.0, base)
    save(clinic, 25.0, base, Role.PRESCRIBER)
    next_day = clinic.visit.day.replace(year=clinic.visit.day.year + 1)
    with pytest.raises(InputError, match="Two people differ"):
        sign_visit(clinic.actor(), clinic.visit, next_day)
    rival = clinic.visit.entries.get(path=ANKLE, state=Entry.State.RIVAL)
    settle_clash(clinic.actor(), clinic.visit, ANKLE, rival.pk)
    assert current(clinic).value == 25.0
    sign_visit(clinic.actor(), clinic.visit, next_day)


def test_what_comes_after_signing_is_kept_beside_not_over(clinic) -> None:
    sign_visit(
        clinic.actor(), clinic.visit, clinic.visit.day.replace(year=clinic.visit.day.year + 1)
    )
    before = current(clinic).value
    late = save(clinic, 30.0, current(clinic).pk)
    assert (late.clash, late.after, late.entry) == (False, True, current(clinic).pk)
    assert current(clinic).value == before
    correction = clinic.visit.entries.get(path=ANKLE, value=30.0)
    assert correction.state == Entry.State.AFTER
    # The same said again is the same correction; going back to what was signed is one more.
    assert save(clinic, 30.0, current(clinic).pk).after
    save(clinic, before, current(clinic).pk, Role.PRESCRIBER)
    said = clinic.visit.entries.filter(path=ANKLE, state=Entry.State.AFTER).order_by("pk")
    assert [(one.value, one.author.role) for one in said] == [
        (30.0, Role.BANDAGER),
        (before, Role.PRESCRIBER),
    ]


def test_a_correction_counts_from_the_next_visit_on(clinic) -> None:
    """Not at the visit that was signed, nor at one that was signed before it was made."""
    first = clinic.visit
    next_day = first.day.replace(year=first.day.year + 1)
    before = current(clinic).value
    sign_visit(clinic.actor(), first, next_day)
    second = open_visit(clinic.actor(), clinic.episode)
    assert assembled(second).value(ANKLE) == before
    sign_visit(clinic.actor(), second, next_day)
    save(clinic, 30.0, 0)
    third = open_visit(clinic.actor(), clinic.episode)
    again = [Visit.objects.get(pk=visit.pk) for visit in (first, second, third)]
    assert [assembled(visit).value(ANKLE) for visit in again] == [before, before, 30.0]
    # What is measured there goes before it.
    save_entries(clinic.actor(), third, [Typed(ANKLE, 25.0, 0)])
    assert assembled(third).value(ANKLE) == 25.0


def test_an_unknown_box_is_refused(clinic) -> None:
    with pytest.raises(InputError, match="no box of a visit"):
        save_entries(clinic.actor(), clinic.visit, [Typed("leg.evil", 1, 0)])
