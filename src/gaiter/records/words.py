"""Free words: kept whole or refused, never cut."""

from django.utils.translation import gettext as _

from gaiter.core.errors import InputError


def kept_words(what: str, words: str, longest: int, least: int = 0) -> str:
    """The words without the blanks around them.

    Raises
    ------
    InputError
        If there are fewer or more characters than are kept.
    """
    words = words.strip()
    if not least <= len(words) <= longest:
        raise InputError(
            _(
                "{what} must be {least} to {longest} characters; received {count}: correct it."
            ).format(what=what, least=least, longest=longest, count=len(words))
        )
    return words
