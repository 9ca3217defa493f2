"""Free words are kept whole or refused, never cut."""

import pytest

from gaiter.core.errors import InputError
from gaiter.records.words import kept_words


@pytest.mark.parametrize(
    ("words", "kept"), [("  slipped \n", "slipped"), ("abc", "abc"), ("a" * 10, "a" * 10)]
)
def test_words_lose_the_blanks_around_them_only(words, kept) -> None:
    assert kept_words("Why", words, 10, 3) == kept


@pytest.mark.parametrize(
    ("words", "received"), [("ab", 2), ("  ab  ", 2), ("a" * 11, 11), ("   ", 0)]
)
def test_too_few_and_too_many_are_refused_with_their_number(words, received) -> None:
    said = f"Why must be 3 to 10 characters; received {received}: correct it."
    with pytest.raises(InputError, match=said):
        kept_words("Why", words, 10, 3)


def test_no_words_are_allowed_where_none_are_asked() -> None:
    assert kept_words("Why", "  ", 10) == ""
