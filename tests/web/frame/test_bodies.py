"""What a request carries: other encodings are refused in words, a broken line is no fault."""

import pytest
from django.http import UnreadablePostError
from django.test import RequestFactory

from gaiter.web.frame.bodies import BodyMiddleware

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
