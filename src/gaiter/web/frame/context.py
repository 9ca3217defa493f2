"""What every template knows."""

import uuid
from typing import Any

from django.conf import settings
from django.db import DatabaseError
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from gaiter import __version__
from gaiter.records.demonstration import served_as_demonstration
from gaiter.records.models import Role

_ENTRIES = (
    ("today", _("Today"), {Role.PRESCRIBER, Role.BANDAGER}),
    ("people", _("People"), {Role.PRESCRIBER, Role.BANDAGER}),
    ("orders", _("Standing orders"), {Role.PRESCRIBER, Role.BANDAGER}),
    ("practice", _("Practice"), {Role.LEARNER, Role.PRESCRIBER, Role.BANDAGER}),
    ("technique", _("Technique"), {Role.LEARNER, Role.PRESCRIBER, Role.BANDAGER}),
    ("stock", _("Stock"), {Role.MANAGER, Role.PRESCRIBER, Role.BANDAGER}),
    ("accounts", _("Accounts"), {Role.MANAGER}),
    ("policy", _("Policy"), {Role.MANAGER, Role.PRESCRIBER}),
    ("off", _("Loosened or off"), set(Role)),
)


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
        "menu": [(name, title) for name, title, roles in _ENTRIES if role in roles],
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
