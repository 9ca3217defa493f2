"""Which optional extra brings a package that is not installed."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from gaiter.core.errors import InputError

# Top-level modules that some part of the program imports and a base installation lacks.
EXTRA_OF_MODULE: Mapping[str, str] = {
    "argon2": "clinic",
    "cryptography": "clinic",
    "csp": "clinic",
    "django": "clinic",
    "gunicorn": "clinic",
    "PIL": "clinic",
    "segno": "clinic",
    "whitenoise": "clinic",
    "numba": "study",
    "pyarrow": "study",
    "distributed": "cluster",
    "psycopg": "postgres",
}


class MissingExtraError(InputError):
    """Something was asked for whose packages are not installed."""

    def __init__(self, module: str, extra: str) -> None:
        self.module, self.extra = module, extra
        super().__init__(
            f"this needs the extra {extra!r}, which is not installed ({module} is missing): "
            f"pip install 'gaiter[{extra}]'"
        )


@contextmanager
def needed_extra() -> Iterator[None]:
    """Names the extra to install where a package of one is missing.

    Raises
    ------
    MissingExtraError
        Any other missing module is a fault and stays one.
    """
    try:
        yield
    except ModuleNotFoundError as error:
        module = (error.name or "").partition(".")[0]
        if module not in EXTRA_OF_MODULE:
            raise
        raise MissingExtraError(module, EXTRA_OF_MODULE[module]) from error
