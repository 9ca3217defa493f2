"""Pages that say what went wrong: the right status, one sentence, nothing of what is there."""

import errno
import json

import pytest
from django.db import OperationalError
from django.test import RequestFactory

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
