"""Room for long computing: so much at once in all, so much for one account, and not for ever.

Places are locked files in the clinic's folder, so that every process of the server counts the
same ones, and one that dies gives its places back.
"""

import fcntl
import os
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from contextvars import ContextVar
from functools import wraps
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpResponse
from django.utils.translation import gettext as _

from gaiter.web.frame.request import ClinicRequest

# One that is answered and two that wait: more is no person at a screen.
PLACES_OF_ONE = 3
# As many at once as there are processors; whoever waits longer for a turn is told so.
TURNS = os.cpu_count() or 1
DEADLINE_S = 20.0
_ASK_AGAIN_S = 0.02

View = Callable[..., HttpResponse]
# For whom this thread computes; empty outside of a request, which waits for nobody of its own.
_whose: ContextVar[str] = ContextVar("whose", default="")


class BusyError(Exception):
    """There is no room for another computing; ``words`` say so in the language of whoever asked."""

    def __init__(self, words: str) -> None:
        self.words = words
        super().__init__(words)


def computes(view: View) -> View:
    """Declares that a view computes; one account has so many of them under way and no more."""

    @wraps(view)
    def inner(request: ClinicRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        with place(f"account-{request.user.pk}", PLACES_OF_ONE) as held:
            if not held:
                raise BusyError(
                    _(
                        "{count} answers are being computed for you already: wait for them, then "
                        "ask again."
                    ).format(count=PLACES_OF_ONE)
                )
            before = _whose.set(str(request.user.pk))
            try:
                return view(request, *args, **kwargs)
            finally:
                _whose.reset(before)

    return inner


@contextmanager
def turn() -> Iterator[None]:
    """Waits for a turn at computing; an account has one at a time, however many are free.

    Raises
    ------
    BusyError
        If none comes within the deadline.
    """
    until = time.monotonic() + DEADLINE_S
    while True:
        with _own_turn() as own, place("turn", TURNS if own else 0) as held:
            if held:
                yield
                return
        if time.monotonic() > until:
            raise BusyError(
                _("The clinic is computing for others: nothing was changed. Ask again in a minute.")
            )
        time.sleep(_ASK_AGAIN_S)


def _own_turn() -> AbstractContextManager[bool]:
    whose = _whose.get()
    return place(f"turn-{whose}", 1) if whose else nullcontext(True)


@contextmanager
def place(name: str, count: int) -> Iterator[bool]:
    """One of so many places of a name, if any is free; it says whether one was.

    Parameters
    ----------
    name : str
        Whose places they are; a part of the name of a file.
    count : int
        How many there are.
    """
    folder = Path(settings.GAITER.folder) / "at-work"
    for number in range(count):
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            file = os.open(folder / f"{name}-{number}", os.O_CREAT | os.O_RDWR, 0o600)
        except OSError:
            # On a full disk pages are still read: better without limits than not at all.
            yield True
            return
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(file)
            continue
        try:
            yield True
        finally:
            os.close(file)
        return
    yield False
