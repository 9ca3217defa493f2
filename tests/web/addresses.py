"""The address of every view, of records that exist, whom it lets in and by which verbs."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from gaiter.records.actions.accounts import add_account
from gaiter.records.actions.grants import issue_link
from gaiter.records.actions.people import ask_for_call, store_file
from gaiter.records.actions.plans import leave_order, record_bandaging, set_stock_item
from gaiter.records.actions.stops import override_stops
from gaiter.records.actions.teams import make_team
from gaiter.records.ledger import Actor
from gaiter.records.models import Grant, OverrideRecord, Role
from gaiter.web.frame.access import Access
from tests.clinic import Clinic, attempt_of

# What the number in an address names.
_KINDS = {
    **dict.fromkeys(
        (
            "clear-stop", "leg", "start-visit", "note", "call", "leg-event", "close-episode",
            "change-outcome", "add-file",
        ),
        "leg",
    ),
    **dict.fromkeys(
        (
            "none-present", "refer", "provisional", "no-provisional", "visit", "save-visit",
            "live-visit", "settle-visit", "sign-visit", "case-file", "override", "check",
            "bandaged", "design", "propose",
        ),
        "visit",
    ),
    **dict.fromkeys(
        ("withdraw-plan", "plan", "approve", "plan-file", "steps", "sheet-file"), "plan"
    ),
    **dict.fromkeys(("person", "change-person", "open-leg", "person-teams"), "person"),
    **dict.fromkeys(
        ("answer-check", "readings", "undo-bandaging", "record-deed"), "bandaging"
    ),
    **dict.fromkeys(("approve-grant", "end-grant"), "grant"),
    "call-returned": "call", "stored-file": "file", "end-order": "order",
    "withdraw-override": "override", "stock-item": "item", "count-stock": "item",
    "account": "account", "practice-record": "account", "attempt": "attempt",
    "end-session": "session", "team": "team",
}  # fmt: skip


@dataclass(frozen=True)
class View:
    """A view as the resolver knows it."""

    name: str
    access: Access


def views() -> list[View]:
    """Every view that has an address."""

    def walk(patterns: Any) -> Iterator[View]:
        for pattern in patterns:
            if isinstance(pattern, URLResolver):
                yield from walk(pattern.url_patterns)
            elif isinstance(pattern, URLPattern):
                yield View(pattern.name or "", pattern.callback.access)  # type: ignore[attr-defined] # set by @allow

    return list(walk(get_resolver().url_patterns))


def addresses_of(clinic: Clinic) -> Callable[..., str]:
    """What gives the address of a name, of a record that exists or of one that does not."""
    doctor = clinic.actor(Role.PRESCRIBER)
    plan = clinic.approved()
    today = clinic.actor().today
    ids = {
        "leg": clinic.episode.pk, "visit": clinic.visit.pk, "plan": plan.pk,
        "person": clinic.person.pk,
        "call": ask_for_call(doctor, clinic.episode, "call").pk,
        "file": store_file(doctor, clinic.episode, "consent", "", b"%PDF-1.7").pk,
        "order": leave_order(doctor, person=clinic.person, maximum_mmhg=40, words="While away.",
                             starts=today, ends=today).pk,
        "override": _set_aside(clinic, doctor).pk,
        "bandaging": record_bandaging(Actor(clinic.accounts["bandager"]), clinic.visit, plan,
                                      today + timedelta(days=2)).pk,
        "item": set_stock_item(doctor, None, material="zinc_paste", width_cm=8, rolls=9,
                               low_at=1).pk,
        "account": clinic.accounts["learner"].pk,
        "grant": _waiting_link(clinic).pk,
        # Nobody is signed in so.
        "session": 998,
        "attempt": attempt_of(clinic.actor(Role.LEARNER)).pk,
        "team": make_team(clinic.actor(Role.MANAGER), "Team of nobody").pk,
    }  # fmt: skip

    def address(name: str, missing: bool = False) -> str:
        if name == "paper":
            return reverse(name, args=[999 if missing else ids["leg"], "leaflet"])
        if name in ("practice-leg", "practice-try"):
            return reverse(name, args=["nobody" if missing else "ordinary-leg"])
        kind = _KINDS.get(name)
        return reverse(name, args=[999 if missing else ids[kind]] if kind else [])

    return address


def _set_aside(clinic: Clinic, doctor: Actor) -> OverrideRecord:
    """A soft stop set aside; the finding behind it is then taken back."""
    clinic.fill({"person.breathless_lying": True})
    made = override_stops(
        doctor, clinic.visit, code="breathless_lying", aim_low_mmhg=10, aim_high_mmhg=20,
        maximum_mmhg=25, reason="specialist agreed", words="Ten letters.",
    )  # fmt: skip
    clinic.fill({"person.breathless_lying": False})
    return made


def _waiting_link(clinic: Clinic) -> Grant:
    """A prescriber's link, which another manager than the one of the clinic asked for."""
    other = add_account(
        Actor(None, "test"), username="second", name="Second", initials="S", role="manager"
    )
    issue_link(Actor(other), clinic.accounts["prescriber"])
    return Grant.objects.get()
