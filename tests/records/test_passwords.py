"""What anybody would try first is refused; how a password is composed is nobody's business."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.test import override_settings

from gaiter.records.passwords import LONGEST, refused_words, what_is_left

ROWAN = SimpleNamespace(username="t.rowan", name="Tamsin Rowan", initials="TR")


@pytest.fixture
def heron(settings):
    with override_settings(GAITER=replace(settings.GAITER, clinic="Heron Ford Wound Clinic")):
        yield


@pytest.mark.parametrize(
    "password",
    [
        "passwordpassword", "Password1234", "P@ssw0rd-P@ssw0rd", "gaiter-gaiter-gaiter",
        "Bandage2026!", "compression bandage", "123456789012", "qwertyuiop12", "abcdefghijkl",
        "aaaaaaaaaaaa", "abababababab", "welcome welcome 1", "Summer-2026-Summer",
        "letmein-letmein",
        "correct horse battery staple", "heron ford demo", "!!!!!!!!!!!!",
        # Of the account and of the clinic.
        "tamsin.rowan.1", "Tamsin Rowan 26", "Heron Ford 2026", "heronfordclinic",
    ],
)  # fmt: skip
def test_what_anybody_would_try_is_refused(heron, password) -> None:
    assert len(password) >= 12
    with pytest.raises(ValidationError, match="Anybody would try|too common"):
        validate_password(password, ROWAN)


@pytest.mark.parametrize(
    "password",
    [
        "thimble orchard gravel", "correct horse battery", "no capital and no digit",
        "ZVQKHWXLTRNB", "849302756104", "gaiter with marzipan", "schläfrige möwen am kai",
        "雪の降る夜に鐘が鳴る静かな港",
    ],
)  # fmt: skip
def test_length_is_enough_whatever_it_is_made_of(heron, password) -> None:
    validate_password(password, ROWAN)


def test_a_password_of_another_is_no_context() -> None:
    other = SimpleNamespace(username="mercer", name="Jo Mercer", initials="JM")
    validate_password("tamsin rowan 1", other)


def test_eleven_characters_are_refused_and_twelve_are_not() -> None:
    with pytest.raises(ValidationError, match="12 to 200 characters; this one has 11"):
        validate_password("gravelelbow")
    validate_password("gravel elbow")


def test_a_long_sentence_is_welcome() -> None:
    long = "the cat on the quay counts nineteen grey gulls and forgets every one of them " * 3
    assert LONGEST >= 128
    validate_password(long[:LONGEST])
    with pytest.raises(ValidationError, match="characters"):
        validate_password(long[:LONGEST] + "x")


def test_what_is_left_is_what_no_word_or_run_explains() -> None:
    # "pa55word" is password in look-alikes, 1234 a run; "zebu" is neither.
    assert what_is_left("Pa55word-1234-zebu") == "zebu"
    assert what_is_left("") == ""


def test_the_shipped_list_is_small_letters_and_says_where_it_is_from() -> None:
    words = refused_words()
    assert {"password", "gaiter", "bandage", "qwerty"} <= words
    assert all(word.isascii() and word.isalpha() and word == word.lower() for word in words)


@pytest.mark.parametrize("name", ["reed$fen", "heath!!moor", "$$$$fen@@@"])
def test_signs_of_patterns_in_a_name_are_signs(name) -> None:
    account = SimpleNamespace(username=name, name="Rowan", initials="R")
    assert what_is_left(name, account) == ""
    assert what_is_left(f"{name} quartz", account) == "quartz"
