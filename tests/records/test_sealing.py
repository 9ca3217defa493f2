"""Identities are sealed: not readable, not movable, found only by whole values."""

import pytest
from django.db import connection

from gaiter.records.sealing import SealError, blind_index, seal, seal_bytes, unseal


def test_what_is_sealed_opens_and_differs_every_time() -> None:
    first, second = seal("Ada", "person.name"), seal("Ada", "person.name")
    assert first != second
    assert "Ada" not in first
    assert unseal(first, "person.name") == unseal(second, "person.name") == "Ada"


def test_a_value_cannot_be_moved_to_another_column() -> None:
    with pytest.raises(SealError, match="changed or moved"):
        unseal(seal("Ada", "person.name"), "person.phone")


def test_a_changed_value_is_refused() -> None:
    sealed = bytearray(seal_bytes(b"Ada", "person.name"))
    sealed[-1] ^= 1
    from gaiter.records.sealing import open_bytes

    with pytest.raises(SealError, match="changed or moved"):
        open_bytes(bytes(sealed), "person.name")


def test_an_old_key_still_opens_and_a_missing_one_says_so(settings) -> None:
    old = seal("Ada", "person.name")
    settings.GAITER_KEY_RING = {**settings.GAITER_KEY_RING, "current": "2"}
    assert unseal(old, "person.name") == "Ada"
    settings.GAITER_KEY_RING = {
        **settings.GAITER_KEY_RING, "keys": {"2": settings.GAITER_KEY_RING["keys"]["2"]}
    }  # fmt: skip
    with pytest.raises(SealError, match="restore the clinic's own keys"):
        unseal(old, "person.name")


@pytest.mark.parametrize(("one", "same"), [("HF-1001", "hf 1001"), ("Zoë Ång", "zoe ang")])
def test_the_index_minds_no_case_accent_or_space(one, same) -> None:
    assert blind_index(one, "number") == blind_index(same, "number")
    assert blind_index(one, "number") != blind_index(one, "name")


def test_the_database_never_sees_a_name(clinic) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, birth_date, number, phone FROM records_person")
        row = "".join(cursor.fetchone())
        cursor.execute("SELECT changes FROM records_auditentry")
        log = "".join(text for (text,) in cursor.fetchall())
    for secret in ("Ada", "Invented", "1951"):
        assert secret not in row
    assert "Ada Invented" not in log
    assert "1951-03-14" not in log
