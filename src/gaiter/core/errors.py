"""The error whose text is meant for the person who gave the input."""


class InputError(ValueError):
    """What was given cannot be used.

    The text says what, the allowed range with its unit, what was received and what to do. Any
    other error is a fault of the program and is reported as one.
    """
