"""Boxes of a visit: saved by base value, clashes keep both, nothing is lost."""

import pytest

from gaiter.core.errors import InputError
from gaiter.records.actions.visits import Typed, save_entries, settle_clash, sign_visit
from gaiter.records.models import Entry, Role

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
    assert late.clash
    assert current(clinic).value == before
    assert clinic.visit.entries.filter(path=ANKLE, value=30.0).exists()


def test_an_unknown_box_is_refused(clinic) -> None:
    with pytest.raises(InputError, match="no box of a visit"):
        save_entries(clinic.actor(), clinic.visit, [Typed("leg.evil", 1, 0)])
