"""The framework's session store: keys hashed, contents sealed, an end that nothing puts off.

Whoever reads the database finds neither a key that opens a session nor what a session carries.
"""

import hashlib
import json
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.base import CreateError, SessionBase, UpdateError
from django.db import IntegrityError, transaction
from django.utils import timezone

from gaiter.records.entrance.models import Session
from gaiter.records.entrance.session_key import new_key
from gaiter.records.sealing import SealError, open_bytes, seal_bytes

_PLACE = "session.content"


def hashed(key: str) -> str:
    """What the database keeps of a session's key."""
    return hashlib.sha256(key.encode()).hexdigest()


def sessions_of(account_id: int) -> list[Session]:
    """Browsers in which an account is signed in, the last one seen first."""
    live = Session.objects.filter(account_id=account_id, ends_at__gt=timezone.now())
    return list(live.order_by("-seen_at"))


def end_sessions(account_id: int) -> None:
    """Signs an account out of every browser."""
    Session.objects.filter(account_id=account_id).delete()


def end_session(pk: int) -> None:
    """Ends one session."""
    Session.objects.filter(pk=pk).delete()


def give_new_key(session: SessionBase) -> None:
    """The same session under another key; its end is not put off by that."""
    before = Session.objects.filter(key_hash=hashed(session.session_key or "")).first()
    session.cycle_key()
    if before is not None:
        held = Session.objects.filter(key_hash=hashed(session.session_key or ""))
        held.update(began_at=before.began_at, ends_at=before.ends_at)


class SessionStore(SessionBase):
    """One session; ``where`` in it is the address from which it was begun."""

    def load(self) -> dict[str, Any]:
        """What the session carries; nothing where it has ended."""
        now = timezone.now()
        row = Session.objects.filter(
            key_hash=hashed(self.session_key or ""), ends_at__gt=now
        ).first()
        # A clock that was put back opens no session again and makes none longer.
        if row is None or row.began_at > now + timedelta(minutes=1):
            self._session_key = None
            return {}
        try:
            found = json.loads(open_bytes(bytes(row.content), _PLACE))
        except (SealError, ValueError):
            self._session_key = None
            return {}
        return dict(found)

    def exists(self, session_key: str) -> bool:
        """Whether a session has this key."""
        return Session.objects.filter(key_hash=hashed(session_key)).exists()

    def create(self) -> None:
        """A session with a new key."""
        self._session_key = new_key()
        self.save(must_create=True)
        self.modified = True

    def save(self, must_create: bool = False) -> None:
        """Keeps what the session carries.

        Raises
        ------
        UpdateError
            If it was ended meanwhile: a request that was under way does not bring it back.
        """
        if self.session_key is None:
            self.create()
            return
        carried = self._get_session(no_load=must_create)  # type: ignore[attr-defined] # the framework's own, which its stubs lack
        account = carried.get(SESSION_KEY)
        said = {
            "content": seal_bytes(json.dumps(carried).encode(), _PLACE),
            "account_id": int(account) if account else None,
            "seen_at": timezone.now(),
            "where": str(carried.get("where", ""))[:60],
        }
        key_hash = hashed(self.session_key)
        if not must_create:
            if not Session.objects.filter(key_hash=key_hash).update(**said):
                raise UpdateError
            return
        now = timezone.now()
        Session.objects.filter(ends_at__lte=now).delete()
        ends = now + timedelta(seconds=settings.SESSION_COOKIE_AGE)
        try:
            with transaction.atomic():
                Session.objects.create(key_hash=key_hash, began_at=now, ends_at=ends, **said)
        except IntegrityError:
            raise CreateError from None

    def delete(self, session_key: str | None = None) -> None:
        """Ends a session."""
        key = session_key or self.session_key
        if key:
            Session.objects.filter(key_hash=hashed(key)).delete()

    @classmethod
    def clear_expired(cls) -> None:
        """Forgets what has ended."""
        Session.objects.filter(ends_at__lte=timezone.now()).delete()
