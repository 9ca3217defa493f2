"""Sessions: nothing in the database opens one, and an end is an end."""

from datetime import timedelta
from math import log2

import pytest
import time_machine
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.base import UpdateError
from django.utils import timezone

from gaiter.records.entrance.models import Session
from gaiter.records.entrance.sessions import (
    SessionStore,
    end_sessions,
    give_new_key,
    hashed,
    sessions_of,
)
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


def test_a_key_is_another_each_time_and_too_long_to_guess() -> None:
    """Of thirty-six signs each is worth log2(36) = 5.17 bits; 128 bits are asked.

    The last sixteen follow from the others, so they make nothing harder to guess.
    """
    stores = [SessionStore() for _number in range(20)]
    for store in stores:
        store.create()
    keys = {store.session_key for store in stores}
    assert len(keys) == 20
    assert (min(map(len, keys)) - 16) * log2(36) >= 128
    assert len(set("".join(keys))) == 36


def test_another_key_of_a_session_does_not_put_off_its_end() -> None:
    store = begun()
    before = Session.objects.get()
    key = store.session_key
    with time_machine.travel(timezone.now() + timedelta(hours=3), tick=False):
        give_new_key(store)
    after = Session.objects.get()
    assert (after.began_at, after.ends_at) == (before.began_at, before.ends_at)
    assert again(key) == {}
    assert again(store.session_key)["where"] == "192.0.2.1"
