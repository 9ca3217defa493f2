"""Browsers in which somebody has signed in before: strangers cannot keep them out.

Wrong passwords from anywhere count against a name, so that it cannot be guessed from many places.
Anybody could use that to keep somebody out. So a browser that has signed in as a name once is
counted apart for it, by a signed cookie that says so and signs nobody in.
"""

import secrets
from typing import Any

from django.conf import settings
from django.core import signing
from django.http import HttpResponse

from gaiter.web.frame.request import ClinicRequest

_SALT = "gaiter.web.accounts.browser"
_LASTS_SECONDS = 180 * 24 * 3600
# A tablet of a ward is shared; the names before the last twelve are forgotten.
_MOST_NAMES = 12


def _held(request: ClinicRequest) -> dict[str, Any]:
    cookie = request.COOKIES.get(settings.GAITER_BROWSER_COOKIE, "")
    try:
        return dict(signing.loads(cookie, salt=_SALT, max_age=_LASTS_SECONDS))
    except (signing.BadSignature, ValueError, TypeError):
        return {"browser": secrets.token_hex(16), "names": []}


def known_as(request: ClinicRequest, username: str) -> str:
    """What a browser that knows a name is counted under; empty where it does not know it."""
    held = _held(request)
    return f"{held['browser']}:{username}" if username in held["names"] else ""


def remember(request: ClinicRequest, response: HttpResponse, username: str) -> None:
    """From now on this browser knows the name."""
    held = _held(request)
    names = [name for name in held["names"] if name != username]
    held["names"] = [*names, username][-_MOST_NAMES:]
    response.set_cookie(
        settings.GAITER_BROWSER_COOKIE,
        signing.dumps(held, salt=_SALT),
        max_age=_LASTS_SECONDS,
        secure=settings.GAITER.https,
        httponly=True,
        samesite="Lax",
    )
