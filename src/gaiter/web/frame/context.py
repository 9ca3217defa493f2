"""What every template knows."""

import uuid
from typing import Any

from django.conf import settings
from django.db import DatabaseError
from django.http import HttpRequest

from gaiter import __version__
from gaiter.records.demonstration import served_as_demonstration
from gaiter.records.models import Role
from gaiter.web.frame.menu import menu_of


def site(request: HttpRequest) -> dict[str, Any]:
    """Clinic, menu of the role, unit, and a fresh token that lets a form count once."""
    account = getattr(request, "user", None)
    role = getattr(account, "role", None)
    return {
        "user": account,
        "demo": _demonstration,
        "clinic": settings.GAITER.clinic,
        "clinic_phone": settings.GAITER.phone,
        "version": __version__,
        "menu": menu_of(role),
        "unit": getattr(account, "unit", "cm"),
        "idle_seconds": 60 * settings.GAITER.idle_minutes,
        "once": uuid.uuid4().hex,
        "is_prescriber": role == Role.PRESCRIBER,
        "may_answer_alarm": role in (Role.PRESCRIBER, Role.BANDAGER),
    }


def _demonstration() -> bool:
    """Whether a page has to say so; the page that says that the database is away needs none."""
    try:
        return served_as_demonstration()
    except DatabaseError:
        return False
