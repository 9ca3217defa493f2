"""Six writers at once, of every action: nothing is lost, nothing is done twice, all are told.

On SQLite they share a file, on PostgreSQL a server. Every writer has read its rows before the
first of them writes, which is how two people meet who opened the same page.
"""

import inspect
import pkgutil
from importlib import import_module

import pytest
import time_machine
from django.db import connection
from django.db.models import Count

from gaiter.core.errors import InputError
from gaiter.records import actions
from gaiter.records.models import Account, AuditEntry, Episode, Person, Role, StockItem, Visit
from gaiter.records.proof import proof
from tests.clinic import Clinic, small_clinic
from tests.conftest import MORNING
from tests.records import scenes, scenes_of_accounts, scenes_of_teams
from tests.records.writers import at_once, on_a_file


def every_action() -> set[str]:
    """Public functions that act for somebody; guards only refuse, and questions only ask."""
    found = set()
    for module in pkgutil.iter_modules(actions.__path__):
        code = import_module(f"{actions.__name__}.{module.name}")
        for name, one in inspect.getmembers(code, inspect.isfunction):
            first = next(iter(inspect.signature(one).parameters), "")
            own = one.__module__ == code.__name__ and not name.startswith(("_", "require"))
            writes = "action(" in inspect.getsource(one)
            if own and writes and first == "actor":
                found.add(name)
    return found


pytestmark = pytest.mark.django_db(transaction=True)
SCENES = sorted(every_action())


def test_every_action_has_its_scene() -> None:
    assert [name for name in SCENES if scene_of(name) is None] == []


def scene_of(name: str):
    found = (getattr(of, name, None) for of in (scenes, scenes_of_accounts, scenes_of_teams))
    return next(filter(None, found), None)


@pytest.fixture(scope="module")
def filled(tmp_path_factory, django_db_setup, django_db_blocker, compiled_sums):
    """A file with the small clinic in it, for SQLite; PostgreSQL is filled for each test."""
    if connection.vendor != "sqlite":
        return None
    file = tmp_path_factory.mktemp("filled") / "clinic.sqlite3"
    patch = pytest.MonkeyPatch()
    still = time_machine.travel(MORNING, tick=True)
    with still, django_db_blocker.unblock(), on_a_file(file, None, patch):
        small_clinic().fill()
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return file


@pytest.fixture
def shared(transactional_db, tmp_path, filled, monkeypatch):
    """A clinic in a database that many may write at once."""
    if filled is None:
        made = small_clinic()
        made.fill()
        yield made
        return
    with on_a_file(tmp_path / "clinic.sqlite3", filled, monkeypatch):
        accounts = {role: Account.objects.get(username=role) for role in Role.values}
        yield Clinic(accounts, Person.objects.get(), Episode.objects.get(), Visit.objects.get())


@pytest.mark.parametrize("name", SCENES)
def test_six_at_once(name, shared, monkeypatch) -> None:
    scene = scene_of(name)(shared)
    entries = AuditEntry.objects.count()
    shelf = {item.pk: item.rolls - scenes.moves_of(item) for item in StockItem.objects.all()}
    came = at_once(scene.calls, monkeypatch)
    refused = [one.error for one in came if one.error is not None]
    assert [error for error in refused if not isinstance(error, InputError)] == []
    assert len(came) - len(refused) == scene.winners
    assert [str(error) for error in refused if scene.told not in str(error)] == []
    assert scene.true_then(came)
    # Whatever the action: what came and went is what the shelf holds, and a leg has one visit.
    for item in StockItem.objects.filter(pk__in=shelf):
        assert shelf[item.pk] + scenes.moves_of(item) == item.rolls
    open_now = Visit.objects.filter(signed_at=None).values("episode")
    assert not open_now.annotate(times=Count("pk")).filter(times__gt=1).exists()
    # Each that counted has its entry, nobody else has one, and the log proves every row.
    opened = 1 if name == "open_visit" else scene.winners
    assert AuditEntry.objects.count() - entries == opened
    assert proof().faults == ()
