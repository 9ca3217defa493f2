"""Six writers at once: each has read what it needs, and then all of them begin to write."""

import shutil
import sqlite3
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from django.db import connection, connections, transaction

from gaiter.records import ledger

SIX = 6
# Only a fault makes a writer wait longer than this for the others.
_PATIENCE_S = 30


@dataclass(frozen=True)
class Came:
    """What came of one writer: a value, or why not."""

    value: Any = None
    error: Exception | None = None


class Gate:
    """Opens when every writer has come to its transaction, or has ended before."""

    def __init__(self, writers: int) -> None:
        self._to_come, self._change = writers, threading.Condition()
        self._passed: set[int] = set()

    def come(self) -> None:
        me = threading.get_ident()
        with self._change:
            if me in self._passed:
                return
            self._passed.add(me)
            self._to_come -= 1
            self._change.notify_all()
            assert self._change.wait_for(lambda: self._to_come <= 0, _PATIENCE_S)


def at_once(calls: Sequence[Callable[[], Any]], monkeypatch: Any) -> list[Came]:
    """What came of each; every action begins when the last of them is about to."""
    gate, real = Gate(len(calls)), transaction.atomic
    main = threading.get_ident()

    @contextmanager
    def atomic() -> Iterator[None]:
        if threading.get_ident() != main:
            gate.come()
        with real():
            yield

    came: list[Came] = [Came()] * len(calls)

    def run(number: int, call: Callable[[], Any]) -> None:
        try:
            came[number] = Came(call())
        except Exception as error:
            came[number] = Came(error=error)
        finally:
            gate.come() if threading.get_ident() not in gate._passed else None
            connection.close()

    with monkeypatch.context() as patched:
        patched.setattr(ledger, "transaction", SimpleNamespace(atomic=atomic))
        threads = [threading.Thread(target=run, args=one) for one in enumerate(calls)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    return came


@contextmanager
def on_a_file(file: Path, template: Path | None, monkeypatch: Any) -> Iterator[None]:
    """The tests' SQLite database on a file, which many connections may write at once."""
    with monkeypatch.context() as patched:
        before = connections["default"]
        if template is None:
            before.ensure_connection()
            with sqlite3.connect(file) as copy:
                before.connection.backup(copy)
        else:
            shutil.copy(template, file)
        patched.setitem(connections.settings["default"], "NAME", str(file))
        connections["default"] = connections.create_connection("default")
        try:
            yield
        finally:
            connections["default"].close()
            connections["default"] = before
