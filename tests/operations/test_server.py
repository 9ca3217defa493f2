"""The application that a server runs answers from its first request on."""

import io
import os
import subprocess
import sys

import pytest


def asked(path: str, host: str = "localhost", **more: str) -> tuple[str, dict[str, str], bytes]:
    """Status, headers and body of one request, as a server asks."""
    from gaiter.operations.server import application  # warms up when it is loaded

    told: dict = {}

    def start(status, headers, _fault=None):
        told.update(status=status, headers=dict(headers))

    environment = {
        "REQUEST_METHOD": "GET", "PATH_INFO": path, "SERVER_NAME": host, "SERVER_PORT": "80",
        "HTTP_HOST": host, "REMOTE_ADDR": "127.0.0.1", "wsgi.input": io.BytesIO(),
        "wsgi.errors": io.StringIO(), "wsgi.url_scheme": "http", "wsgi.version": (1, 0),
        **more,
    }  # fmt: skip
    body = b"".join(application(environment, start))
    return told["status"], told["headers"], body


@pytest.mark.django_db
def test_a_visitor_is_sent_to_sign_in() -> None:
    status, headers, _body = asked("/")
    assert status.startswith("302")
    assert headers["Location"].startswith("/sign-in/")
    status, headers, body = asked("/sign-in/")
    assert status.startswith("200")
    assert b"<form" in body
    assert "default-src 'none'" in headers["Content-Security-Policy"]


@pytest.mark.django_db
def test_another_host_is_refused() -> None:
    assert asked("/", "elsewhere.example")[0].startswith("400")


def test_what_the_first_visitor_would_wait_for_is_there(monkeypatch) -> None:
    from django.urls import get_resolver

    from gaiter.core.spread import sums
    from gaiter.operations import server
    from gaiter.records.visit.case import local_policy

    local_policy.cache_clear()
    threads = []
    monkeypatch.setattr(sums, "load", lambda threads_=None, **given: threads.append(given))
    server._warm_up()
    assert threads == [{"threads": 1}]
    assert local_policy.cache_info().currsize == 1
    assert "url_patterns" in vars(get_resolver())


@pytest.mark.django_db
@pytest.mark.parametrize(
    "kind",
    [
        *(f"text/plain; charset={name}" for name in ("rot13", "hex", "undefined", "utf-7")),
        "text/plain; charset*=nonsense''a", "a; b*=\x00''c",
    ],
)  # fmt: skip
def test_an_encoding_that_reads_nothing_is_no_fault_before_any_page(kind) -> None:
    """The query was read in the encoding of the body, before anything could answer a fault."""
    status, _headers, body = asked("/sign-in/", CONTENT_TYPE=kind, QUERY_STRING="next=%2F")
    assert status.startswith("415")
    assert b"takes text in UTF-8 only" in body


@pytest.mark.django_db
def test_more_fields_in_an_address_than_any_page_has_are_refused_in_words() -> None:
    query = "&".join(["find=a"] * 600)
    for kind in ("", "text/plain; charset=utf-8"):
        status, _headers, body = asked("/sign-in/", CONTENT_TYPE=kind, QUERY_STRING=query)
        assert status.startswith("400")
        assert b"More was sent than this page takes" in body


def test_a_server_loads_it_by_itself(tmp_path) -> None:
    """In a process where nothing is set up yet, as the server's own is."""
    made = subprocess.run(
        [sys.executable, "-c", "import gaiter.operations.server as s; print(s.application)"],
        env={**os.environ, "GAITER_DATA": str(tmp_path)}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert (made.returncode, made.stderr) == (0, "")
