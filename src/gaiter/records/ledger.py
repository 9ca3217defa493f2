"""The one way to write: an action is one transaction with its rows and its audit entry."""

import hashlib
import json
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, TypeVar

from django.core.exceptions import ObjectDoesNotExist
from django.db import DatabaseError, IntegrityError, connection, models, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.clash import StaleError, clash_of
from gaiter.records.content import digest_now, logged, name_of
from gaiter.records.sealing import keyed_hash
from gaiter.records.storage import is_full

_LOG = logging.getLogger("gaiter.audit")

FIRST_HASH = "0" * 64
# Any number that no other program takes as an advisory lock on this database.
_CHAIN_LOCK = 7_203_411
_GOING_ON_MINUTES = 10
# What a form of ours carries: hexadecimal digits, and after them what it does and to which row.
_TOKEN = re.compile(r"[A-Za-z0-9_-]{1,64}")
_writing: ContextVar[bool] = ContextVar("writing", default=False)

RowT = TypeVar("RowT", bound=models.Model)


class AlreadyDoneError(InputError):
    """The same form was sent twice; the first time counted."""


class NotAllowedError(InputError):
    """Who asks may not do this; says who may."""


def in_action() -> bool:
    """Whether an action is going on in this thread."""
    return _writing.get()


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
        """Refuses outside an action; a new row first takes its key, which seals are bound to."""
        if not _writing.get():
            raise RuntimeError(f"{type(self).__name__} is written outside an action")
        if self.pk is None:
            self.pk = _next_key(type(self))
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> Any:
        """Refuses: what was recorded stays."""
        raise RuntimeError(f"a {type(self).__name__} is never deleted")


class Action:
    """Reads rows as they stand, writes them, and notes before and after of each."""

    def __init__(self, actor: Actor, verb: str, subject: str, once: str | None) -> None:
        self.actor, self.verb, self.subject, self.once = actor, verb, subject, once
        self.at = actor.now
        self._changes: list[dict[str, Any]] = []
        self._was: list[tuple[models.Model, str, Any]] = []

    def read(self, row: RowT) -> RowT:
        """A row read anew, and nobody else's until the action ends; the same object.

        Raises
        ------
        StaleError
            If it is not there.
        """
        try:
            row.refresh_from_db(from_queryset=_for_update(row))
        except ObjectDoesNotExist:
            raise StaleError from None
        return row

    def create(self, model: type[RowT], **fields: Any) -> RowT:
        """A new row."""
        row = model(**fields)
        row.save(force_insert=True)
        self._changes.append({"row": name_of(row), "after": logged(row)})
        return row

    def change(self, row: RowT, **fields: Any) -> RowT:
        """A row with some fields changed; nothing happens where nothing differs.

        Raises
        ------
        StaleError
            If one of these fields is not as the caller read it: somebody else was quicker.
        """
        held = _for_update(row).filter(pk=row.pk).first()
        before = logged(row, fields)
        if held is None or not _same(row, held, fields):
            raise StaleError
        for name, value in fields.items():
            self._was.append((row, name, getattr(row, name)))
            setattr(row, name, value)
        row.save(update_fields=list(fields))
        self._changes.append({"row": name_of(row), "before": before, "after": logged(row, fields)})
        return row

    def forget(self) -> None:
        """Rows in hand are again as the database holds them, as nothing of this was kept."""
        for row, name, value in reversed(self._was):
            setattr(row, name, value)

    def take_in(self, row: models.Model) -> None:
        """A row as it stands, that no entry of the log tells like this."""
        self._changes.append({"row": name_of(row), "after": logged(row)})

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
    """Keyed hash over everything an audit entry says, the hash before it included.

    Without the clinic's keys nobody can make an entry, whatever else of the database is theirs.
    """
    return keyed_hash(_said(entry), "audit")


def unkeyed_hash(entry: Any) -> str:
    """SHA-256 over the same, as entries of earlier versions have it."""
    return hashlib.sha256(_said(entry)).hexdigest()


def _said(entry: Any) -> bytes:
    said = {
        name: getattr(entry, name)
        for name in ("number", "account_id", "who", "role", "where", "verb", "subject", "changes",
                     "once", "previous")
    }  # fmt: skip
    said["at"] = entry.at.isoformat(timespec="microseconds")
    return json.dumps(said, ensure_ascii=False, sort_keys=True).encode()


@contextmanager
def action(
    actor: Actor, verb: str, subject: models.Model | str = "", once: str | None = None
) -> Iterator[Action]:
    """One action: everything in it is written with its audit entry, or nothing is.

    One writer at a time is in an action. A row given as subject is read anew before anything
    else; whatever else decides has to be read inside as well (:meth:`Action.read`).

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
    ClashError
        If the database refuses what another row forbids, in words.
    InputError
        If the token is none that a form of ours has.
    """
    from gaiter.records.models import AuditEntry  # noqa: PLC0415 # models build on this module

    name = subject if isinstance(subject, str) else name_of(subject)
    if once and not _TOKEN.fullmatch(once):
        raise InputError(_("This form is older than the program: load the page again."))
    try:
        with transaction.atomic():
            _be_the_only_writer()
            if once and AuditEntry.objects.filter(once=once).exists():
                raise AlreadyDoneError(
                    _("This was recorded already: the form had been sent twice.")
                )
            act = Action(actor, verb, name, once or None)
            if isinstance(subject, models.Model):
                act.read(subject)
            token = _writing.set(True)
            try:
                yield act
                act.entry(AuditEntry.objects.order_by("-number").first()).save(force_insert=True)
            except BaseException:
                act.forget()
                raise
            finally:
                _writing.reset(token)
    except IntegrityError as error:
        raise clash_of(error) from error


def _be_the_only_writer() -> None:
    """SQLite's IMMEDIATE transaction lets one writer in; elsewhere the chain needs a lock."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_CHAIN_LOCK])


def _for_update(row: models.Model) -> Any:
    """Rows of a row's model, nobody else's until the transaction ends."""
    model: Any = row._meta.concrete_model
    return model._base_manager.select_for_update()


def _next_key(model: type[models.Model]) -> int:
    """Key of the next new row of a model; nobody else asks at the same time."""
    meta = model._meta
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT nextval(pg_get_serial_sequence(%s, %s))",
                [connection.ops.quote_name(meta.db_table), meta.pk.column],
            )
            return int(cursor.fetchone()[0])
        # A number that was taken once is not taken again.
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [meta.db_table])
        used = cursor.fetchone()
        return int(used[0]) + 1 if used else 1


def _same(row: models.Model, held: models.Model, names: Any) -> bool:
    """Whether a row still holds in these fields what it was read with."""
    return all(
        digest_now(row, field) == digest_now(held, field)
        for field in row._meta.concrete_fields
        if field.name in names or field.attname in names
    )


def note_opening(actor: Actor, verb: str, subject: models.Model | str, **facts: Any) -> None:
    """Records that somebody opened or took out a record; nothing else is written.

    Where the disk is full the opening goes to the server's log instead: who is treated needs the
    record read, and the log says what the audit could not.
    """
    name = subject if isinstance(subject, str) else name_of(subject)
    try:
        with action(actor, verb, name) as act:
            if facts:
                act.note(**facts)
    except DatabaseError as error:
        if not is_full(error):
            raise
        number = actor.account.pk if actor.account else None
        _LOG.error(f"not in the audit: {verb} {name}", extra={"account": number})


def note_going_on(actor: Actor, verb: str, subject: models.Model) -> None:
    """As :func:`note_opening`, for a part that a page asks for again and again.

    Nothing is written where the same account opened the same record within ten minutes.
    """
    from gaiter.records.models import AuditEntry  # noqa: PLC0415 # models build on this module

    since = actor.now - timedelta(minutes=_GOING_ON_MINUTES)
    opened = AuditEntry.objects.filter(
        subject=name_of(subject), verb=verb, account_id=actor.account.pk, at__gte=since
    )
    if not opened.exists():
        note_opening(actor, verb, subject)


class BrokenChainError(RuntimeError):
    """An entry of the audit log does not follow from the one before it."""

    def __init__(self, number: int) -> None:
        self.number = number
        super().__init__(f"entry {number} does not follow from the one before")


def chained() -> Iterator[tuple[Any, bool]]:
    """Entries of the audit log in order, and whether each is keyed; earlier versions' are not.

    Raises
    ------
    BrokenChainError
        At the first entry that was changed, or does not follow from the one before; after a keyed
        one no other is taken.
    """
    from gaiter.records.models import AuditEntry  # noqa: PLC0415 # models build on this module

    previous, keyed = FIRST_HASH, False
    entries = AuditEntry.objects.order_by("number").iterator(chunk_size=500)
    for number, entry in enumerate(entries, start=1):
        keyed = entry.hash == entry_hash(entry) or keyed
        whole = entry.hash == (entry_hash(entry) if keyed else unkeyed_hash(entry))
        if not whole or (entry.number, entry.previous) != (number, previous):
            raise BrokenChainError(number)
        yield entry, keyed
        previous = entry.hash


def broken_at() -> int | None:
    """Number of the first audit entry that does not follow from the one before; None if whole."""
    try:
        for _entry in chained():
            pass
    except BrokenChainError as error:
        return error.number
    return None
