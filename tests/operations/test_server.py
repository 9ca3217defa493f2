"""The application that a server runs answers from its first request on."""

import io

import pytest


def asked(path: str, host: str = "localhost") -> tuple[str, dict[str, str], bytes]:
    """Status, headers and body of one request, as a server asks."""
    from gaiter.operations.server import application  # warms up when it is loaded

    told: dict = {}

    def start(status, headers, _fault=None):
        told.update(status=status, headers=dict(headers))

    environment = {
        "REQUEST_METHOD": "GET", "PATH_INFO": path, "SERVER_NAME": host, "SERVER_PORT": "80",
        "HTTP_HOST": host, "REMOTE_ADDR": "127.0.0.1", "wsgi.input": io.BytesIO(),
        "wsgi.errors": io.StringIO(), "wsgi.url_scheme": "http", "wsgi.version": (1, 0),
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
