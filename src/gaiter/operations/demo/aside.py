"""Where a demo is made: aside, in a folder of its own, and moved to its place when it is whole."""

import fcntl
import os
import secrets
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from gaiter.core.errors import InputError
from gaiter.files.whole_file import sync_folder
from gaiter.operations.environment import Environment

_BEING_MADE = "being-made"


def a_demo_is_there(environment: Environment, set_up: Callable[[], Any]) -> bool:
    """Whether the demo was made before.

    Parameters
    ----------
    environment : Environment
        Where it would be.
    set_up : Callable
        Opens the database that is there.

    Raises
    ------
    InputError
        If the place holds anything but a demo: it is left as it is.
    """
    if _on_sqlite(environment):
        folder = environment.folder
        if not folder.exists() or not any(folder.iterdir()):
            return False
        if not environment.database["NAME"].is_file():
            held = ", ".join(sorted(path.name for path in folder.iterdir())[:5])
            raise InputError(
                f"{folder} is not empty ({held}): a demo is made in a new folder; choose another "
                f"(GAITER_DATA)"
            )
    set_up()
    from gaiter.records.demonstration import is_demonstration  # noqa: PLC0415 # opens the database
    from gaiter.records.keys import holds_rows  # noqa: PLC0415

    if is_demonstration():
        return True
    if _on_sqlite(environment):
        raise InputError(
            f"{environment.folder} holds the database of a clinic that is no demo; it was left as "
            f"it is: serve it with `gaiter serve`, or choose another folder (GAITER_DATA)"
        )
    if holds_rows():
        raise InputError(
            "the database already holds accounts or people: make the demo in an empty one "
            "(GAITER_DATABASE)"
        )
    return False


@contextmanager
def aside(environment: Environment) -> Iterator[None]:
    """A demo is made in the block; it is at its place afterwards, or nothing is.

    With SQLite the process works in a folder beside the place, which is renamed at the end. In
    PostgreSQL there is no place aside: what makes the demo is one transaction there.
    """
    if not _on_sqlite(environment):
        yield
        return
    place = environment.folder
    place.parent.mkdir(parents=True, exist_ok=True)
    _clean(place)
    beside = place.with_name(f".{place.name}-demo-{secrets.token_hex(4)}")
    beside.mkdir(mode=0o700)
    lock = os.open(beside / _BEING_MADE, os.O_RDWR | os.O_CREAT, 0o600)
    before = os.environ.get("GAITER_DATA")
    try:
        fcntl.flock(lock, fcntl.LOCK_EX)
        os.environ["GAITER_DATA"] = str(beside)
        yield
        _move(beside, place)
    finally:
        os.close(lock)
        shutil.rmtree(beside, ignore_errors=True)
        os.environ.pop("GAITER_DATA")
        if before is not None:
            os.environ["GAITER_DATA"] = before


def _on_sqlite(environment: Environment) -> bool:
    return str(environment.database["ENGINE"]).endswith("sqlite3")


def _move(beside: Path, place: Path) -> None:
    from django.db import connections  # noqa: PLC0415 # set up in the block

    connections.close_all()  # the last one to leave writes the log of SQLite into the database
    for path in filter(Path.is_file, beside.iterdir()):
        with path.open("rb") as file:
            os.fsync(file.fileno())
    (beside / _BEING_MADE).unlink()
    sync_folder(beside)
    try:
        # Over an empty folder or none; one that was filled meanwhile is refused by the system.
        beside.rename(place)
    except OSError as error:
        raise InputError(
            f"{place} cannot be made ({error.strerror}): choose another folder (GAITER_DATA)"
        ) from None
    sync_folder(place.parent)


def _clean(place: Path) -> None:
    """Takes away what a demo that was killed while it was made has left: nobody holds its lock."""
    for beside in place.parent.glob(f".{place.name}-demo-*"):
        with suppress(OSError):
            lock = os.open(beside / _BEING_MADE, os.O_RDWR)
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
                shutil.rmtree(beside, ignore_errors=True)
            finally:
                os.close(lock)
