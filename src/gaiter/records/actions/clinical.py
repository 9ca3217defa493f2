"""Who may write about a leg, whatever page or program asks."""

from django.utils.translation import gettext as _

from gaiter.records.ledger import Actor, NotAllowedError
from gaiter.records.models import Role


def require_clinical(actor: Actor) -> None:
    """Refuses whoever is neither a prescriber nor a bandager.

    Raises
    ------
    NotAllowedError
        Saying who may.
    """
    role = actor.account.role if actor.account else ""
    if role not in (Role.PRESCRIBER, Role.BANDAGER):
        raise NotAllowedError(_("Only clinical staff may write about a leg."))
