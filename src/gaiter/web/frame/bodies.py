"""What a request carries is UTF-8 and whole, before anything asks for its fields."""

import zlib
from collections.abc import Callable
from typing import Any

from django.core.handlers.wsgi import WSGIRequest
from django.http import HttpRequest, HttpResponse, UnreadablePostError
from django.utils.http import parse_header_parameters
from django.utils.translation import gettext as _

from gaiter.web.frame import errors
from gaiter.web.frame.address import address_of
from gaiter.web.frame.workload import place

# Of the threads of one process: whoever sends a byte a minute holds no more of them.
BODIES_OF_ONE = 4
# Visitors who have not signed in are told apart by their address, in so many groups.
_GROUPS = 64


class Utf8Request(WSGIRequest):
    """A request that is read as UTF-8, whatever its head says of its encoding.

    The framework reads the address in the encoding of the body while it makes the request, before
    anything of ours could answer what goes wrong there.
    """

    def _set_content_type_params(self, meta: dict[str, Any]) -> None:
        """The kind of the body; one that cannot be told is one that is refused."""
        try:
            kind, named = parse_header_parameters(meta.get("CONTENT_TYPE", ""))
        except (LookupError, ValueError):
            kind, named = "", {"charset": "unknown"}
        self.content_type, self.content_params = kind, named


class BodyMiddleware:
    """Refuses a form in another encoding, ahead of the form's token: reading it may be a fault."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Goes on."""
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, _view: Any, _args: Any, _kwargs: Any
    ) -> HttpResponse | None:
        """Status 415 for an encoding that no page of ours sends, 429 for one body too many."""
        # The name that browsers send, and the only one that the framework takes.
        if (request.content_params or {}).get("charset", "utf-8").lower() != "utf-8":
            return errors.refused(
                request, _("This address takes text in UTF-8 only: send it again as UTF-8."), 415
            )
        if request.method != "POST":
            return None
        with place(f"body-{_sender(request)}", BODIES_OF_ONE) as held:
            if not held:
                return errors.busy(
                    request,
                    _(
                        "{count} forms of yours are still arriving: wait for them, then send this "
                        "one once more."
                    ).format(count=BODIES_OF_ONE),
                )
            _arrived(request)
        return None

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """A browser that went away while it sent is no fault; nobody reads the answer."""
        if isinstance(error, UnreadablePostError):
            return errors.refused(
                request, _("What was sent did not arrive whole: send it once more."), 400
            )
        return None


def _sender(request: HttpRequest) -> str:
    if request.user.is_authenticated:
        return str(request.user.pk)
    return f"visitor-{zlib.crc32(address_of(request).encode()) % _GROUPS}"


def _arrived(request: HttpRequest) -> None:
    """Waits for the body; a line that breaks is told by the view that asks for it."""
    try:
        if request.content_type == "application/json":
            request.body  # noqa: B018 # read here, kept by the request
        else:
            request.POST  # noqa: B018 # as above, and files in the order in which they come
    except UnreadablePostError:
        return
