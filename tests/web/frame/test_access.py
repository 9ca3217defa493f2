"""Every address for every role and verb: who gets in, who is told no, and nothing leaks."""

import re

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.test import Client
from django.urls import reverse

from gaiter.records.models import Account, AuditEntry, PlanRecord, Role, StandingOrder
from gaiter.web.frame.access import allow
from tests.clinic import PASSWORD, in_teams
from tests.web.addresses import addresses_of, views

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
    "recovery-codes": (ALL, "GET POST"),
    "welcome": (None, "GET POST"),
    "own": (ALL, "GET POST"),
    "notices": (ALL, "GET POST"),
    "end-session": (ALL, "POST"),
    "end-other-sessions": (ALL, "POST"),
    "approve-grant": ({"manager"}, "POST"),
    "end-grant": ({"manager"}, "POST"),
    "accounts": ({"manager"}, "GET POST"),
    "account": ({"manager"}, "GET POST"),
    "orders": (CLINICAL, "GET POST"),
    "end-order": ({"prescriber"}, "POST"),
    "people": (CLINICAL, "GET"),
    "new-person": (CLINICAL, "GET POST"),
    "person": (CLINICAL, "GET"),
    "change-person": (CLINICAL, "GET POST"),
    "open-leg": (CLINICAL, "POST"),
    "open-outside": (CLINICAL, "GET POST"),
    "person-teams": (CLINICAL, "POST"),
    "teams": ({"manager"}, "GET POST"),
    "team": ({"manager"}, "GET POST"),
    "place-people": ({"manager"}, "POST"),
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
        "account", "accounts", "change-person", "new-person", "notices", "off", "orders",
        "stock-item", "team", "teams",
    )},
    ("stock", "POST", "manager"): 200,
    # These need no content.
    **{(name, "POST"): 302 for name in (
        "approve-grant", "end-grant", "end-order", "sign-out", "start-visit",
        "withdraw-override",
    )},
    # The start page of a role that has no legs is another.
    ("today", "GET", "learner"): 302, ("today", "GET", "manager"): 302,
    # What is another's, or names no plan, is not there; nor is a link with a wrong token.
    ("attempt", "GET", "bandager"): 404, ("practice-record", "GET", "bandager"): 404,
    ("bandaged", "POST"): 404, ("end-session", "POST"): 404,
    # There is no such page where everybody clinical sees every person.
    ("open-outside", "GET"): 404, ("open-outside", "POST"): 404, ("person-teams", "POST"): 404,
    # Only its author or a prescriber takes a proposal back.
    ("withdraw-plan", "POST", "bandager"): 403,
}  # fmt: skip
# Every verb of HTTP but CONNECT, which is a proxy's, and one that is made up.
VERBS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "BREW")


def test_the_grid_names_every_address() -> None:
    assert sorted(view.name for view in views()) == sorted(GRID)


@pytest.fixture
def addresses(clinic):
    """The address of every name, of records that exist."""
    return addresses_of(clinic)


def expected(name: str, verb: str, role: str) -> int:
    """The exact status of one address for one verb and role."""
    roles, verbs = GRID[name]
    same = "GET" if verb == "HEAD" else verb
    if same not in verbs.split():
        return 405
    if roles is not None and role not in roles:
        return 403
    usual = ANSWERS.get((name, same), 200 if same == "GET" else 400)
    return ANSWERS.get((name, same, role), usual)


@pytest.mark.parametrize("role", sorted(ALL))
def test_roles_and_verbs(addresses, signed_in, client, role) -> None:
    wrong = []
    for name in GRID:
        address = addresses(name)
        # A session that an address before locked is not the next one's.
        client.cookies.clear()
        for verb in VERBS:
            status = signed_in(role).generic(verb, address).status_code
            if status != expected(name, verb, role):
                wrong.append((name, verb, status, expected(name, verb, role)))
    assert wrong == []


def strict(clinic, role: str) -> Client:
    """A browser that sends no token of a form with anything, as another site's page would."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(clinic.accounts[role], backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_head_ends_no_standing_order(addresses, clinic) -> None:
    """HEAD ran views that take POST only, and no token of the form was asked for."""
    answer = strict(clinic, "prescriber").head(addresses("end-order"))
    assert answer.status_code == 405
    assert StandingOrder.objects.get().revoked_at is None


def test_a_verb_that_is_not_declared_is_answered_before_anything_runs(addresses, clinic) -> None:
    """Before the form's token, the session and the role are looked at; the answer names verbs."""
    for who in (strict(clinic, "learner"), Client(enforce_csrf_checks=True)):
        for name, (_roles, verbs) in GRID.items():
            told = {*verbs.split(), *(["HEAD"] if "GET" in verbs else [])}
            for verb in set(VERBS) - told:
                answer = who.generic(verb, addresses(name))
                assert (answer.status_code, name, verb) == (405, name, verb)
                assert set(answer["Allow"].split(", ")) == told
    assert not AuditEntry.objects.filter(verb="sign out").exists()


def test_a_head_writes_no_more_than_a_get_and_says_nothing(addresses, signed_in) -> None:
    for name in ("people", "off", "own", "stock", "health"):
        client = signed_in("bandager")
        got, head = client.get(addresses(name)), client.head(addresses(name))
        assert (head.status_code, head.content) == (got.status_code, b""), name


def test_a_post_without_the_token_of_its_form_is_refused_everywhere(addresses, clinic) -> None:
    for name, (roles, verbs) in GRID.items():
        if "POST" in verbs:
            role = sorted(roles or ALL)[0]
            answer = strict(clinic, role).post(addresses(name))
            assert (answer.status_code, name) == (403, name)


def test_a_view_that_declares_no_verb_is_a_fault() -> None:
    with pytest.raises(ImproperlyConfigured, match="by which verbs"):
        allow(frozenset(Role))


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


@pytest.mark.parametrize(
    "wanted",
    ["abc", "0", "a.b", "today", "a:b", "//evil.example/", "/\\evil.example", "a/b", "\x00"],
)
def test_what_is_no_page_of_ours_is_not_gone_to(clinic, signed_in, wanted) -> None:
    """A word was taken for the name of a view, and there is no such view."""
    for name in ("lock", "notices"):
        form = {"password": PASSWORD, "upto": "1", "next": wanted}
        answer = signed_in("bandager").post(reverse(name), form)
        assert (answer.status_code, answer["Location"]) == (302, "/"), name


@pytest.mark.parametrize("wanted", ["/people/", "http://testserver/people/"])
def test_a_page_of_ours_is_gone_back_to(clinic, signed_in, wanted) -> None:
    answer = signed_in("bandager").post(reverse("lock"), {"password": PASSWORD, "next": wanted})
    assert (answer.status_code, answer["Location"]) == (302, wanted)


# With teams: addresses that name no record of a person, for clinical staff. Every other answers
# 404 to another team; so does a new page, or it is written down here with a reason.
OF_NOBODY = {
    # Lists and forms; what they show and take is looked at below.
    "today", "people", "new-person", "orders", "stock", "count-stock", "off", "policy",
    # Opens somebody of another team, in writing.
    "open-outside",
    # One's own account, and what is practised on invented legs.
    "sign-in", "sign-out", "lock", "second-factor", "second-factor-set-up", "recovery-codes",
    "welcome", "own", "notices", "end-session", "end-other-sessions", "health", "practice",
    "practice-leg", "practice-try", "attempt", "practice-record", "technique",
}  # fmt: skip


@pytest.fixture
def by_team(addresses, clinic, settings):
    """The person in a team of two others; prescriber and bandager in another one."""
    return in_teams(clinic, settings)


def asked_by(account: Account) -> Client:
    client = Client()
    client.force_login(account, backend="django.contrib.auth.backends.ModelBackend")
    return client


def plain(answer) -> bytes:
    """A page without what differs every time and says nothing."""
    return re.sub(rb"[A-Za-z0-9]{32,64}", b"token", answer.content)


def shut_addresses(role: str) -> list[tuple[str, str]]:
    """Every address of a record that a role may open, with each of its verbs."""
    return [
        (name, verb)
        for name, (roles, verbs) in GRID.items()
        if name not in OF_NOBODY and (roles is None or role in roles)
        for verb in [*verbs.split(), *(["HEAD"] if "GET" in verbs else [])]
    ]


@pytest.mark.parametrize("role", sorted(CLINICAL))
def test_a_person_of_another_team_is_not_there_at_any_address(
    addresses, by_team, clinic, role
) -> None:
    """By every verb, word for word as a record that is not there; and nothing is written."""
    client = asked_by(clinic.accounts[role])
    before, wrong = AuditEntry.objects.count(), []
    for name, verb in shut_addresses(role):
        # What the form of a bandage names, since without it nobody finds one.
        given = {"data": {"plan": str(PlanRecord.objects.get().pk)}} if verb == "POST" else {}
        ask = getattr(client, verb.lower())
        theirs, none = ask(addresses(name), **given), ask(addresses(name, missing=True), **given)
        if (theirs.status_code, plain(theirs)) != (404, plain(none)):
            wrong.append((name, verb, theirs.status_code))
    assert wrong == []
    assert AuditEntry.objects.count() == before


@pytest.mark.long
@pytest.mark.parametrize("role", sorted(CLINICAL))
def test_of_ones_own_team_every_address_opens_as_without_teams(addresses, by_team, role) -> None:
    wrong = []
    for name, verb in shut_addresses(role):
        if name == "person-teams":
            continue
        status = asked_by(by_team[role]).generic(verb, addresses(name)).status_code
        if status != expected(name, verb, role):
            wrong.append((name, verb, status))
    assert wrong == []


@pytest.mark.parametrize("role", sorted(CLINICAL))
def test_no_list_tells_of_a_person_of_another_team(addresses, by_team, clinic, role) -> None:
    told = [
        clinic.person.name, clinic.episode.reference, f"/people/{clinic.person.pk}/",
        f"/legs/{clinic.episode.pk}/",
    ]  # fmt: skip
    pages = [addresses(n) for n in OF_NOBODY if "GET" in GRID[n][1].split() and n != "sign-out"]
    searches = [f"{reverse('people')}?find={clinic.person.number}", f"{reverse('today')}?show=all"]
    for address in [*pages, *searches]:
        # A session of its own: some of these lock it or end it.
        page = asked_by(clinic.accounts[role]).get(address, follow=True).content
        assert [words for words in told if words.encode() in page] == [], address
    # The same words are there for somebody of the team.
    inside = asked_by(by_team[role])
    for address in (*searches, reverse("people")):
        page = inside.get(address).content
        assert any(words.encode() in page for words in told), address
    assert clinic.person.name in inside.get(reverse("orders")).content.decode()


@pytest.mark.parametrize("role", sorted(ALL))
def test_that_a_bandage_came_off_is_recorded_by_anybody_of_any_team(by_team, clinic, role) -> None:
    client = asked_by(clinic.accounts[role])
    session = client.session
    session["locked"] = True
    session.save()
    said = {"reference": clinic.episode.reference, "kind": "taken_off"}
    assert client.post(reverse("off"), said).status_code == 302
    assert clinic.episode.events.count() == 1
