"""What a request carries: other encodings are refused in words, a broken line is no fault."""

from contextlib import ExitStack

import pytest
from django.http import UnreadablePostError
from django.test import Client, RequestFactory

from gaiter.web.frame.bodies import BODIES_OF_ONE, BodyMiddleware
from gaiter.web.frame.workload import place

_PART = '--edge\r\nContent-Disposition: form-data; name="words"\r\n\r\nTen.\r\n--edge--\r\n'
# Python knows codecs that are no text, that never decode, and that know no replacement.
_ENCODINGS = ("hex", "rot13", "idna", "punycode", "undefined", "utf-16", "nonsense", "latin-1")


@pytest.mark.parametrize("named", _ENCODINGS)
@pytest.mark.parametrize(
    ("kind", "body"),
    [("multipart/form-data; boundary=edge", _PART),
     ("application/x-www-form-urlencoded", "words=Ten.")],
)  # fmt: skip
def test_a_form_in_another_encoding_is_refused(nurse, kind, body, named) -> None:
    answer = nurse.generic("POST", "/off/", body, f"{kind}; charset={named}")
    assert answer.status_code == 415
    assert "takes text in UTF-8 only" in answer.content.decode()


@pytest.mark.parametrize("named", ["utf-8", "UTF-8", '"utf-8"'])
def test_a_form_that_says_it_is_utf8_is_read(nurse, clinic, named) -> None:
    kind = f"application/x-www-form-urlencoded; charset={named}"
    body = f"reference={clinic.episode.reference}&kind=taken_off"
    assert nurse.generic("POST", "/off/", body, kind).status_code == 302


def test_a_browser_that_went_away_while_it_sent_is_no_fault_of_the_program(clinic) -> None:
    request = RequestFactory().post("/off/")
    request.user = clinic.accounts["bandager"]
    frame = BodyMiddleware(lambda _request: None)
    answer = frame.process_exception(request, UnreadablePostError("reset"))
    assert answer.status_code == 400
    assert "did not arrive whole" in answer.content.decode()
    assert frame.process_exception(request, ValueError("ours")) is None


@pytest.fixture
def arriving(clinic):
    """So many forms of the bandager that have not arrived yet."""
    with ExitStack() as stack:

        def begin(count: int) -> None:
            for _one in range(count):
                whose = f"body-{clinic.accounts['bandager'].pk}"
                assert stack.enter_context(place(whose, BODIES_OF_ONE))

        yield begin


def test_one_account_has_four_forms_arriving_and_no_more(nurse, clinic, arriving) -> None:
    """Whoever sends a byte a minute holds a thread of the server for each form."""
    form = {"reference": clinic.episode.reference, "kind": "taken_off"}
    arriving(BODIES_OF_ONE - 1)
    assert nurse.post("/off/", form).status_code == 302
    arriving(1)
    answer = nurse.post("/off/", form, headers={"Accept": "application/json"})
    assert (answer.status_code, answer["Retry-After"]) == (429, "1")
    assert answer.json()["problem"].startswith("4 forms of yours are still arriving")
    assert clinic.episode.events.count() == 1


def test_others_send_while_one_account_is_full(signed_in, clinic, arriving) -> None:
    arriving(BODIES_OF_ONE)
    form = {"reference": clinic.episode.reference, "kind": "taken_off"}
    assert signed_in("learner").post("/off/", form).status_code == 302
    assert Client().post("/sign-in/", {"username": "a", "password": "b"}).status_code == 400


def test_a_page_is_read_while_forms_arrive(nurse, arriving) -> None:
    arriving(BODIES_OF_ONE)
    assert nurse.get("/people/").status_code == 200
