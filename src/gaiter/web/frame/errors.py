"""Pages that say what went wrong, in one sentence, and lose nothing."""

import sys
from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils.translation import gettext as _

from gaiter.records.storage import is_full
from gaiter.web.frame.page import show
from gaiter.web.frame.pages import ProblemPage

# What the log looks for on an answer.
_REFUSED_BY = "refused_by"


def noted(response: HttpResponse, control: str) -> HttpResponse:
    """The same answer, which tells the log what control refused."""
    setattr(response, _REFUSED_BY, control)
    return response


def refused_by(response: HttpResponse) -> str:
    """What control refused; empty where none did. A page that says it beside its boxes: form."""
    usual = "form" if response.status_code >= HTTPStatus.BAD_REQUEST else ""
    return str(getattr(response, _REFUSED_BY, usual))


def by_script(request: HttpRequest) -> bool:
    """Whether a script asks, which reads JSON and shows no page."""
    return request.headers.get("Accept", "").startswith("application/json")


def _page(
    request: HttpRequest, status: int, title: str, sentence: str, control: str
) -> HttpResponse:
    if by_script(request):
        return noted(JsonResponse({"problem": sentence}, status=status), control)
    return noted(show(request, ProblemPage(title, sentence), status), control)


def not_found(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """No such page or record."""
    return _page(request, 404, _("Nothing here"), _("There is no such page or record."), "address")


def not_yours(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """A page of another role; it says nothing of what is there."""
    sentence = _("Your role does not open this page. Your own pages are in the bar above.")
    return _page(request, 403, _("Not for your role"), sentence, "role")


def refused(
    request: HttpRequest, sentence: str, status: int, control: str = "request"
) -> HttpResponse:
    """What was asked cannot be done; what was typed is one step back."""
    return _page(request, status, _("That was not recorded"), sentence, control)


def busy(request: HttpRequest, sentence: str) -> HttpResponse:
    """No room to compute now; a script asks again by itself."""
    response = _page(request, 429, _("One moment"), sentence, "workload")
    response["Retry-After"] = "1"
    return response


def too_much(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """A request that is too large or malformed."""
    sentence = _("More was sent than this page takes: at most 12 MB a file and 2 MB of text.")
    return _page(request, 400, _("That was not recorded"), sentence, "request")


def wrong_verb(request: HttpRequest, verbs: Sequence[str]) -> HttpResponse:
    """A page asked for in a way it does not know."""
    response = _page(
        request,
        405,
        _("Not like this"),
        _("This address does not take that kind of request."),
        "verb",
    )
    response["Allow"] = ", ".join(verbs)
    return response


def stale_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form from before the last sign-in."""
    sentence = _(
        "This form is from before you last signed in. Go one step back, load the page again and "
        "send it once more; what you typed is still there."
    )
    return _page(request, 403, _("An old form"), sentence, "token")


def full_disk(request: HttpRequest) -> HttpResponse:
    """Nothing can be recorded until somebody makes room; nothing was recorded by half."""
    sentence = _(
        "The server's disk is full: nothing of this was recorded, and what was recorded before can "
        "still be read. Write it on paper, and tell whoever runs the server to make room."
    )
    return _page(request, 503, _("That was not recorded"), sentence, "disk")


def changed_past_us(request: HttpRequest) -> HttpResponse:
    """A sealed value that does not open in its row."""
    sentence = _(
        "Part of this record does not open: it was changed or moved past the program, or its key "
        "is missing. Do not treat from it; tell whoever runs Gaiter to run `gaiter audit verify`."
    )
    return _page(request, 500, _("This record was changed"), sentence, "seal")


def fault(request: HttpRequest) -> HttpResponse:
    """A fault of the program, or a disk that is full."""
    if is_full(sys.exc_info()[1]):
        return full_disk(request)
    sentence = _(
        "Gaiter could not go on. Load the page again and look whether it was recorded; then tell "
        "whoever runs it the time on your clock, without any patient's name."
    )
    return _page(request, 500, _("A fault of the program"), sentence, "fault")
