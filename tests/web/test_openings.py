"""Whoever opens anything of a patient leaves an entry: who, when, from where, and of whom."""

import json
from datetime import timedelta

import pytest
from django.urls import reverse

from gaiter.records.models import AuditEntry, Role
from tests.web.frame.test_access import GRID, addresses  # noqa: F401 # the fixture

MINUTE = timedelta(minutes=1)

# Pages that show nothing of any patient, and why not.
NOBODYS = {
    "sign-in": "nobody is signed in",
    "lock": "the screen is locked",
    "second-factor": "half signed in",
    "second-factor-set-up": "one's own",
    "welcome": "nobody is signed in",
    "own": "one's own",
    "recovery-codes": "one's own",
    "notices": "one's own",
    "accounts": "staff",
    "account": "staff",
    "new-person": "an empty form",
    "stock": "the shelf",
    "stock-item": "the shelf, with references that are on tapes",
    "off": "an empty form",
    "practice": "one's own practice",
    "practice-leg": "an invented leg",
    "attempt": "one's own practice",
    "practice-record": "one's own practice",
    "technique": "staff",
    "open-outside": "an empty form",
    "teams": "staff; where teams count, with numbers: tests/web/teams/test_manage.py",
    "team": "staff",
    "health": "figures of the server",
    "policy": "thresholds",
}
PAGES = [name for name, (_roles, verbs) in GRID.items() if "GET" in verbs and name not in NOBODYS]


def openings_after(number: int) -> list[AuditEntry]:
    return list(AuditEntry.objects.filter(number__gt=number).order_by("number"))


def last() -> int:
    return AuditEntry.objects.latest("number").number


@pytest.mark.parametrize("role", [Role.BANDAGER, Role.PRESCRIBER])
def test_every_page_of_a_patient_leaves_its_entry(addresses, signed_in, role) -> None:  # noqa: F811
    browser = signed_in(role)
    unseen = []
    for name in PAGES:
        address, before = addresses(name), last()
        assert browser.get(address).status_code == 200, name
        made = [one for one in openings_after(before) if (one.who, one.role) == (role, role)]
        opening = ("open", "print", "export", "search")
        # A part of a page that is open is noted once in ten minutes.
        going_on = name == "live-visit"
        if not going_on and not any(one.verb.startswith(opening) for one in made):
            unseen.append(name)
    assert unseen == []


def test_a_page_of_nobody_leaves_none(addresses, signed_in) -> None:  # noqa: F811
    browser = signed_in(Role.PRESCRIBER)
    for name in NOBODYS:
        if name in ("lock", "second-factor-set-up"):
            continue
        before = last()
        browser.get(addresses(name))
        assert openings_after(before) == [], name


def test_a_list_says_whom_it_showed_and_a_search_never_what_was_typed(clinic, signed_in) -> None:
    browser = signed_in(Role.BANDAGER)
    browser.get(reverse("today"), {"show": "all"})
    entry = AuditEntry.objects.latest("number")
    assert (entry.verb, entry.subject) == ("open list", "today")
    assert json.loads(entry.changes) == [{"episodes": [clinic.episode.pk]}]
    for typed, people in (("t-1", [clinic.person.pk]), ("my secret password", [])):
        browser.get(reverse("people"), {"find": typed})
        entry = AuditEntry.objects.latest("number")
        assert (entry.verb, entry.subject) == ("search", "people")
        assert json.loads(entry.changes) == [{"people": people}]
        assert typed not in entry.changes


def test_a_part_of_a_page_asked_for_alone_leaves_its_entry(clinic, signed_in) -> None:
    browser, before = signed_in(Role.BANDAGER), last()
    live = reverse("live-visit", args=[clinic.visit.pk])
    browser.get(live)
    (entry,) = openings_after(before)
    assert (entry.verb, entry.subject) == ("open record", f"person:{clinic.person.pk}")
    # The page asks again after every value; ten minutes are one opening, of one account.
    browser.get(live)
    assert len(openings_after(before)) == 1
    signed_in(Role.PRESCRIBER).get(live)
    assert len(openings_after(before)) == 2


def test_a_part_is_noted_again_after_ten_minutes(clinic, signed_in, time_machine) -> None:
    browser, before = signed_in(Role.BANDAGER), last()
    live = reverse("live-visit", args=[clinic.visit.pk])
    browser.get(live)
    now = clinic.actor().now
    for minutes, noted in ((9, 1), (11, 2)):
        time_machine.move_to(now + minutes * MINUTE)
        browser.get(live)
        assert len(openings_after(before)) == noted


def test_a_form_that_is_shown_again_leaves_its_entry(clinic, signed_in) -> None:
    """What a refused form shows is the page, with everything on it."""
    browser, plan = signed_in(Role.BANDAGER), clinic.approved()
    before = last()
    answer = browser.post(reverse("bandaged", args=[clinic.visit.pk]), {"plan": plan.pk})
    assert answer.status_code == 400
    assert [one.verb for one in openings_after(before)] == ["open record"]
