"""Free words, kept whole or refused, never cut; and what is said in the reader's language."""

from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.core.words import Said
from gaiter.records.typed import require_writable


def in_language(said: Said | str) -> str:
    """What is said, in the language of the reader; a text is its own template."""
    return (said if isinstance(said, Said) else Said(said)).told(_)


def kept_words(what: str, words: str, longest: int, least: int = 0) -> str:
    """The words without the blanks around them.

    Raises
    ------
    InputError
        If there are fewer or more characters than are kept.
    """
    words = words.strip()
    require_writable(words)
    if not least <= len(words) <= longest:
        raise InputError(
            _(
                "{what} must be {least} to {longest} characters; received {count}: correct it."
            ).format(what=what, least=least, longest=longest, count=len(words))
        )
    return words
