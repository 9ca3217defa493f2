"""Health for whoever runs the server, and the policy for whoever answers for it."""

from django.db import DatabaseError, connection
from django.http import HttpResponse, JsonResponse

from gaiter import __version__
from gaiter.records.models import AuditEntry, Role
from gaiter.records.visit.case import local_catalogue, local_policy
from gaiter.web.frame.access import EVERYBODY, allow
from gaiter.web.frame.page import show
from gaiter.web.frame.pages import PolicyPage
from gaiter.web.frame.request import ClinicRequest


@allow(EVERYBODY, "GET", anonymous=True)
def health(request: ClinicRequest) -> HttpResponse:
    """Whether the database answers, and how long the audit log is."""
    try:
        last = AuditEntry.objects.order_by("-number").values_list("number", flat=True).first()
    except DatabaseError:
        return JsonResponse({"state": "database does not answer"}, status=503)
    return JsonResponse(
        {
            "state": "good",
            "version": __version__,
            "database": connection.vendor,
            "audit_entries": last or 0,
        }
    )


@allow(frozenset({Role.MANAGER, Role.PRESCRIBER}), "GET")
def policy(request: ClinicRequest) -> HttpResponse:
    """Every threshold in force with its source, and what the clinic changed."""
    return show(request, PolicyPage(local_policy(), local_catalogue().systems_changes))
