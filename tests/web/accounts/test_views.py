"""Signing in, counted tries, idle lock, one-time links, sessions."""

import logging
import re
import time
from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from gaiter.records.actions.accounts import add_account, change_account
from gaiter.records.actions.grants import issue_link
from gaiter.records.entrance.models import Session
from gaiter.records.entrance.tries import Kind
from gaiter.records.ledger import Actor
from gaiter.records.models import Account, AuditEntry, Grant
from gaiter.web.accounts import views
from gaiter.web.frame.logs import JsonFormatter
from tests.clinic import PASSWORD
from tests.web.as_shown import as_shown

SIGN_IN = {"username": "bandager", "password": PASSWORD}
NEW = "thimble orchard gravel"


def test_the_right_password_opens_today_and_is_audited(clinic, client) -> None:
    response = client.post(reverse("sign-in"), SIGN_IN)
    assert response["Location"] == "/"
    assert AuditEntry.objects.filter(verb="sign in", who="bandager").exists()


@pytest.mark.parametrize("role", ["manager", "learner"])
def test_each_role_starts_on_its_own_page(clinic, client, role) -> None:
    response = client.post(reverse("sign-in"), {**SIGN_IN, "username": role})
    assert response["Location"] == {"manager": "/stock/", "learner": "/practice/"}[role]


def test_a_wrong_password_says_nothing_of_the_account(clinic, client) -> None:
    known = client.post(reverse("sign-in"), {**SIGN_IN, "password": "wrong"})
    unknown = client.post(reverse("sign-in"), {"username": "nobody", "password": "wrong"})
    for response in (known, unknown):
        assert response.status_code == 400
        assert b"do not match an account" in response.content


def wrong(client, username: str = "bandager", **extra):
    return client.post(
        reverse("sign-in"), {"username": username, "password": "wrong"}, **extra
    ).status_code


def spent(kind: Kind) -> list[int]:
    """Answers to as many wrong passwords as a window takes, and one more."""
    return [*[400] * kind.value, 429]


def test_a_name_is_not_guessed_from_many_places(clinic) -> None:
    """Each address has a first try, and all of them together no more than the name takes."""
    found = [
        wrong(Client(REMOTE_ADDR=f"192.0.2.{number}")) for number in range(Kind.NAME.value + 1)
    ]
    assert found == spent(Kind.NAME)
    page = Client().post(reverse("sign-in"), SIGN_IN)
    assert (page.status_code, b"Wait 15 minutes" in page.content) == (429, True)


def test_an_address_does_not_try_one_name_after_another(clinic, client) -> None:
    """Spraying many names with a password or two each was never slowed."""
    names = [f"name{number}" for number in range(Kind.ADDRESS.value + 1)]
    assert [wrong(client, name) for name in names] == spent(Kind.ADDRESS)
    assert client.post(reverse("sign-in"), SIGN_IN).status_code == 429
    assert Client(REMOTE_ADDR="192.0.2.1").post(reverse("sign-in"), SIGN_IN).status_code == 302


def test_tries_that_come_while_one_is_judged_count_too(clinic, monkeypatch) -> None:
    """Hashing a password takes a while, in which many more could be sent."""
    judged = []

    def slow(*_args, **_kwargs) -> None:
        judged.append(1)
        if len(judged) < 50:
            wrong(Client(REMOTE_ADDR=f"192.0.2.{len(judged)}"))

    monkeypatch.setattr(views, "authenticate", slow)
    wrong(Client())
    assert len(judged) == Kind.NAME.value


def test_an_account_of_ones_own_buys_no_tries_at_others(clinic, client) -> None:
    for number in range(Kind.ADDRESS.value):
        assert wrong(client, f"name{number}") == 400
        Client(REMOTE_ADDR="192.0.2.1").post(reverse("sign-in"), SIGN_IN)
    assert wrong(client, "one more") == 429


def test_a_header_that_anybody_may_write_is_no_address(clinic, client) -> None:
    names = [f"name{number}" for number in range(Kind.ADDRESS.value + 1)]
    found = [
        wrong(client, name, headers={"X-Forwarded-For": f"192.0.2.{number}"})
        for number, name in enumerate(names)
    ]
    assert found == spent(Kind.ADDRESS)


def test_strangers_keep_nobody_from_signing_in_where_they_did_before(clinic, client) -> None:
    client.post(reverse("sign-in"), SIGN_IN)
    client.post(reverse("sign-out"))
    for number in range(Kind.NAME.value):
        wrong(Client(REMOTE_ADDR=f"192.0.2.{number}"))
    for number in range(Kind.ADDRESS.value):
        wrong(Client(), f"name{number}")
    assert Client(REMOTE_ADDR="192.0.2.99").post(reverse("sign-in"), SIGN_IN).status_code == 429
    assert client.post(reverse("sign-in"), SIGN_IN).status_code == 302


def test_a_browser_that_knows_a_name_does_not_guess_it_either(clinic, client) -> None:
    client.post(reverse("sign-in"), SIGN_IN)
    client.post(reverse("sign-out"))
    found = [wrong(client) for _ in range(Kind.BROWSER.value + 1)]
    assert found == spent(Kind.BROWSER)
    # Nor does it know another name.
    assert [wrong(client, "prescriber") for _ in range(Kind.NAME.value + 1)] == spent(Kind.NAME)


def test_a_failed_sign_in_is_audited(clinic, client) -> None:
    wrong(client, "prescriber")
    entry = AuditEntry.objects.get(verb="failed sign in")
    assert (entry.who, entry.where) == ("", "127.0.0.1")
    assert '"account": "prescriber"' in entry.changes


def test_an_account_that_may_not_sign_in_does_not(clinic, client) -> None:
    change_account(clinic.actor("manager"), clinic.accounts["bandager"], is_active=False)
    assert client.post(reverse("sign-in"), SIGN_IN).status_code == 400


@pytest.mark.parametrize(
    "wanted",
    [
        "https://elsewhere.example/",
        "//elsewhere.example/",
        "javascript:alert(1)",
        "data:text/html,x",
    ],
)
def test_going_on_leads_only_to_our_own_pages(clinic, client, wanted) -> None:
    response = client.post(reverse("sign-in"), {**SIGN_IN, "next": wanted})
    assert response["Location"] == "/"


def test_an_idle_screen_locks_and_opens_where_it_was(clinic, signed_in) -> None:
    client = signed_in("bandager")
    client.get(reverse("people"))
    session = client.session
    session["seen"] = time.time() - 3600
    session.save()
    locked = client.get(reverse("people"))
    assert locked["Location"] == "/lock/?next=%2Fpeople%2F"
    assert client.post(reverse("lock"), {"password": "wrong"}).status_code == 400
    assert client.get(reverse("people")).status_code == 302
    opened = client.post(reverse("lock"), {"password": PASSWORD, "next": "/people/"})
    assert opened["Location"] == "/people/"
    assert client.get(reverse("people")).status_code == 200


def test_a_script_is_told_that_the_screen_is_locked(clinic, signed_in) -> None:
    client = signed_in("bandager")
    client.get(reverse("lock"))
    response = client.post(
        reverse("save-visit", args=[clinic.visit.pk]), "{}", "application/json",
        headers={"Accept": "application/json"},
    )  # fmt: skip
    assert (response.status_code, response.json()) == (423, {"gone": "/lock/"})


def spend_step_up(client, name: str, *args, **form) -> None:
    for _ in range(Kind.SESSION.value):
        assert (
            client.post(reverse(name, args=args), {**form, "password": "wrong"}).status_code < 429
        )


def test_wrong_passwords_elsewhere_stop_nobody_from_approving_or_unlocking(
    clinic, signed_in
) -> None:
    """Anybody could stop a prescriber by typing the name and five wrong passwords."""
    plan, doctor = clinic.proposed(), signed_in("prescriber")
    for number in range(2 * Kind.NAME.value):
        wrong(Client(REMOTE_ADDR=f"192.0.2.{number}"), "prescriber")
    other = Client()
    other.force_login(
        clinic.accounts["prescriber"], backend="django.contrib.auth.backends.ModelBackend"
    )
    spend_step_up(other, "lock")
    doctor.get(reverse("lock"))
    assert doctor.post(reverse("lock"), {"password": PASSWORD}).status_code == 302
    answer = doctor.post(reverse("approve", args=[plan.pk]), {"password": PASSWORD})
    assert answer.status_code == 302
    plan.refresh_from_db()
    assert plan.state == "approved"


def test_a_session_is_no_place_to_guess_and_stays_one_to_loosen_in(clinic, signed_in) -> None:
    plan, doctor = clinic.proposed(), signed_in("prescriber")
    spend_step_up(doctor, "approve", plan.pk)
    refused = doctor.post(reverse("approve", args=[plan.pk]), {"password": PASSWORD})
    assert (refused.status_code, b"wait 15 minutes" in refused.content) == (429, True)
    plan.refresh_from_db()
    assert plan.state == "proposed"
    doctor.get(reverse("lock"))
    locked = doctor.post(reverse("lock"), {"password": PASSWORD})
    assert (locked.status_code, b"wait 15 minutes" in locked.content) == (429, True)
    assert reverse("off") in locked.content.decode()
    assert doctor.get(reverse("people")).status_code == 302
    taken = {"reference": clinic.episode.reference, "kind": "taken_off"}
    assert doctor.get(reverse("off")).status_code == 200
    assert doctor.post(reverse("off"), taken).status_code == 302
    assert clinic.episode.events.get().kind == "taken_off"
    assert AuditEntry.objects.latest("number").where == "127.0.0.1, locked screen"


def test_a_locked_screen_shows_nothing_of_a_patient(clinic, signed_in) -> None:
    client = signed_in("bandager")
    client.get(reverse("lock"))
    for name in ("lock", "off"):
        assert b"Ada Invented" not in client.get(reverse(name)).content


def test_a_clock_that_is_put_back_locks_the_screen(clinic, signed_in) -> None:
    client = signed_in("bandager")
    session = client.session
    session["seen"] = time.time() + 3600
    session.save()
    assert client.get(reverse("people"))["Location"].startswith("/lock/")


def link_for(clinic, role: str = "bandager") -> str:
    return issue_link(Actor(None, "command line"), clinic.accounts[role]).path


def chosen(client, path: str, password: str = NEW, code: str = ""):
    address, _sign, link = path.partition("#")
    return client.post(address, {"link": link, "password": password, "code": code})


def test_a_one_time_link_sets_a_password_once(clinic, client) -> None:
    made = add_account(
        clinic.actor("manager"), username="new", name="New", initials="N", role="bandager"
    )
    path = issue_link(clinic.actor("manager"), made).path
    weak = chosen(client, path, "short")
    assert (weak.status_code, b"has 12 to 200 characters" in weak.content) == (400, True)
    assert chosen(client, path)["Location"] == "/"
    assert client.get("/people/").status_code == 200
    assert chosen(Client(), path, "another long password").status_code == 404
    assert Account.objects.get(username="new").check_password(NEW)


def test_no_address_and_no_log_holds_a_links_code(clinic, client) -> None:
    """What stands behind # is not sent; a path was written into logs and tracebacks."""
    path = link_for(clinic)
    code = path.partition("#")[2]
    lines: list[str] = []
    handler = logging.Handler()
    handler.emit = lambda record: lines.append(JsonFormatter().format(record))
    root = logging.getLogger("gaiter.requests")
    root.addHandler(handler)
    try:
        page = client.get(path)
        chosen(client, path)
    finally:
        root.removeHandler(handler)
    assert page.request["PATH_INFO"] + page.request["QUERY_STRING"] == "/welcome/"
    assert len(lines) == 2
    assert code not in "".join(lines)


@pytest.mark.parametrize("how", ["newer link", "sign-in", "deactivation"])
def test_an_older_link_is_dead(clinic, client, how) -> None:
    path = link_for(clinic)
    if how == "newer link":
        link_for(clinic)
    elif how == "sign-in":
        Client().post(reverse("sign-in"), SIGN_IN)
    else:
        for active in (False, True):
            change_account(clinic.actor("manager"), clinic.accounts["bandager"], is_active=active)
    assert chosen(client, path).status_code == 404
    assert not Account.objects.get(username="bandager").check_password(NEW)


def test_who_made_a_link_is_shown_to_its_owner_at_the_next_sign_in(clinic, client) -> None:
    path = issue_link(clinic.actor("manager"), clinic.accounts["bandager"]).path
    # Somebody else than its owner uses it, and signs in by it.
    chosen(Client(REMOTE_ADDR="203.0.113.9"), path)
    sent = client.post(reverse("sign-in"), {**SIGN_IN, "password": NEW})
    assert sent["Location"] == "/own/notices/?next=%2F"
    page = client.get(sent["Location"]).content.decode()
    for said in ("One-time link", "Invented manager", "203.0.113.9"):
        assert said.lower() in page.lower()
    upto = Grant.objects.get().pk
    assert client.post(reverse("notices"), {"upto": upto, "next": "/"})["Location"] == "/"
    again = Client().post(reverse("sign-in"), {**SIGN_IN, "password": NEW})
    assert again["Location"] == "/"
    assert "Invented manager" in client.get(reverse("own")).content.decode()


def test_a_session_ends_after_its_hours_however_busy_it_was(clinic, client, settings) -> None:
    client.post(reverse("sign-in"), SIGN_IN)
    start = timezone.now()
    for minutes in range(5, 12 * 60, 5):
        with time_machine.travel(start + timedelta(minutes=minutes)):
            assert client.get(reverse("people")).status_code == 200, minutes
    with time_machine.travel(start + timedelta(hours=12, seconds=1)):
        assert client.get(reverse("people"))["Location"].startswith("/sign-in/")


def test_a_deactivated_account_is_out_and_stays_out_in_every_browser(clinic, client) -> None:
    """The session was alive again when the account was let in again."""
    client.post(reverse("sign-in"), SIGN_IN)
    for active in (False, True):
        change_account(clinic.actor("manager"), clinic.accounts["bandager"], is_active=active)
    assert client.get(reverse("people"))["Location"].startswith("/sign-in/")


def test_the_key_in_the_cookie_is_not_in_the_database(clinic, client) -> None:
    client.post(reverse("sign-in"), SIGN_IN)
    key = client.cookies["gaiter"].value
    held = Session.objects.get()
    assert key not in (held.key_hash, bytes(held.content).decode(errors="replace"))
    stolen = Client()
    stolen.cookies["gaiter"] = held.key_hash
    assert stolen.get(reverse("people")).status_code == 302


def test_passwords_are_kept_with_argon2() -> None:
    from gaiter.operations import settings as shipped

    assert shipped.PASSWORD_HASHERS[0].endswith("Argon2PasswordHasher")


def test_the_last_manager_cannot_be_shut_out(clinic, signed_in) -> None:
    one = clinic.accounts["manager"]
    manager, address = signed_in("manager"), reverse("account", args=[one.pk])
    response = manager.post(
        address,
        {
            **as_shown(manager, address),
            "name": "M",
            "initials": "M",
            "role": "bandager",
            "training": "trained",
            "is_active": "on",
        },
    )
    assert response.status_code == 400
    assert b"last manager" in response.content


def key_of(client) -> str:
    return client.cookies["gaiter"].value


def opens_with(key: str) -> bool:
    """Whether a browser that has nothing but a session's key sees people."""
    other = Client()
    other.cookies["gaiter"] = key
    return other.get(reverse("people")).status_code == 200


def test_signing_in_and_unlocking_give_a_new_key_and_end_the_old(clinic, client) -> None:
    client.post(reverse("sign-in"), SIGN_IN)
    keys = [key_of(client)]
    client.post(reverse("sign-in"), SIGN_IN)
    keys.append(key_of(client))
    client.get(reverse("lock"))
    client.post(reverse("lock"), {"password": PASSWORD})
    keys.append(key_of(client))
    assert len(set(keys)) == 3
    assert [opens_with(key) for key in keys] == [False, False, True]


def test_signing_out_ends_the_session_on_the_server(clinic, client) -> None:
    client.post(reverse("sign-in"), SIGN_IN)
    key = key_of(client)
    assert opens_with(key)
    client.post(reverse("sign-out"))
    assert not opens_with(key)


def test_every_page_of_whoever_is_signed_in_can_be_signed_out_of(clinic, signed_in) -> None:
    client = signed_in("bandager")
    pages = [reverse(name) for name in ("today", "people", "own", "stock", "practice", "off")]
    pages += [reverse("leg", args=[clinic.episode.pk]), reverse("visit", args=[clinic.visit.pk])]
    for page in (*pages, "/nothing-here/"):
        assert b'action="/sign-out/"' in client.get(page).content, page


def test_cookies_are_sent_by_our_own_pages_only_and_no_script_reads_them(clinic, client) -> None:
    client.get(reverse("sign-in"))
    client.post(reverse("sign-in"), SIGN_IN)
    assert {"gaiter", "gaiter-form", "gaiter-browser"} == set(client.cookies)
    for name, cookie in client.cookies.items():
        assert cookie["samesite"] == "Lax", name
        assert cookie["httponly"], name


def test_what_stands_in_an_address_is_no_value_of_a_form(clinic, client) -> None:
    answer = client.post(reverse("sign-in") + f"?username=bandager&password={PASSWORD}", {})
    assert answer.status_code == 400
    assert client.get(reverse("sign-in"), SIGN_IN).status_code == 200
    assert not AuditEntry.objects.filter(verb="sign in").exists()


@pytest.mark.parametrize(
    "slip", [PASSWORD.upper(), f" {PASSWORD}", f"{PASSWORD} ", PASSWORD[:-1], f"{PASSWORD}x"]
)
def test_a_password_counts_exactly_as_it_was_typed(clinic, client, slip) -> None:
    assert client.post(reverse("sign-in"), {**SIGN_IN, "password": slip}).status_code == 400
    assert client.post(reverse("sign-in"), SIGN_IN).status_code == 302


def test_password_boxes_hide_what_is_typed_and_take_a_password_manager(clinic, signed_in) -> None:
    client = signed_in("bandager")
    pages = [client.get(reverse(name)).content.decode() for name in ("own", "lock")]
    client.logout()
    pages += [client.get(reverse(name)).content.decode() for name in ("sign-in", "welcome")]
    for page in pages:
        boxes = re.findall(r'<input[^>]*name="(?:new_)?password"[^>]*>', page)
        assert boxes
        for box in boxes:
            assert 'type="password"' in box
            assert re.search('autocomplete="(current|new)-password"', box)
            assert "onpaste" not in box


def test_a_link_that_is_over_is_told_to_a_script_as_it_reads(db, client) -> None:
    """As every other page that is not there; it was a page of HTML."""
    form = {"link": "no such link", "password": "thimble orchard gravel"}
    answer = client.post(reverse("welcome"), form, headers={"Accept": "application/json"})
    assert (answer.status_code, answer["Content-Type"]) == (404, "application/json")
    assert answer.json()["problem"]
    assert b"<h1>" in client.post(reverse("welcome"), form).content
