"""Every address for every role and verb: who gets in, who is told no, and nothing leaks."""

from datetime import timedelta

import pytest
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from gaiter.records.actions.people import ask_for_call, store_file
from gaiter.records.actions.plans import leave_order, record_bandaging, set_stock_item
from gaiter.records.actions.stops import override_stops
from gaiter.records.ledger import Actor
from gaiter.records.models import Role
from tests.clinic import attempt_of

CLINICAL = {"prescriber", "bandager"}
ALL = {role.value for role in Role}
# Address name: roles that may open it, verbs it takes; written down by hand from the table of
# roles, so that a slip in a view's own declaration shows.
GRID = {
    "today": (ALL, "GET"),
    "leg": (CLINICAL, "GET"),
    "start-visit": (CLINICAL, "POST"),
    "note": (CLINICAL, "POST"),
    "call": (CLINICAL, "POST"),
    "call-returned": (CLINICAL, "POST"),
    "leg-event": (CLINICAL, "POST"),
    "clear-stop": ({"prescriber"}, "POST"),
    "close-episode": (CLINICAL, "POST"),
    "change-outcome": (CLINICAL, "POST"),
    "add-file": (CLINICAL, "POST"),
    "stored-file": (CLINICAL, "GET"),
    "sign-in": (None, "GET POST"),
    "sign-out": (ALL, "POST"),
    "lock": (ALL, "GET POST"),
    "second-factor": (ALL, "GET POST"),
    "second-factor-set-up": (ALL, "GET POST"),
    "welcome": (None, "GET POST"),
    "own": (ALL, "GET POST"),
    "accounts": ({"manager"}, "GET POST"),
    "account": ({"manager"}, "GET POST"),
    "orders": (CLINICAL, "GET POST"),
    "end-order": ({"prescriber"}, "POST"),
    "people": (CLINICAL, "GET"),
    "new-person": (CLINICAL, "GET POST"),
    "person": (CLINICAL, "GET"),
    "change-person": (CLINICAL, "GET POST"),
    "open-leg": (CLINICAL, "POST"),
    "visit": (CLINICAL, "GET"),
    "save-visit": (CLINICAL, "POST"),
    "live-visit": (CLINICAL, "GET"),
    "settle-visit": (CLINICAL, "POST"),
    "sign-visit": (CLINICAL, "POST"),
    "case-file": (CLINICAL, "GET"),
    "none-present": (CLINICAL, "POST"),
    "refer": (CLINICAL, "POST"),
    "provisional": (CLINICAL, "POST"),
    "no-provisional": (CLINICAL, "POST"),
    "override": ({"prescriber"}, "POST"),
    "withdraw-override": ({"prescriber"}, "POST"),
    "check": (CLINICAL, "GET"),
    "bandaged": (CLINICAL, "POST"),
    "undo-bandaging": (CLINICAL, "POST"),
    "answer-check": (CLINICAL, "POST"),
    "record-deed": (CLINICAL, "POST"),
    "readings": (CLINICAL, "POST"),
    "design": (CLINICAL, "GET"),
    "propose": (CLINICAL, "POST"),
    "plan": (CLINICAL, "GET"),
    "approve": (CLINICAL, "POST"),
    "withdraw-plan": (CLINICAL, "POST"),
    "plan-file": (CLINICAL, "GET"),
    "steps": (CLINICAL, "GET"),
    "sheet-file": (CLINICAL, "GET"),
    "paper": (CLINICAL, "GET"),
    "stock": (CLINICAL | {"manager"}, "GET POST"),
    "stock-item": ({"manager"}, "GET POST"),
    "count-stock": (CLINICAL | {"manager"}, "POST"),
    "off": (ALL, "GET POST"),
    "practice": (CLINICAL | {"learner"}, "GET"),
    "practice-leg": (CLINICAL | {"learner"}, "GET"),
    "practice-try": (CLINICAL | {"learner"}, "POST"),
    "attempt": (CLINICAL | {"learner"}, "GET"),
    "practice-record": (CLINICAL | {"learner"}, "GET"),
    "technique": (CLINICAL | {"learner"}, "GET"),
    "health": (None, "GET"),
    "policy": ({"prescriber", "manager"}, "GET"),
}
# Whoever is let in gets 200 for a page and 400 for a form without content, but for these.
ANSWERS = {
    # A form with a page of its own is shown again with what is missing.
    **{(name, "POST"): 200 for name in (
        "account", "accounts", "change-person", "new-person", "off", "orders", "stock-item",
    )},
    ("stock", "POST", "manager"): 200,
    # These need no content.
    **{(name, "POST"): 302 for name in ("end-order", "start-visit", "withdraw-override")},
    # The start page of a role that has no legs is another.
    ("today", "GET", "learner"): 302, ("today", "GET", "manager"): 302,
    # What is another's, or names no plan, is not there; nor is a link with a wrong token.
    ("attempt", "GET", "bandager"): 404, ("practice-record", "GET", "bandager"): 404,
    ("bandaged", "POST"): 404, ("welcome", "GET"): 404, ("welcome", "POST"): 404,
    # Only its author or a prescriber takes a proposal back.
    ("withdraw-plan", "POST", "bandager"): 403,
}  # fmt: skip
VERBS = ("GET", "POST", "PUT", "PATCH", "DELETE")


def names() -> list[str]:
    def walk(patterns):
        for pattern in patterns:
            if isinstance(pattern, URLResolver):
                yield from walk(pattern.url_patterns)
            elif isinstance(pattern, URLPattern):
                yield pattern.name

    return list(walk(get_resolver().url_patterns))


def test_the_grid_names_every_address() -> None:
    assert sorted(names()) == sorted(GRID)


def set_aside(clinic, doctor):
    """A soft stop set aside; the finding behind it is then taken back."""
    clinic.fill({"person.breathless_lying": True})
    made = override_stops(
        doctor, clinic.visit, code="breathless_lying", aim_low_mmhg=10, aim_high_mmhg=20,
        maximum_mmhg=25, reason="specialist agreed", words="Ten letters.",
    )  # fmt: skip
    clinic.fill({"person.breathless_lying": False})
    return made


@pytest.fixture
def addresses(clinic):
    """The address of every name, of records that exist."""
    doctor = clinic.actor(Role.PRESCRIBER)
    plan = clinic.approved()
    today = clinic.actor().today
    ids = {
        "leg": clinic.episode.pk, "visit": clinic.visit.pk, "plan": plan.pk,
        "person": clinic.person.pk,
        "call": ask_for_call(doctor, clinic.episode, "call").pk,
        "file": store_file(doctor, clinic.episode, "consent", "", b"%PDF-1.7").pk,
        "order": leave_order(doctor, person=None, maximum_mmhg=40, words="While I am away.",
                             starts=today, ends=today).pk,
        "override": set_aside(clinic, doctor).pk,
        "bandaging": record_bandaging(Actor(clinic.accounts["bandager"]), clinic.visit, plan,
                                      today + timedelta(days=2)).pk,
        "item": set_stock_item(doctor, None, material="zinc_paste", width_cm=8, rolls=9,
                               low_at=1).pk,
        "account": clinic.accounts["learner"].pk,
        "attempt": attempt_of(clinic.actor(Role.LEARNER)).pk,
    }  # fmt: skip

    def address(name: str, missing: bool = False) -> str:
        kinds = {
            "call-returned": "call", "stored-file": "file", "end-order": "order",
            "withdraw-override": "override", "answer-check": "bandaging", "readings": "bandaging",
            "undo-bandaging": "bandaging", "record-deed": "bandaging",
            "stock-item": "item", "count-stock": "item", "account": "account",
            "attempt": "attempt", "practice-record": "account",
        }  # fmt: skip
        legs = {
            "clear-stop",
            "leg",
            "start-visit",
            "note",
            "call",
            "leg-event",
            "close-episode",
            "change-outcome",
            "add-file",
        }
        visits = {"none-present", "refer", "provisional", "no-provisional", "visit",
                  "save-visit", "live-visit", "settle-visit", "sign-visit", "case-file",
                  "override", "check", "bandaged", "design", "propose"}  # fmt: skip
        plans = {"withdraw-plan", "plan", "approve", "plan-file", "steps", "sheet-file"}
        if name == "paper":
            return reverse(name, args=[999 if missing else ids["leg"], "leaflet"])
        if name in ("practice-leg", "practice-try"):
            return reverse(name, args=["nobody" if missing else "ordinary-leg"])
        if name == "welcome":
            return reverse(name, args=[999 if missing else ids["account"], "token"])
        kind = kinds.get(name) or ("leg" if name in legs else None)
        kind = kind or ("visit" if name in visits else "plan" if name in plans else None)
        kind = kind or ("person" if name in ("person", "change-person", "open-leg") else None)
        return reverse(name, args=[999 if missing else ids[kind]] if kind else [])

    return address


@pytest.mark.parametrize("role", sorted(ALL))
def test_roles_and_verbs(addresses, signed_in, role) -> None:
    wrong = []
    for name, (roles, verbs) in GRID.items():
        if name in ("sign-out", "lock"):
            continue
        address = addresses(name)
        for verb in VERBS:
            client = signed_in(role)
            status = client.generic(verb, address).status_code
            if verb not in verbs.split():
                good = status == 405
            elif roles is not None and role not in roles:
                good = status == 403
            else:
                usual = ANSWERS.get((name, verb), 200 if verb == "GET" else 400)
                good = status == ANSWERS.get((name, verb, role), usual)
            if not good:
                wrong.append((name, verb, status))
    assert wrong == []


def test_nobody_gets_in_without_signing_in(addresses, client) -> None:
    for name, (roles, verbs) in GRID.items():
        if roles is None:
            continue
        response = client.generic(verbs.split()[0], addresses(name))
        assert response.status_code == 302, name
        assert response["Location"].startswith("/sign-in/"), name


@pytest.mark.parametrize("role", ["bandager", "learner"])
def test_what_is_not_there_looks_like_what_is_not_yours(addresses, signed_in, role) -> None:
    client = signed_in(role)
    for name, (roles, verbs) in GRID.items():
        address = addresses(name, missing=True)
        if roles is None or "999" not in address:
            continue
        status = client.generic(verbs.split()[0], address).status_code
        assert status == (404 if role in roles else 403), name


def test_a_learner_reads_no_name_anywhere(addresses, signed_in) -> None:
    client = signed_in("learner")
    for name, (_roles, verbs) in GRID.items():
        if "GET" in verbs:
            assert b"Ada Invented" not in client.get(addresses(name), follow=True).content, name


def test_anybody_may_record_that_a_bandage_came_off(clinic, signed_in) -> None:
    for role in sorted(ALL):
        response = signed_in(role).post(
            reverse("off"), {"reference": clinic.episode.reference.lower(), "kind": "taken_off"}
        )
        assert response.status_code == 302, role
    assert clinic.episode.events.count() == len(ALL)
