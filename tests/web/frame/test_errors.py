"""Pages that say what went wrong: the right status, one sentence, nothing of what is there."""

import errno
import json

import pytest
from django.db import OperationalError, connection
from django.test import RequestFactory
from django.urls import reverse

from gaiter.records.actions.people import add_person
from gaiter.web.frame import context, errors


@pytest.fixture
def asked(clinic):
    """A request of somebody signed in, by its headers."""

    def request(**headers: str):
        made = RequestFactory().get("/", **headers)
        made.user = clinic.accounts["bandager"]
        made.session = {}
        return made

    return request


@pytest.mark.parametrize(
    ("page", "status", "words"),
    [
        (errors.not_found, 404, "There is no such page or record."),
        (errors.not_yours, 403, "Your role does not open this page."),
        (errors.too_much, 400, "at most 12 MB a file"),
        (errors.stale_form, 403, "what you typed is still there"),
        (errors.fault, 500, "look whether it was recorded"),
    ],
)
def test_a_problem_has_its_status_and_its_sentence(asked, page, status: int, words: str) -> None:
    answer = page(asked())
    assert answer.status_code == status
    assert words in answer.content.decode()


def test_a_fault_that_a_full_disk_caused_says_so(asked) -> None:
    try:
        raise OSError(errno.ENOSPC, "No space left on device")
    except OSError:
        answer = errors.fault(asked())
    assert answer.status_code == 503
    assert "disk is full: nothing of this was recorded" in answer.content.decode()


def test_the_page_of_a_fault_needs_no_database(asked, monkeypatch) -> None:
    def away() -> bool:
        raise OperationalError("the server closed the connection")

    request = asked()
    monkeypatch.setattr(context, "served_as_demonstration", away)
    answer = errors.fault(request)
    assert answer.status_code == 500
    assert "look whether it was recorded" in answer.content.decode()


def test_a_script_gets_the_sentence_as_json(asked) -> None:
    answer = errors.refused(asked(HTTP_ACCEPT="application/json"), "Too tight.", 400)
    assert answer.status_code == 400
    assert json.loads(answer.content) == {"problem": "Too tight."}


def test_a_wrong_verb_names_the_right_ones(asked) -> None:
    answer = errors.wrong_verb(asked(), ["GET", "POST"])
    assert (answer.status_code, answer["Allow"]) == (405, "GET, POST")


def test_a_name_moved_to_another_person_is_said_and_not_shown(clinic, signed_in) -> None:
    other = add_person(
        clinic.actor(), name="Bo Invented", birth_date=clinic.person.born, number="T-2"
    )
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE records_person SET name = (SELECT name FROM records_person WHERE id = %s) "
            "WHERE id = %s", [other.pk, clinic.person.pk],
        )  # fmt: skip
    browser = signed_in("bandager")
    for name, key in (("leg", clinic.episode.pk), ("person", clinic.person.pk), ("people", None)):
        answer = browser.get(reverse(name, args=[key] if key else []))
        assert answer.status_code == 500
        assert b"gaiter audit verify" in answer.content
        assert b"Bo Invented" not in answer.content
    assert browser.get(reverse("person", args=[other.pk])).status_code == 200
