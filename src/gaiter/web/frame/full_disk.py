"""A full disk: what only reads is still answered, and what writes is refused in one sentence."""

import logging
from collections.abc import Callable

from django.contrib.sessions import middleware
from django.contrib.sessions.exceptions import SessionInterrupted
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse

from gaiter.records.storage import is_full
from gaiter.web.frame import errors

_LOG = logging.getLogger("gaiter.disk")
_READS = ("GET", "HEAD")


class SessionMiddleware(middleware.SessionMiddleware):
    """The framework's, but a page that was only read is not lost with its session's clock."""

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        """The answer; what a form did to the session still has to be kept, or is a fault."""
        try:
            return super().process_response(request, response)
        except (DatabaseError, SessionInterrupted) as error:
            # The latter is what the framework takes any fault of saving for.
            if request.method not in _READS or not is_full(error):
                raise
            _LOG.error("disk full")
            return response


class FullDiskMiddleware:
    """Answers a write that the disk had no room for."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Passes the request on."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """The sentence, where the disk is why a view could not go on."""
        if not is_full(error):
            return None
        _LOG.error("disk full")
        return errors.full_disk(request)
