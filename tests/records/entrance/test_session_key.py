"""Keys of sessions: given by the clinic, or invented."""

import string

import pytest

from gaiter.records.entrance.session_key import is_given, new_key


def test_a_key_that_was_given_is_known_without_the_database(settings) -> None:
    key = new_key()
    assert is_given(key)
    settings.GAITER_KEY_RING = {**settings.GAITER_KEY_RING, "index": bytes(32)}
    assert not is_given(key)


def test_an_invented_one_is_told() -> None:
    key = new_key()
    other = new_key()
    another = "b" if key[0] == "a" else "a"
    for invented in (
        "", "a", key[:32], key[:-1], key + "a", another + key[1:], key[:-1] + "g",
        key[:32] + other[32:], "ü" * 48, "\udcff" * 48,
    ):  # fmt: skip
        assert not is_given(invented), invented


def test_a_cookie_holds_it() -> None:
    assert set(new_key()) <= set(string.ascii_lowercase + string.digits)


@pytest.mark.parametrize("_again", range(3))
def test_two_are_never_alike(_again) -> None:
    assert new_key()[:32] != new_key()[:32]
