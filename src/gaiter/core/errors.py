"""Errors whose text is meant for the person who gave the input."""

from gaiter.core.words import Said


class InputError(ValueError):
    """What was given cannot be used.

    The text says what, the allowed range with its unit, what was received and what to do. Any
    other error is a fault of the program and is reported as one.

    Attributes
    ----------
    said : Said
        The text, for any language.

    Examples
    --------
    >>> InputError("girth must be 10 to 60 cm; received 600: this looks like millimetres").said.text
    'girth must be 10 to 60 cm; received 600: this looks like millimetres'
    """

    def __init__(self, said: Said | str = "") -> None:
        self.said = said if isinstance(said, Said) else Said(said)
        super().__init__(self.said.text)


class FieldError(InputError):
    """A value of a record that does not go with the others, by its path in the record.

    Parameters
    ----------
    path : str
        Dotted path of the value to correct, from the record that judges it.
    words : Said or str
        What is wrong with it, what was received and what to do, without its name.
    missing : bool
        Whether it was left out where the others ask for it.

    Examples
    --------
    >>> str(FieldError("ankle_cm", "must be below the calf; received 40: measure it again"))
    'ankle_cm must be below the calf; received 40: measure it again'
    """

    def __init__(self, path: str, words: Said | str, *, missing: bool = False) -> None:
        self.path, self.missing = path, missing
        self.words = words if isinstance(words, Said) else Said(words)
        super().__init__(Said("{field} {words}", {"field": path, "words": self.words}))
