"""What is signed or closed is not written into: what comes later is an entry of its own."""

from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.models import Episode, Visit


def require_open(episode: Episode) -> None:
    """Refuses what would be written into a closed episode.

    Raises
    ------
    InputError
        Saying what to do instead.
    """
    if episode.closed_on is not None:
        raise InputError(_("This episode is closed: open a new one for this leg."))


def require_unsigned(visit: Visit) -> None:
    """Refuses what would be written under a signature, or into a closed episode.

    Raises
    ------
    InputError
        Saying what to do instead.
    """
    require_open(visit.episode)
    if visit.signed_at is not None:
        raise InputError(_("This visit was signed already: open a new one and look at the leg."))
