"""What a request carries is UTF-8 and whole, before anything asks for its fields."""

from collections.abc import Callable
from typing import Any

from django.core.handlers.wsgi import WSGIRequest
from django.http import HttpRequest, HttpResponse, UnreadablePostError
from django.utils.http import parse_header_parameters
from django.utils.translation import gettext as _

from gaiter.web.frame import errors


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
        """Status 415 for an encoding that no page of ours sends; None goes on."""
        # The name that browsers send, and the only one that the framework takes.
        if (request.content_params or {}).get("charset", "utf-8").lower() == "utf-8":
            return None
        return errors.refused(
            request, _("This address takes text in UTF-8 only: send it again as UTF-8."), 415
        )

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """A browser that went away while it sent is no fault; nobody reads the answer."""
        if isinstance(error, UnreadablePostError):
            return errors.refused(
                request, _("What was sent did not arrive whole: send it once more."), 400
            )
        return None
