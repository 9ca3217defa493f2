"""Structured logs: one JSON line an event, never a name, a number or a value of a patient.

What another library wrote is never repeated, since it may quote a request: its logger's name,
the kind of a fault and its place are all that is kept.
"""

import json
import logging
import time
from collections.abc import Callable
from datetime import UTC, datetime

from django.http import HttpRequest, HttpResponse

from gaiter.web.frame.errors import refused_by

_LOG = logging.getLogger("gaiter.requests")
_KEPT = ("route", "method", "status", "ms", "account", "refused")
_OURS = "gaiter"


class JsonFormatter(logging.Formatter):
    """One line of JSON; of an exception its kind and place only, since its text may quote."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        line = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "event": record.msg if record.name.split(".")[0] == _OURS else record.name,
        }
        line |= {name: getattr(record, name) for name in _KEPT if hasattr(record, name)}
        if isinstance(request := getattr(record, "request", None), HttpRequest):
            line["route"] = _route(request)
        if record.exc_info and record.exc_info[0] is not None:
            frame = record.exc_info[2]
            while frame is not None and frame.tb_next is not None:
                frame = frame.tb_next
            line["error"] = record.exc_info[0].__name__
            if frame is not None:
                line["place"] = f"{frame.tb_frame.f_code.co_name}:{frame.tb_lineno}"
        return json.dumps(line)


class RequestLogMiddleware:
    """One line for every request, by the pattern of its address."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Passes the request on and notes how long it took."""
        started = time.perf_counter()
        response = self.get_response(request)
        account = getattr(request, "user", None)
        _LOG.info(
            "request",
            extra=_refusal(response)
            | {
                "route": _route(request),
                "method": request.method,
                "status": response.status_code,
                "ms": round(1000 * (time.perf_counter() - started), 1),
                "account": getattr(account, "pk", None),
            },
        )
        return response


def _refusal(response: HttpResponse) -> dict[str, str]:
    control = refused_by(response)
    return {"refused": control} if control else {}


def _route(request: HttpRequest) -> str:
    """The pattern of an address; what was asked for instead may be a name or a link."""
    match = request.resolver_match
    return match.route if match else "unknown"
