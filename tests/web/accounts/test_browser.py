"""A browser that knows a name: it says so by a signed cookie, which signs nobody in."""

from types import SimpleNamespace

import pytest
import time_machine
from django.core import signing
from django.http import HttpResponse
from django.urls import reverse

from gaiter.web.accounts.browser import known_as, remember

COOKIE = "gaiter-browser"


def asking(cookie: str = "") -> SimpleNamespace:
    return SimpleNamespace(COOKIES={COOKIE: cookie} if cookie else {})


def remembered(*names: str) -> str:
    cookie = ""
    for name in names:
        response = HttpResponse()
        remember(asking(cookie), response, name)
        cookie = response.cookies[COOKIE].value
    return cookie


def test_a_browser_knows_the_names_that_signed_in_on_it_and_no_others() -> None:
    cookie = remembered("rowan", "sedge")
    assert known_as(asking(cookie), "rowan").endswith(":rowan")
    assert known_as(asking(cookie), "sedge")
    assert known_as(asking(cookie), "mercer") == ""
    assert known_as(asking(), "rowan") == ""


def test_browsers_are_counted_apart() -> None:
    first, second = remembered("rowan"), remembered("rowan")
    assert known_as(asking(first), "rowan") != known_as(asking(second), "rowan")


def test_the_last_twelve_names_are_kept() -> None:
    cookie = remembered(*(f"name{number}" for number in range(13)))
    assert known_as(asking(cookie), "name0") == ""
    assert known_as(asking(cookie), "name1")
    assert known_as(asking(cookie), "name12")


@pytest.mark.parametrize("how", ["changed", "signed for something else", "of another form", "old"])
def test_a_cookie_that_is_not_ours_knows_nobody(how) -> None:
    cookie = remembered("rowan")
    if how == "changed":
        cookie = cookie[:-1] + ("A" if cookie[-1] != "A" else "B")
    elif how == "signed for something else":
        cookie = signing.dumps({"browser": "x", "names": ["rowan"]}, salt="another")
    elif how == "of another form":
        cookie = signing.dumps(["rowan"], salt="gaiter.web.accounts.browser")
    else:
        with time_machine.travel("2026-01-01T00:00:00Z"):
            cookie = remembered("rowan")
    assert known_as(asking(cookie), "rowan") == ""


def test_the_cookie_signs_nobody_in(clinic, client) -> None:
    client.cookies[COOKIE] = remembered("bandager")
    assert client.get(reverse("people"))["Location"].startswith("/sign-in/")


def test_no_script_reads_the_cookie() -> None:
    response = HttpResponse()
    remember(asking(), response, "rowan")
    assert response.cookies[COOKIE]["httponly"]
    assert response.cookies[COOKIE]["samesite"] == "Lax"
