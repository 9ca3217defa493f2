"""The error whose text is meant for the person who gave the input."""

from gaiter.core.words import Said


class InputError(ValueError):
    """What was given cannot be used.

    The text says what, the allowed range with its unit, what was received and what to do. Any
    other error is a fault of the program and is reported as one.

    Attributes
    ----------
    said : Said
        The text, for any language.
    """

    def __init__(self, said: Said | str = "") -> None:
        self.said = said if isinstance(said, Said) else Said(said)
        super().__init__(self.said.text)
