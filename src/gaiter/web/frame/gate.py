"""Refuses a flood before anything is spent on it: no database, no session, no page.

The gate stands before the framework. It cannot look a session up, so it learns from what the
framework answers which cookie belongs to which account; until then one that the clinic gave, which
its key proves, counts for itself. An invented one counts on the address from which it comes.
"""

import hashlib
import logging
import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Iterable
from typing import Any

from django.conf import settings
from django.http.cookie import parse_cookie

from gaiter.records.entrance.networks import network_of
from gaiter.records.entrance.session_key import is_given
from gaiter.web.frame.address import address_in
from gaiter.web.frame.allowance import REMEMBERED, Allowance

# All of these are our choice, and hold for each process of the server apart.
# Of one account: a hand that moves a slider without rest makes about ten a second, and goes on so
# for eleven seconds; the fastest typist makes four (a save every half a second, and the part that
# follows it), for more than a minute. Beyond that the pages ask again by themselves.
ACCOUNT_A_SECOND, ACCOUNT_AT_ONCE = 3.0, 80.0
# Of one address, for visitors who are not known: everybody of a clinic may come from one. Signing
# in takes about five with its styles and scripts, so sixty people at once and two a second after.
ADDRESS_A_SECOND, ADDRESS_AT_ONCE = 10.0, 300.0
# Of a session that this process has not answered yet; its first page makes it the account's.
NEW_A_SECOND, NEW_AT_ONCE = 1.0, 30.0
# Recording that a bandage is loosened or off has its own, whatever else the account or the address
# asks: one a second is more than anybody can type.
OFF_A_SECOND, OFF_AT_ONCE = 1.0, 30.0
OFF_PATH = "/off/"
# A style, script or font is read from memory; a page brings about twenty of them.
STATIC_COST = 0.1
# A flood is told to the log once a minute, not once a request.
_TELL_EVERY_S = 60.0

# Under this name a request tells the gate whose it was, once the framework knows.
ACCOUNT = "gaiter.account"
RETRY_AFTER_S = 1
SENTENCE = (
    b"Too many requests from this sign-in: wait a second and try again. Nothing of this one was "
    b"saved; loading this page again sends it once more.\n"
)
STATUS = "429 Too Many Requests"
HEADERS = (
    ("Content-Type", "text/plain; charset=utf-8"),
    ("Content-Length", str(len(SENTENCE))),
    ("Retry-After", str(RETRY_AFTER_S)),
    ("Cache-Control", "no-store"),
    ("X-Content-Type-Options", "nosniff"),
    ("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'"),
)

_LOG = logging.getLogger("gaiter.requests")
Head = dict[str, Any]
Start = Callable[..., Any]
Application = Callable[[Head, Start], Iterable[bytes]]


class Gate:
    """An application behind a gate; both are asked as a server asks (PEP 3333)."""

    def __init__(
        self, application: Application, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.application, self._clock = application, clock
        self._accounts = Allowance(ACCOUNT_A_SECOND, ACCOUNT_AT_ONCE, clock=clock)
        self._addresses = Allowance(ADDRESS_A_SECOND, ADDRESS_AT_ONCE, clock=clock)
        self._new = Allowance(NEW_A_SECOND, NEW_AT_ONCE, clock=clock)
        self._off = Allowance(OFF_A_SECOND, OFF_AT_ONCE, clock=clock)
        self._lock, self._secret = threading.Lock(), secrets.token_bytes(32)
        # Only sessions that the framework found signed in: nobody can fill it by inventing any.
        self._known: OrderedDict[bytes, int] = OrderedDict()
        self._told: OrderedDict[str, float] = OrderedDict()

    def __call__(self, head: Head, start: Start) -> Iterable[bytes]:
        """The application's answer, or the refusal."""
        if self.refuses(head):
            start(STATUS, list(HEADERS))
            return [SENTENCE]
        return self.passed(head, start)

    def refuses(self, head: Head) -> bool:
        """Whether this request is one too many; one that is not counts."""
        path, cookie = str(head.get("PATH_INFO", "")), _cookie(head)
        account = self._known.get(self._fingerprint(cookie))
        if account is not None:
            name, allowance = f"account {account}", self._accounts
        elif is_given(cookie):
            name, allowance = f"session {self._fingerprint(cookie).hex()}", self._new
        else:
            name, allowance = network_of(address_in(head)), self._addresses
        if path == OFF_PATH:
            allowance = self._off
        static = path.startswith(f"/{settings.STATIC_URL.strip('/')}/")
        if allowance.take(name, STATIC_COST if static else 1.0):
            return False
        self._tell(name, account)
        return True

    def passed(self, head: Head, start: Start) -> Iterable[bytes]:
        """The application's answer, and what it tells of whose cookie this is."""
        answer = self.application(head, start)
        if ACCOUNT in head:
            cookie = self._fingerprint(_cookie(head))
            account = head[ACCOUNT]
            with self._lock:
                self._known.pop(cookie, None)
                if account is not None:
                    self._known[cookie] = account
                while len(self._known) > REMEMBERED:
                    self._known.popitem(last=False)
        return answer

    def _fingerprint(self, cookie: str) -> bytes:
        """The cookie itself is kept nowhere."""
        said = cookie.encode(errors="surrogatepass")
        return hashlib.blake2b(said, key=self._secret, digest_size=16).digest()

    def _tell(self, name: str, account: int | None) -> None:
        now = self._clock()
        with self._lock:
            if now - self._told.get(name, -_TELL_EVERY_S) < _TELL_EVERY_S:
                return
            self._told[name] = now
            self._told.move_to_end(name)
            while len(self._told) > REMEMBERED:
                self._told.popitem(last=False)
        _LOG.warning("flood refused", extra={"status": 429, "account": account})


def _cookie(head: Head) -> str:
    """The session's, read in the framework's own way: of two with one name both take the same."""
    said = parse_cookie(str(head.get("HTTP_COOKIE", "")))
    return said.get(settings.SESSION_COOKIE_NAME, "")
