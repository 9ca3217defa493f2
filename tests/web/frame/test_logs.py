"""What the logs may say: one JSON line an event, and nothing of a person."""

import io
import json
import logging
import sys

import pytest
from django.test import Client
from django.urls import reverse

from gaiter.web.frame.logs import JsonFormatter


@pytest.fixture
def written(monkeypatch):
    """Lines on standard error from here on, the last resort's included."""
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    for logger in (logging.getLogger(name) for name in ("", "gaiter", "django", "django.request")):
        for handler in logger.handlers:
            if type(handler) is logging.StreamHandler:
                monkeypatch.setattr(handler, "stream", stream)

    def lines() -> list[dict]:
        return [json.loads(line) for line in stream.getvalue().splitlines()]

    return lines


def test_a_request_names_its_route_and_no_patient(clinic, signed_in, written) -> None:
    client = signed_in("bandager")
    client.get(reverse("people"), {"find": "Ada Invented"})
    client.get(reverse("leg", args=[clinic.episode.pk]))
    assert [line["route"] for line in written()] == ["people/", "legs/<int:pk>/"]
    assert "Ada" not in json.dumps(written())


def test_what_is_not_there_is_no_fault(signed_in, written) -> None:
    signed_in("bandager").get("/legs/987654321/")
    signed_in("bandager").get("/Ada-Invented/")
    found = [(line["level"], line["route"], line["status"]) for line in written()]
    assert found == [("info", "legs/<int:pk>/", 404), ("info", "unknown", 404)]


def test_a_fault_says_its_kind_and_place_alone(clinic, signed_in, written, monkeypatch) -> None:
    def broken(*_given):
        raise ZeroDivisionError("Ada Invented, born 1950")

    client = signed_in("bandager")
    client.raise_request_exception = False
    monkeypatch.setattr("gaiter.web.today.views.caseload", broken)
    assert client.get(reverse("today")).status_code == 500
    faults = [line for line in written() if line["level"] == "error"]
    assert [line["error"] for line in faults] == ["ZeroDivisionError"]
    assert faults[0]["place"].startswith("broken:")
    assert faults[0]["route"] == ""
    assert "Ada" not in json.dumps(written())


def test_a_failed_sign_in_names_nobody(clinic, client, written) -> None:
    for _again in range(7):
        client.post(reverse("sign-in"), {"username": "nurse-invented", "password": "wrong words"})
    assert {line["logger"] for line in written()} == {"gaiter.requests"}
    assert "invented" not in json.dumps(written())


def test_no_logger_falls_back_to_plain_text(settings) -> None:
    assert all(logger["handlers"] for logger in settings.LOGGING["loggers"].values())


def test_words_of_another_library_are_left_out() -> None:
    record = logging.LogRecord(
        "gunicorn.error", logging.WARNING, "", 0, "Invalid request: Ada", None, None
    )
    line = json.loads(JsonFormatter().format(record))
    assert (line["event"], line["level"]) == ("gunicorn.error", "warning")
    assert "Ada" not in json.dumps(line)


def test_who_was_told_no_stands_in_the_log_with_page_and_account(
    clinic, signed_in, written
) -> None:
    signed_in("learner").get(reverse("leg", args=[clinic.episode.pk]))
    found = [(line["status"], line["route"], line["account"]) for line in written()]
    assert found == [(403, "legs/<int:pk>/", clinic.accounts["learner"].pk)]


def refusals(clinic, signed_in) -> None:
    """One of each control that somebody signed in may try to pass."""
    client = signed_in("learner")
    client.get(reverse("leg", args=[clinic.episode.pk]))
    client = signed_in("bandager")
    client.get("/legs/987654321/")
    client.post(reverse("today"))
    client.post(reverse("close-episode", args=[clinic.episode.pk]), {"outcome": "none of ours"})
    client.post(reverse("own"), {"unit": "furlongs"})
    line = {"path": "leg.girth_cm.ankle", "text": "-1", "base": 0}
    address = reverse("save-visit", args=[clinic.visit.pk])
    client.post(address, json.dumps({"entries": [line]}), "application/json")
    client.generic("POST", address, b"{}", "application/json; charset=rot13")
    client.get(reverse("lock"))
    client.post(address, "{}", "application/json", headers={"Accept": "application/json"})
    strict = Client(enforce_csrf_checks=True)
    strict.post(reverse("sign-in"), {"username": "x", "password": "y"})


def test_a_refusal_says_which_control_refused(clinic, signed_in, written) -> None:
    refusals(clinic, signed_in)
    found = [(line["status"], line.get("refused")) for line in written() if "status" in line]
    assert [one for one in found if one[0] >= 400 or one[1]] == [
        (403, "role"), (404, "address"), (405, "verb"), (400, "Input"), (400, "form"),
        (200, "box"), (415, "request"), (423, "lock"), (403, "token"),
    ]  # fmt: skip


def test_a_line_says_when_in_utc_where_by_whom_and_what(clinic, signed_in, written) -> None:
    signed_in("bandager").get(reverse("people"))
    (line,) = written()
    assert set(line) == {
        "at", "level", "logger", "event", "route", "method", "status", "ms", "account",
    }  # fmt: skip
    assert line["at"].startswith("2026-11-25T09:3")
    assert line["at"].endswith("+00:00")


def test_a_line_break_makes_no_second_line() -> None:
    record = logging.LogRecord("gaiter.requests", logging.INFO, "", 0, "request", None, None)
    record.route = 'people/\n{"level": "critical", "event": "forged"}'
    line = JsonFormatter().format(record)
    assert "\n" not in line
    assert json.loads(line)["route"] == record.route
