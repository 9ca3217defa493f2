"""The gate in front of the pages: a flood is refused before anything is spent on it."""

import io
import logging
from collections.abc import Iterator
from dataclasses import replace
from ipaddress import ip_network

import pytest
from django.conf import settings as given
from django.core.handlers.wsgi import WSGIHandler
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.urls import reverse

from gaiter.records.entrance.session_key import new_key
from gaiter.web.frame import gate as gates
from gaiter.web.frame.gate import SENTENCE, Gate

STATIC = f"/{given.STATIC_URL.strip('/')}/gaiter/page.css"


class Clock:
    """Put forward by hand."""

    now = 1000.0

    def __call__(self) -> float:
        return self.now


class Door:
    """A gate, asked as a server asks it."""

    def __init__(self, application) -> None:
        self.clock = Clock()
        self.gate = Gate(application, clock=self.clock)
        self.headers: dict[str, str] = {}

    def ask(self, path="/", cookie="", address="192.0.2.1", verb="GET", body=b"", **more) -> int:
        """The status of an answer; its text is kept."""
        told: list = []
        head = {
            "REQUEST_METHOD": verb, "PATH_INFO": path, "SERVER_NAME": "localhost",
            "SERVER_PORT": "80", "HTTP_HOST": "localhost", "REMOTE_ADDR": address,
            "HTTP_COOKIE": f"gaiter={cookie}" if cookie else "", "wsgi.input": io.BytesIO(body),
            "wsgi.errors": io.StringIO(), "wsgi.url_scheme": "http", "wsgi.version": (1, 0),
            "CONTENT_LENGTH": str(len(body)), **more,
        }  # fmt: skip
        answer = self.gate(
            head, lambda status, headers, _fault=None: told.extend((status, headers))
        )
        self.text, self.headers = b"".join(answer), dict(told[1])
        return int(told[0][:3])

    def asked_until_refused(self, **how) -> int:
        """How many are answered before one is refused."""
        for count in range(10_000):
            if self.ask(**how) == 429:
                return count
        return pytest.fail("nothing is refused")


def pages(head, start):
    """Stands for the pages: cookies that begin with an account's number are that account's."""
    cookie = head["HTTP_COOKIE"].partition("gaiter=")[2]
    if head["PATH_INFO"] != STATIC:
        head[gates.ACCOUNT] = int(cookie[0]) if cookie[:1].isdigit() else None
    start("200 OK", [])
    return [b"a page"]


@pytest.fixture
def door() -> Door:
    return Door(pages)


@pytest.fixture
def real_door(db) -> Iterator[Door]:
    """In front of the framework itself, which leaves the test its connection to the database."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield Door(WSGIHandler())
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.fixture
def cookie_of(clinic, signed_in):
    """The session of somebody who is signed in."""
    return lambda role: signed_in(role).cookies[given.SESSION_COOKIE_NAME].value


def known(door: Door, cookie: str, address: str = "192.0.2.1") -> None:
    """Asks once, so that the gate learns whose the cookie is; that once counts on the address."""
    assert door.ask(cookie=cookie, address=address) == 200


def test_one_account_has_eighty_at_once_and_three_a_second(door) -> None:
    known(door, "1a")
    assert door.asked_until_refused(cookie="1a") == 80
    door.clock.now += 1.0
    assert door.asked_until_refused(cookie="1a") == 3


def test_another_account_at_the_same_address_is_answered_meanwhile(door) -> None:
    known(door, "1a")
    known(door, "2b")
    door.asked_until_refused(cookie="1a")
    assert door.ask(cookie="2b") == 200
    assert door.ask() == 200


def test_browsers_of_one_account_count_together(door) -> None:
    for cookie in ("1a", "1b", "2c"):
        known(door, cookie)
    assert door.asked_until_refused(cookie="1a") == 80
    assert door.ask(cookie="1b") == 429
    assert door.ask(cookie="2c") == 200


def test_an_invented_cookie_counts_on_the_address_and_is_not_remembered(door) -> None:
    known(door, "1a")
    invented = (door.ask(cookie=f"invented{number}") for number in range(10_000))
    assert next(count for count, status in enumerate(invented) if status == 429) == 299
    assert len(door.gate._known) == len(door.gate._addresses) == 1
    assert len(door.gate._new) == 0
    assert door.ask(cookie="1a") == 200
    assert door.ask(cookie="invented", address="192.0.2.2") == 200


def test_a_session_that_this_process_does_not_know_yet_counts_for_itself(door) -> None:
    """Whoever invents cookies at the clinic's own address keeps nobody who works there out."""
    door.asked_until_refused(cookie="invented")
    assert door.ask(cookie="invented") == 429
    given_one, another = new_key(), new_key()
    assert door.asked_until_refused(cookie=given_one, path=STATIC) in (299, 300)
    assert door.ask(cookie=another) == 200
    door.clock.now += 1
    assert door.asked_until_refused(cookie=given_one, path=STATIC) in (9, 10)


def test_a_session_that_is_over_counts_on_the_address_again(door) -> None:
    known(door, "1a")

    def over(head, start):
        head[gates.ACCOUNT] = None
        start("200 OK", [])
        return [b"the sign-in page"]

    door.gate.application = over
    assert door.ask(cookie="1a") == 200
    assert door.gate._known == {}


def test_no_more_sessions_are_remembered_than_so_many(door, monkeypatch) -> None:
    monkeypatch.setattr(gates, "REMEMBERED", 2)
    for cookie in ("1a", "2b", "3c"):
        known(door, cookie)
    assert sorted(door.gate._known.values()) == [2, 3]


def test_no_cookie_is_kept(door) -> None:
    known(door, "1secret")
    assert "1secret" not in repr(vars(door.gate))


def test_of_two_cookies_of_one_name_the_one_counts_that_the_pages_take(door) -> None:
    """Else whoever puts an invented one first is never told apart."""
    known(door, "1a")
    door.asked_until_refused(cookie="1a")
    assert door.ask(HTTP_COOKIE="gaiter=invented; gaiter=1a") == 429


def test_behind_a_trusted_proxy_every_address_has_its_own(door, settings) -> None:
    trusted = (ip_network("10.0.0.1"),)
    settings.GAITER = replace(settings.GAITER, trusted_proxy=trusted)
    first = {"address": "10.0.0.1", "HTTP_X_FORWARDED_FOR": "192.0.2.1"}
    assert door.asked_until_refused(**first) == 300
    assert door.ask(**{**first, "HTTP_X_FORWARDED_FOR": "192.0.2.2"}) == 200


def test_a_header_of_anybody_else_makes_no_other_address(door) -> None:
    door.asked_until_refused(HTTP_X_FORWARDED_FOR="192.0.2.7")
    assert door.ask(HTTP_X_FORWARDED_FOR="192.0.2.8") == 429


def test_addresses_of_one_subscriber_count_together(door) -> None:
    door.asked_until_refused(address="2001:db8:1:2::1")
    assert door.ask(address="2001:db8:1:2::2") == 429
    assert door.ask(address="2001:db8:1:3::1") == 200


def test_a_style_costs_a_tenth(door) -> None:
    known(door, "1a")
    # Ten tenths in floating point may be a hair more than one.
    assert door.asked_until_refused(cookie="1a", path=STATIC) in (799, 800)


def test_loosened_or_off_is_recorded_whatever_else_the_account_asked(door) -> None:
    assert reverse("off") == gates.OFF_PATH
    known(door, "1a")
    door.asked_until_refused(cookie="1a")
    assert door.ask(cookie="1a", path="/off/", verb="POST") == 200
    door.asked_until_refused()
    assert door.ask(path="/off/") == 200
    # And a flood of just that is one as well.
    assert door.asked_until_refused(cookie="1a", path="/off/") == 29
    door.clock.now += 1.0
    assert door.asked_until_refused(cookie="1a", path="/off/") == 1


def test_a_refusal_says_in_plain_text_that_nothing_was_saved(door) -> None:
    door.asked_until_refused()
    assert door.text == SENTENCE
    assert door.text.startswith(
        b"Too many requests from this sign-in: wait a second and try again. Nothing of this one "
        b"was saved"
    )
    assert door.headers["Content-Type"] == "text/plain; charset=utf-8"
    assert door.headers["Content-Length"] == str(len(door.text))
    assert door.headers["Retry-After"] == "1"
    assert door.headers["Cache-Control"] == "no-store"


def test_the_log_is_told_of_a_flood_once_a_minute(door, caplog) -> None:
    known(door, "1a")

    def flooded() -> list:
        caplog.clear()
        with caplog.at_level(logging.WARNING, "gaiter.requests"):
            door.asked_until_refused(cookie="1a")
            for _again in range(50):
                door.ask(cookie="1a")
        return [(line.message, line.account) for line in caplog.records]

    assert flooded() == [("flood refused", 1)]
    door.clock.now += 59
    assert flooded() == []
    door.clock.now += 2
    assert flooded() == [("flood refused", 1)]


def test_a_flood_is_refused_before_the_session_is_looked_up(
    real_door, cookie_of, django_assert_num_queries
) -> None:
    cookie = cookie_of("bandager")
    known(real_door, cookie)
    real_door.asked_until_refused(cookie=cookie, path="/people/")
    with django_assert_num_queries(0):
        for _again in range(20):
            assert real_door.ask(cookie=cookie, path="/people/") == 429
    assert real_door.ask(cookie=cookie_of("prescriber"), path="/people/") == 200


def test_the_pages_tell_the_gate_whose_cookie_it_is(real_door, cookie_of, clinic) -> None:
    for role in ("bandager", "prescriber"):
        known(real_door, cookie_of(role))
    found = sorted(real_door.gate._known.values())
    assert found == sorted(clinic.accounts[role].pk for role in ("bandager", "prescriber"))
    real_door.ask(cookie="nobody's", path="/sign-in/")
    assert len(real_door.gate._known) == 2


def test_nothing_is_recorded_of_a_refused_form_and_all_of_it_when_it_comes_again(
    real_door, cookie_of, clinic
) -> None:
    cookie, token = cookie_of("bandager"), "t" * 32
    known(real_door, cookie)
    while real_door.gate._off.take(f"account {clinic.accounts['bandager'].pk}"):
        pass
    form = {
        "path": "/off/", "verb": "POST", "address": "192.0.2.1",
        "body": f"reference={clinic.episode.reference}&kind=taken_off&csrfmiddlewaretoken={token}"
        .encode(),
        "CONTENT_TYPE": "application/x-www-form-urlencoded",
        "HTTP_COOKIE": f"gaiter={cookie}; gaiter-form={token}",
    }  # fmt: skip
    assert real_door.ask(**form) == 429
    assert clinic.episode.events.count() == 0
    real_door.clock.now += 1
    assert real_door.ask(**form) == 302
    assert clinic.episode.events.count() == 1
