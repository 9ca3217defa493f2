"""A request as views see it, after the frame has named who acts."""

from django.http import HttpRequest

from gaiter.records.ledger import Actor
from gaiter.records.models import Account


class ClinicRequest(HttpRequest):
    """A request with its actor; the middleware sets it. For types only."""

    actor: Actor
    user: Account
