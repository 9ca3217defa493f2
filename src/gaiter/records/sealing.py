"""Encryption at rest: AES-GCM with a key ring, and a blind index to look sealed values up.

A sealed value is ``key name . nonce + ciphertext``, and text the base64 of that. The place it
belongs to (model and field) is authenticated with it, so that a value cannot be moved to another
column. Where two key rings were merged a name may stand for several keys, ``NAME`` and
``NAME~...``: the one that opens the value is the right one.
"""

import hashlib
import hmac
import secrets
import unicodedata
from base64 import b64decode, b64encode
from typing import Any

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from django.conf import settings
from django.db import models

_NONCE_BYTES = 12


class SealError(RuntimeError):
    """A sealed value cannot be opened or nothing can be sealed."""


class NoKeyError(SealError):
    """The key that a value bears the name of is not in the key file."""


def _ring() -> Any:
    if settings.GAITER_KEY_RING is None:
        raise SealError(
            "there are no keys: run `gaiter migrate`, or put the clinic's key file where "
            "GAITER_KEYS says"
        )
    return settings.GAITER_KEY_RING


def seal_bytes(plain: bytes, place: str) -> bytes:
    """Bytes sealed for one place under the current key."""
    ring = _ring()
    name = plain_name(ring["current"])
    nonce = secrets.token_bytes(_NONCE_BYTES)
    sealed = AESGCM(ring["keys"][ring["current"]]).encrypt(nonce, plain, place.encode())
    return f"{name}.".encode() + nonce + sealed


def open_bytes(sealed: bytes, place: str) -> bytes:
    """What was sealed.

    Raises
    ------
    SealError
        If the key is missing or the value was changed or moved.
    """
    start, _sign, rest = bytes(sealed).partition(b".")
    name = start.decode(errors="replace")
    keys = [key for held, key in _ring()["keys"].items() if plain_name(held) == name]
    if not keys:
        raise NoKeyError(f"key {name[:40]!r} is not in the key file: restore the clinic's own keys")
    for key in keys:
        try:
            return AESGCM(key).decrypt(rest[:_NONCE_BYTES], rest[_NONCE_BYTES:], place.encode())
        except (InvalidTag, ValueError):  # the latter where less than a nonce is left
            continue
    raise SealError(f"a value of {place} was changed or moved since it was sealed")


def plain_name(name: str) -> str:
    """Name of a key as sealed values bear it.

    Examples
    --------
    >>> plain_name("1~9f3c")
    '1'
    """
    return name.partition("~")[0]


def seal(plain: str, place: str) -> str:
    """Text sealed for one place."""
    return b64encode(seal_bytes(plain.encode(), place)).decode()


def unseal(sealed: str, place: str) -> str:
    """Text that was sealed.

    Raises
    ------
    SealError
        If the key is missing or the value was changed or moved.
    """
    try:
        whole = b64decode(sealed, validate=True)
    except ValueError:
        raise SealError(f"a value of {place} was changed since it was sealed") from None
    return open_bytes(whole, place).decode()


def blind_index(value: str, kind: str) -> str:
    """A keyed fingerprint by which a sealed value is found; case, accents and spaces aside."""
    plain = unicodedata.normalize("NFKD", value.casefold())
    plain = "".join(c for c in plain if c.isalnum())
    return keyed(plain, kind)


def keyed(value: str, kind: str) -> str:
    """A keyed fingerprint of a value exactly as it is."""
    said = f"{kind}:{value}".encode(errors="surrogatepass")
    return hmac.new(_ring()["index"], said, hashlib.sha256).hexdigest()


class SealedText(models.TextField):  # type: ignore[type-arg] # generic in the stubs only
    """Text that the database never sees in the clear."""

    @property
    def place(self) -> str:
        """What the value is bound to."""
        return f"{self.model._meta.model_name}.{self.name}"

    def get_prep_value(self, value: Any) -> Any:
        """Seal on the way in."""
        return None if value is None else seal(str(value), self.place)

    def from_db_value(self, value: Any, *_: Any) -> Any:
        """Open on the way out."""
        return None if value is None else unseal(value, self.place)


class SealedBytes(models.BinaryField):  # type: ignore[type-arg] # generic in the stubs only
    """A file's content that the database never sees in the clear."""

    @property
    def place(self) -> str:
        """What the value is bound to."""
        return f"{self.model._meta.model_name}.{self.name}"

    def get_db_prep_value(self, value: Any, connection: Any, prepared: bool = False) -> Any:
        """Seal on the way in."""
        if value is not None:
            value = seal_bytes(bytes(value), self.place)
        return super().get_db_prep_value(value, connection, prepared)

    def from_db_value(self, value: Any, *_: Any) -> Any:
        """Open on the way out."""
        return None if value is None else open_bytes(bytes(value), self.place)
