"""Sessions: nothing in the database opens one, and an end is an end."""

from datetime import timedelta

import pytest
import time_machine
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.base import UpdateError
from django.utils import timezone

from gaiter.records.entrance.models import Session
from gaiter.records.entrance.sessions import SessionStore, end_sessions, hashed, sessions_of
from tests.records.models.rows import at_rest

pytestmark = pytest.mark.django_db


def begun(**carried) -> SessionStore:
    store = SessionStore()
    store.update({SESSION_KEY: "7", "where": "192.0.2.1", **carried})
    store.save()
    return store


def again(key: str) -> dict:
    return dict(SessionStore(key).items())


def test_the_database_holds_neither_the_key_nor_what_is_carried() -> None:
    store = begun(words="Ada Invented was recorded")
    row = Session.objects.get()
    held = repr(at_rest(row)).encode() + bytes(row.content)
    assert store.session_key.encode() not in held
    assert b"Ada" not in held
    assert row.key_hash == hashed(store.session_key)
    assert again(store.session_key)["words"] == "Ada Invented was recorded"


def test_a_key_read_from_the_database_opens_nothing() -> None:
    begun()
    assert again(Session.objects.get().key_hash) == {}


def test_what_was_changed_in_the_database_opens_nothing() -> None:
    store = begun()
    row = Session.objects.get()
    row.content = bytes(row.content[:-1]) + bytes([row.content[-1] ^ 1])
    row.save()
    assert again(store.session_key) == {}


def test_a_session_ends_when_it_must_however_often_it_is_used(settings) -> None:
    store, began = begun(), timezone.now()
    last = began + timedelta(seconds=settings.SESSION_COOKIE_AGE)
    for moment in (began + timedelta(hours=6), last - timedelta(minutes=1)):
        with time_machine.travel(moment):
            used = SessionStore(store.session_key)
            used["seen"] = 1
            used.save()
    with time_machine.travel(last + timedelta(seconds=1)):
        assert again(store.session_key) == {}
        assert sessions_of(7) == []


def test_a_clock_that_is_put_back_makes_no_session_longer() -> None:
    store = begun()
    with time_machine.travel(timezone.now() - timedelta(hours=1)):
        assert again(store.session_key) == {}


def test_a_request_that_was_under_way_does_not_bring_an_ended_session_back() -> None:
    store = begun()
    under_way = SessionStore(store.session_key)
    under_way["seen"] = 1
    end_sessions(7)
    with pytest.raises(UpdateError):
        under_way.save()
    assert again(store.session_key) == {}


def test_sessions_are_listed_by_their_owner_and_others_stay() -> None:
    begun()
    other = begun(**{SESSION_KEY: "8"})
    assert [one.where for one in sessions_of(7)] == ["192.0.2.1"]
    end_sessions(7)
    assert sessions_of(7) == []
    assert len(sessions_of(8)) == 1
    assert again(other.session_key)[SESSION_KEY] == "8"


def test_a_new_key_carries_on_and_the_old_one_is_gone() -> None:
    store = begun(words="kept")
    before = store.session_key
    store.cycle_key()
    store.save()
    assert (again(before), again(store.session_key)["words"]) == ({}, "kept")


def test_what_has_ended_is_forgotten() -> None:
    begun()
    with time_machine.travel(timezone.now() + timedelta(days=2)):
        SessionStore.clear_expired()
    assert not Session.objects.exists()


def test_an_ended_or_unknown_session_is_none() -> None:
    store = begun()
    assert store.exists(store.session_key)
    store.delete()
    assert not store.exists(store.session_key)
    assert again("unknown") == {}
