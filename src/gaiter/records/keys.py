"""Whether the keys that are held are those under which the database is sealed.

A check value of every key lies in the database (``Mark``), so that a missing or another key is
noticed before anything is written. A database from before check values is asked for the names that
its sealed values bear, and one value of each name has to open.
"""

import hashlib
import hmac
import json
from base64 import b64decode
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from django.apps import apps
from django.conf import settings
from django.db import connection

from gaiter.core.errors import InputError
from gaiter.records.ledger import Actor, action
from gaiter.records.models import Mark
from gaiter.records.sealing import SealedBytes, SealedText, SealError, open_bytes, plain_name

INDEX = "index"
_KEY = "key."
# The longest beginning of a sealed value in which its key's name ends.
_START = 64
_HOLDS = ("records_account", "records_person", "records_auditentry")


class KeysMissingError(InputError):
    """The database was sealed under keys that are not held; ``names`` says which."""

    def __init__(self, names: tuple[str, ...]) -> None:
        self.names = names
        several = len(names) > 1
        super().__init__(
            f"the database was sealed under {'keys' if several else 'the key'} {', '.join(names)}, "
            f"which {settings.GAITER.keys_file} does not hold: put the clinic's own key file there "
            f"or merge it (`gaiter keys merge FILE`), or choose another folder for a new clinic "
            f"(GAITER_DATA)"
        )


@dataclass(frozen=True)
class KeyState:
    """One key that the database knows.

    Attributes
    ----------
    name : str
        As sealed values bear it; ``index`` is the key of the fingerprints.
    held : bool
        Whether the key file holds this very key.
    values : int
        How many sealed values bear its name.
    """

    name: str
    held: bool
    values: int


def holds_rows() -> bool:
    """Whether anything was ever recorded in this database, of whatever version."""
    there = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for table in _HOLDS:
            if table in there:
                cursor.execute(f"SELECT 1 FROM {table} LIMIT 1")
                if cursor.fetchone():
                    return True
    return False


def require_keys() -> None:
    """Refuses a database that holds rows whose keys are not held.

    Raises
    ------
    KeysMissingError
        Naming the keys.
    """
    if not holds_rows():
        return
    noted = _noted()
    if settings.GAITER_KEY_RING is None:
        raise KeysMissingError(tuple(sorted(map(_shown, noted))) or ("of this clinic",))
    if noted:
        missing = {_shown(name) for name, check in noted.items() if check not in _held(name)}
    else:
        # What only the audit log is sealed under stops no clinic whose rows are all open.
        missing = {state.name for state in key_states(audit=False) if not state.held}
    if missing:
        raise KeysMissingError(tuple(sorted(missing)))


def note_keys() -> None:
    """Leaves a check value of every key that is held, once the database holds anything."""
    if not holds_rows():
        return
    ring: Any = settings.GAITER_KEY_RING
    noted = _noted()
    fresh = {
        name: check
        for name, check in {
            **{_KEY + name: check_value(key) for name, key in ring["keys"].items()},
            INDEX: check_value(ring["index"]),
        }.items()
        if name not in noted
    }
    if fresh:
        with action(Actor(None, "command line"), "note check values of keys", "keys") as act:
            for name, check in fresh.items():
                act.create(Mark, name=name, value=check)


def key_states(*, audit: bool = True) -> tuple[KeyState, ...]:
    """Every key that the database knows, from check values and from every sealed value.

    ``audit`` says whether values of the audit log are asked as well as those of the rows.
    """
    counts: dict[str, int] = {}
    opened: dict[str, bool] = {}
    for name, places, sealed in _sealed_values(audit):
        counts[name] = counts.get(name, 0) + 1
        if name not in opened:
            opened[name] = any(_opens(sealed(), place) for place in places)
    noted = _noted()
    states = [
        KeyState(_shown(name), check in _held(name), counts.pop(_shown(name), 0))
        for name, check in sorted(noted.items())
    ]
    return (*states, *(KeyState(name, opened[name], counts[name]) for name in sorted(counts)))


def check_value(key: bytes) -> str:
    """What tells a key from any other and tells nothing else about it."""
    return hmac.new(key, b"gaiter.key-check/1", hashlib.sha256).hexdigest()


def _shown(name: str) -> str:
    return name.removeprefix(_KEY)


def _noted() -> Mapping[str, str]:
    """Check values by name of mark; none in a database from before them."""
    if Mark._meta.db_table not in connection.introspection.table_names():
        return {}
    rows = Mark.objects.values_list("name", "value")
    return {name: value for name, value in rows if name == INDEX or name.startswith(_KEY)}


def _held(name: str) -> set[str]:
    """Check values of what is held under the name of a mark."""
    ring = settings.GAITER_KEY_RING
    if ring is None:
        return set()
    if name == INDEX:
        return {check_value(ring["index"])}
    wanted = plain_name(_shown(name))
    return {check_value(key) for held, key in ring["keys"].items() if plain_name(held) == wanted}


def _opens(sealed: bytes, place: str) -> bool:
    try:
        open_bytes(sealed, place)
    except SealError:
        return False
    return True


# Key's name, the places that the value may be sealed for, and how to read the whole of it.
_Value = tuple[str, tuple[str, ...], Callable[[], bytes]]


def _sealed_values(audit: bool) -> Iterator[_Value]:
    """Every sealed value there is, of whatever version the tables are."""
    there = set(connection.introspection.table_names())
    for model in apps.get_app_config("records").get_models():
        if model._meta.db_table not in there:
            continue
        columns = _columns(model._meta.db_table)
        for field in model._meta.concrete_fields:
            if isinstance(field, SealedText | SealedBytes) and field.column in columns:
                yield from _of_column(field)
    if audit and "records_auditentry" in there:
        yield from _of_audit()


def _columns(table: str) -> set[str]:
    with connection.cursor() as cursor:
        return {one.name for one in connection.introspection.get_table_description(cursor, table)}


def _of_column(field: Any) -> Iterator[_Value]:
    quote = connection.ops.quote_name
    meta = field.model._meta
    column, table, key = quote(field.column), quote(meta.db_table), quote(meta.pk.column)
    as_bytes = bytes if isinstance(field, SealedBytes) else _decoded

    def whole(number: Any) -> bytes:
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT {column} FROM {table} WHERE {key} = %s", [number])
            return as_bytes(cursor.fetchone()[0])

    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT {key}, substr({column}, 1, {_START}) FROM {table} WHERE {column} IS NOT NULL"
        )
        while rows := cursor.fetchmany(500):
            for number, start in rows:
                # For its column, or for its row as well: by version.
                places = (field.place, f"{field.place}#{number}")
                yield _name(as_bytes(start)), places, partial(whole, number)


def _of_audit() -> Iterator[_Value]:
    """Before and after of sealed fields, sealed in the audit log for places of its own."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT changes FROM records_auditentry ORDER BY number")
        while rows := cursor.fetchmany(200):
            for (changes,) in rows:
                if '"sealed"' not in changes:
                    continue
                for change in json.loads(changes):
                    model = str(change.get("row", "")).partition(":")[0]
                    for side in ("before", "after"):
                        for name, value in (change.get(side) or {}).items():
                            if isinstance(value, dict) and "sealed" in value:
                                sealed = _decoded(value["sealed"])
                                places = (f"audit.{model}.{name}",)
                                yield _name(sealed), places, partial(bytes, sealed)


def _decoded(text: str) -> bytes:
    try:
        return b64decode(text)
    except ValueError:
        return b"?."


def _name(sealed: bytes) -> str:
    return sealed.partition(b".")[0].decode(errors="replace")[:40]
