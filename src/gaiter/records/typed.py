"""Numbers and text as somebody typed them: digits are digits, and nothing unprintable is kept."""

import re

from django.utils.translation import gettext as _

from gaiter.core.errors import InputError

# Python's own reading takes "2_3", "1e999", "nan" and the digits of every script for numbers.
_NUMBER = re.compile(r"[+-]?([0-9]{1,15}([.,][0-9]{0,15})?|[.,][0-9]{1,15})")
_WHOLE = re.compile(r"[+-]?[0-9]{1,15}")
# The end of a string for a database, and halves of a character that no encoding can write.
_UNWRITABLE = re.compile("[\x00\ud800-\udfff]")


def number_in(text: str) -> float:
    """The number that somebody typed, with a decimal point or comma.

    Raises
    ------
    ValueError
        If it is none.

    Examples
    --------
    >>> number_in(" 26,5 ")
    26.5
    """
    plain = text.strip()
    if not _NUMBER.fullmatch(plain):
        raise ValueError(text[:40])
    return float(plain.replace(",", "."))


def whole_in(text: str) -> int:
    """The whole number that somebody typed or a form carries.

    Raises
    ------
    ValueError
        If it is none, or longer than any number or key here.

    Examples
    --------
    >>> whole_in("-2")
    -2
    """
    plain = text.strip()
    if not _WHOLE.fullmatch(plain):
        raise ValueError(text[:40])
    return int(plain)


def key_in(text: str) -> int:
    """The key of a row that a form names; 0, which no row has, where it names none.

    Examples
    --------
    >>> key_in("12"), key_in("twelve")
    (12, 0)
    """
    try:
        return whole_in(text)
    except ValueError:
        return 0


def require_writable(text: str) -> None:
    """Refuses text that no database and no answer can hold.

    Raises
    ------
    InputError
        If it holds a null character or half of a character.
    """
    if _UNWRITABLE.search(text):
        raise InputError(
            _("The text holds a character that cannot be kept: type it again, or leave it out.")
        )
