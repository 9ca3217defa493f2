"""Only verbs that a view declares reach it; every other is answered before anything runs."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse

from gaiter.web.frame import errors


class VerbMiddleware:
    """Refuses what a view does not declare, ahead of the form's token, the session and the role."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answers HEAD as GET without its content: no view can take the one for a third thing."""
        if request.method != "HEAD":
            return self.get_response(request)
        request.method = "GET"
        try:
            response = self.get_response(request)
        finally:
            request.method = "HEAD"
        if isinstance(response, StreamingHttpResponse):
            response.streaming_content = []
        else:
            response.setdefault("Content-Length", str(len(response.content)))
            response.content = b""
        return response

    def process_view(
        self, request: HttpRequest, view: Any, _args: Any, _kwargs: Any
    ) -> HttpResponse | None:
        """Status 405 with the verbs that are declared; None goes on."""
        access = getattr(view, "access", None)
        if access is None or request.method in access.verbs:
            return None
        head = ["HEAD"] if "GET" in access.verbs else []
        return errors.wrong_verb(request, [*access.verbs, *head])
