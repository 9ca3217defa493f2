"""Room for long computing: so much at once in all, so much for one account, and not for ever.

Places are locked files in the clinic's folder, so that every process of the server counts the
same ones, and one that dies gives its places back.
"""

import fcntl
import os
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext, suppress
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
# Of one account, over all processes: five seconds of computing at once are a plan, its sheet and
# forty changes by hand. One that never rests has a quarter of the time after them, and the others
# have the rest. Our choice.
COMPUTING_AT_ONCE_S, COMPUTING_SHARE = 5.0, 0.25

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

    One that has computed without rest waits until some of its seconds have come back.

    Raises
    ------
    BusyError
        If none comes within the deadline.
    """
    until = time.monotonic() + DEADLINE_S
    while True:
        with _own_turn() as own, place("turn", TURNS if own else 0) as held:
            if held:
                began = time.monotonic()
                try:
                    yield
                finally:
                    _owed(time.monotonic() - began)
                return
        if time.monotonic() > until:
            raise BusyError(
                _("The clinic is computing for others: nothing was changed. Ask again in a minute.")
            )
        time.sleep(_ASK_AGAIN_S)


def _own_turn() -> AbstractContextManager[bool]:
    whose = _whose.get()
    if not whose:
        return nullcontext(True)
    # A place of none is never free.
    return place(_turn_of(whose), 1 if _rested(whose) else 0)


def _rested(whose: str) -> bool:
    """Whether an account still has seconds, by the time at which it will have all of them again.

    Its own turn's file carries that time as its own, so that all processes know it.
    """
    try:
        whole_again_s = _file(_turn_of(whose), 0).stat().st_mtime - time.time()
    except OSError:
        return True
    # A clock that went back a long way holds nobody up.
    return not COMPUTING_AT_ONCE_S < whole_again_s * COMPUTING_SHARE < 10 * COMPUTING_AT_ONCE_S


def _owed(seconds: float) -> None:
    """Counts what was computed, while the own turn is still held."""
    if whose := _whose.get():
        file = _file(_turn_of(whose), 0)
        with suppress(OSError):
            whole_again = max(file.stat().st_mtime, time.time()) + seconds / COMPUTING_SHARE
            os.utime(file, (whole_again, whole_again))


def _turn_of(whose: str) -> str:
    return f"turn-{whose}"


def _file(name: str, number: int) -> Path:
    return Path(settings.GAITER.folder) / "at-work" / f"{name}-{number}"


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
    for number in range(count):
        path = _file(name, number)
        try:
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            file = os.open(path, os.O_CREAT | os.O_RDWR, 0o600)
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
