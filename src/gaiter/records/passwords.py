"""Passwords that anybody would try first are refused; how one is composed is its owner's choice.

Twelve characters and no rule of capitals, digits or signs: length is what guessing costs. What
is known of the account, the clinic and the trade adds no length, nor does a word of the shipped
list, a run along the keyboard or a repetition.
"""

import re
import unicodedata
from functools import cache
from importlib import resources
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

SHORTEST, LONGEST = 12, 200
# Letters and digits that must be left when what anybody knows is taken away, and how many of them
# differ; our choice: six of thirty-six are two thousand million.
_LEFT, _DIFFERENT = 6, 5
_RUNS = ("abcdefghijklmnopqrstuvwxyz", "01234567890", "qwertyuiop", "qwertzuiop", "asdfghjkl",
         "zxcvbnm", "yxcvbnm", "azertyuiop")  # fmt: skip
_RUN_LENGTH = 4
_SHORTEST_WORD = 3
_LOOK_ALIKES = str.maketrans("013457@$!", "oleastasi")


@cache
def refused_words() -> frozenset[str]:
    """Words of the shipped list."""
    text = resources.files("gaiter.data").joinpath("refused_passwords.txt").read_text()
    lines = (line.strip() for line in text.splitlines())
    return frozenset(line for line in lines if line and not line.startswith("#"))


@cache
def _runs() -> frozenset[str]:
    """Every four neighbours of a row, both ways."""
    both = [*_RUNS, *(row[::-1] for row in _RUNS)]
    return frozenset(
        row[start : start + _RUN_LENGTH]
        for row in both
        for start in range(len(row) - _RUN_LENGTH + 1)
    )


def _plain(text: str) -> str:
    """Letters and digits only, small, without accents."""
    spread = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in spread if c.isalnum() or c in "@$!")


def _known(account: Any) -> frozenset[str]:
    """Words that stand on the clinic's papers and in the account."""
    said = [settings.GAITER.clinic]
    if account is not None:
        said += [account.username, account.name, account.initials]
    parts = [part for text in said for part in (text, *re.split(r"[\W_\d]+", text))]
    return frozenset(w for w in map(_plain, parts) if len(w) >= _SHORTEST_WORD)


def _without(text: str, words: frozenset[str]) -> list[bool]:
    """For each character whether it stands outside every one of these words."""
    outside = [True] * len(text)
    for word in words:
        for found in re.finditer(f"(?={re.escape(word)})", text):
            start = found.start()
            outside[start : start + len(word)] = [False] * len(word)
    return outside


def what_is_left(password: str, account: Any = None) -> str:
    """Letters and digits of a password that no known word, run or repetition explains."""
    plain = _plain(password)
    words = refused_words() | _known(account) | _runs()
    as_typed = _without(plain, words)
    as_meant = _without(plain.translate(_LOOK_ALIKES), words)
    left = "".join(
        c for c, typed, meant in zip(plain, as_typed, as_meant, strict=True) if typed and meant
    )
    return re.sub(r"(.+?)\1{2,}", r"\1", left)


class RefusedPasswords:
    """Django's face of the rule."""

    def validate(self, password: str, user: Any = None) -> None:
        """Refuses in words.

        Raises
        ------
        ValidationError
            If the password is too short, too long, or anybody would try it first.
        """
        if not SHORTEST <= len(password) <= LONGEST:
            raise ValidationError(
                _(
                    "A password has %(low)d to %(high)d characters; this one has %(found)d. "
                    "A few words in a row are easy to remember."
                )
                % {"low": SHORTEST, "high": LONGEST, "found": len(password)}
            )
        left = what_is_left(password, user)
        if len(left) < _LEFT or len(set(left)) < _DIFFERENT:
            raise ValidationError(
                _(
                    "Anybody would try this early: besides words that many use, the names of "
                    "clinic and account, and runs such as 1234, too little is left. Add a word or "
                    "two that only you would choose."
                )
            )

    def get_help_text(self) -> str:
        """What is asked of a password."""
        return _("%(low)d characters or more; a few words in a row are good.") % {"low": SHORTEST}
