"""Wrong tries, counted apart by where they come from and whom they are aimed at.

A try is counted before it is judged, so that many at once are no more than many in a row; a right
one is taken back. What is counted is kept as a keyed fingerprint: no name that was typed, which
may be a password in the wrong box, lies in the database.
"""

from datetime import datetime, timedelta
from enum import Enum
from math import ceil

from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.entrance.models import Tries
from gaiter.records.sealing import keyed

WINDOW = timedelta(minutes=15)


class Kind(Enum):
    """What is counted; the value is how many wrong tries a window takes. The numbers are ours."""

    ADDRESS = 20
    NAME = 5
    BROWSER = 10
    SESSION = 8
    FACTOR = 7
    OUTSIDE = 10


class TooManyTriesError(InputError):
    """Too many wrong tries; nothing was judged.

    Attributes
    ----------
    minutes : int
        Until the next try counts.
    """

    def __init__(self, minutes: int) -> None:
        self.minutes = minutes
        super().__init__(
            _("Too many wrong tries: wait %(minutes)d minutes and try again.")
            % {"minutes": minutes}
        )


def _fingerprint(kind: Kind, whose: str) -> str:
    return keyed(f"{kind.name}:{whose}", "tries")


def count_try(kind: Kind, whose: str) -> None:
    """Counts a try before it is judged.

    Raises
    ------
    TooManyTriesError
        If this window took as many as it takes.
    """
    now = timezone.now()
    fingerprint = _fingerprint(kind, whose)
    with transaction.atomic():
        Tries.objects.get_or_create(fingerprint=fingerprint, defaults={"since": now})
        row = Tries.objects.select_for_update().get(fingerprint=fingerprint)
        if now - row.since >= WINDOW:
            row.count, row.since = 0, now
        too_many = row.count >= kind.value
        if not too_many:
            row.count += 1
            row.save()
    if too_many:
        raise TooManyTriesError(_minutes(row.since, now))


def _minutes(since: datetime, now: datetime) -> int:
    return max(1, ceil((since + WINDOW - now) / timedelta(minutes=1)))


def take_back(kind: Kind, whose: str) -> None:
    """A try that was right does not count."""
    held = Tries.objects.filter(fingerprint=_fingerprint(kind, whose), count__gt=0)
    held.update(count=F("count") - 1)


def forget(kind: Kind, whose: str) -> None:
    """After a right try the wrong ones before it do not count either; old ones of all go."""
    Tries.objects.filter(fingerprint=_fingerprint(kind, whose)).delete()
    Tries.objects.filter(since__lt=timezone.now() - 2 * WINDOW).delete()
