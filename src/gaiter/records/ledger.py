"""The one way to write: an action is one transaction with its rows and its audit entry."""

import hashlib
import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeVar

from django.db import connection, models, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.sealing import SealedBytes, SealedText, seal

FIRST_HASH = "0" * 64
# Any number that no other program takes as an advisory lock on this database.
_CHAIN_LOCK = 7_203_411
# What a form of ours carries: hexadecimal digits, and after them what it does and to which row.
_TOKEN = re.compile(r"[A-Za-z0-9_-]{1,64}")
_writing: ContextVar[bool] = ContextVar("writing", default=False)

RowT = TypeVar("RowT", bound=models.Model)


class AlreadyDoneError(InputError):
    """The same form was sent twice; the first time counted."""


class NotAllowedError(InputError):
    """Who asks may not do this; says who may."""


def local_day(at: datetime) -> date:
    """Day of a moment, by the clinic's clock."""
    return timezone.localtime(at).date()


@dataclass(frozen=True)
class Actor:
    """Who acts and from where; ``at`` is set only for invented histories."""

    account: Any
    where: str = ""
    at: datetime | None = None

    @property
    def now(self) -> datetime:
        """Time of the action."""
        return self.at or timezone.now()

    @property
    def today(self) -> date:
        """Day of the action, by the clinic's clock."""
        return local_day(self.now)


class Row(models.Model):
    """A row that only an action writes."""

    class Meta:
        """The framework's own."""

        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Refuses outside an action."""
        if not _writing.get():
            raise RuntimeError(f"{type(self).__name__} is written outside an action")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> Any:
        """Refuses: what was recorded stays."""
        raise RuntimeError(f"a {type(self).__name__} is never deleted")


class Action:
    """Writes rows and notes before and after of each."""

    def __init__(self, actor: Actor, verb: str, subject: str, once: str | None) -> None:
        self.actor, self.verb, self.subject, self.once = actor, verb, subject, once
        self.at = actor.now
        self._changes: list[dict[str, Any]] = []

    def create(self, model: type[RowT], **fields: Any) -> RowT:
        """A new row."""
        row = model(**fields)
        row.save(force_insert=True)
        self._changes.append({"row": _name(row), "after": _values(row)})
        return row

    def change(self, row: RowT, **fields: Any) -> RowT:
        """A row with some fields changed; nothing happens where nothing differs."""
        before = _values(row, fields)
        for name, value in fields.items():
            setattr(row, name, value)
        row.save(update_fields=list(fields))
        self._changes.append({"row": _name(row), "before": before, "after": _values(row, fields)})
        return row

    def note(self, **facts: Any) -> None:
        """A fact about the action that no row holds."""
        self._changes.append(facts)

    def entry(self, previous: Any) -> Any:
        """The audit entry, chained to the one before it."""
        from gaiter.records.models import AuditEntry  # noqa: PLC0415 # models build on this module

        account = self.actor.account
        entry = AuditEntry(
            number=previous.number + 1 if previous else 1,
            at=self.at,
            account_id=account.pk if account else None,
            who=account.username if account else "",
            role=account.role if account else "",
            where=self.actor.where,
            verb=self.verb,
            subject=self.subject,
            changes=json.dumps(self._changes, ensure_ascii=False, sort_keys=True),
            once=self.once,
            previous=previous.hash if previous else FIRST_HASH,
        )
        entry.hash = entry_hash(entry)
        return entry


def entry_hash(entry: Any) -> str:
    """SHA-256 over everything an audit entry says, the hash before it included."""
    said = {
        name: getattr(entry, name)
        for name in ("number", "account_id", "who", "role", "where", "verb", "subject", "changes",
                     "once", "previous")
    }  # fmt: skip
    said["at"] = entry.at.isoformat(timespec="microseconds")
    text = json.dumps(said, ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


@contextmanager
def action(
    actor: Actor, verb: str, subject: models.Model | str = "", once: str | None = None
) -> Iterator[Action]:
    """One action: everything in it is written with its audit entry, or nothing is.

    Parameters
    ----------
    actor : Actor
        Who acts and from where.
    verb : str
        What is done, in a few words.
    subject : Model or str
        What it is done to.
    once : str or None
        Token of the form; the same token a second time is refused.

    Raises
    ------
    AlreadyDoneError
        If a form with this token was taken already.
    InputError
        If the token is none that a form of ours has.
    """
    from gaiter.records.models import AuditEntry  # noqa: PLC0415 # models build on this module

    name = subject if isinstance(subject, str) else _name(subject)
    if once and not _TOKEN.fullmatch(once):
        raise InputError(_("This form is older than the program: load the page again."))
    with transaction.atomic():
        if connection.vendor == "postgresql":
            # SQLite's IMMEDIATE transaction lets one writer in; here the chain needs a lock.
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_CHAIN_LOCK])
        if once and AuditEntry.objects.filter(once=once).exists():
            raise AlreadyDoneError(_("This was recorded already: the form had been sent twice."))
        act = Action(actor, verb, name, once or None)
        token = _writing.set(True)
        try:
            yield act
            act.entry(AuditEntry.objects.order_by("-number").first()).save(force_insert=True)
        finally:
            _writing.reset(token)


def note_opening(actor: Actor, verb: str, subject: models.Model) -> None:
    """Records that somebody opened or took out a record; nothing else is written."""
    with action(actor, verb, subject):
        pass


def _name(row: models.Model) -> str:
    return f"{row._meta.model_name}:{row.pk}"


def _values(row: models.Model, names: Any = None) -> dict[str, Any]:
    """Values of a row as the audit keeps them: sealed ones sealed, files by their hash."""
    values = {}
    for field in row._meta.concrete_fields:
        if names is not None and field.name not in names and field.attname not in names:
            continue
        value = getattr(row, field.attname)
        if value is None:
            pass
        elif isinstance(field, SealedText):
            value = {"sealed": seal(str(value), f"audit.{field.place}")}
        elif isinstance(field, SealedBytes):
            value = {"sha256": hashlib.sha256(bytes(value)).hexdigest()}
        elif field.name == "password":
            value = "set"
        elif isinstance(value, date | datetime):
            value = value.isoformat()
        elif not isinstance(value, str | int | float | bool):
            value = str(value)
        values[field.attname] = value
    return values


def broken_at() -> int | None:
    """Number of the first audit entry that does not follow from the one before; None if whole."""
    from gaiter.records.models import AuditEntry  # noqa: PLC0415 # models build on this module

    previous = FIRST_HASH
    entries = AuditEntry.objects.order_by("number").iterator(chunk_size=2000)
    for number, entry in enumerate(entries, start=1):
        if (entry.number, entry.previous, entry.hash) != (number, previous, entry_hash(entry)):
            return number
        previous = entry.hash
    return None
