"""Encryption at rest: AES-GCM with a key ring, and a blind index to look sealed values up.

A sealed value is ``key name . nonce + ciphertext``, and text the base64 of that. The place it
belongs to is authenticated with it: model, field and key of its row, so that a value moved to
another column or another row does not open. A field's value is therefore opened by its row, when
it is first read. Where two key rings were merged a name may stand for several keys, ``NAME`` and
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
from django.db.models.query_utils import DeferredAttribute

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
        held = b64decode(sealed, validate=True)
    except ValueError:
        raise SealError(f"a value of {place} was changed or moved since it was sealed") from None
    return open_bytes(held, place).decode()


def blind_index(value: str, kind: str) -> str:
    """A keyed fingerprint by which a sealed value is found; case, accents and spaces aside."""
    plain = unicodedata.normalize("NFKD", value.casefold())
    plain = "".join(c for c in plain if c.isalnum())
    return keyed(plain, kind)


def keyed(value: str, kind: str) -> str:
    """A keyed fingerprint of a value exactly as it is."""
    said = f"{kind}:{value}".encode(errors="surrogatepass")
    return hmac.new(_ring()["index"], said, hashlib.sha256).hexdigest()


def keyed_hash(content: bytes, purpose: str) -> str:
    """A fingerprint that nobody can make, or try guesses on, without the clinic's keys."""
    key = hmac.new(_ring()["index"], f"gaiter {purpose}".encode(), hashlib.sha256).digest()
    return hmac.new(key, content, hashlib.sha256).hexdigest()


class _SealedStr(str):
    """Text as the database holds it."""

    __slots__ = ()


class _SealedContent(bytes):
    """A content as the database holds it."""

    __slots__ = ()


class _OpenedByRow(DeferredAttribute):
    """Opens a value when its row is asked for it; the row's key is part of its place."""

    def __get__(self, instance: Any, cls: Any = None) -> Any:
        """The value in the clear."""
        if instance is None:
            return self
        field: Any = self.field
        value = field.opened(super().__get__(instance, cls), instance.pk)
        instance.__dict__[field.attname] = value
        return value

    def __set__(self, instance: Any, value: Any) -> None:
        instance.__dict__[self.field.attname] = value


class _SealedField(models.Field):  # type: ignore[type-arg] # generic in the stubs only
    """What sealed fields have in common."""

    descriptor_class = _OpenedByRow

    @property
    def place(self) -> str:
        """Model and field."""
        return f"{self.model._meta.model_name}.{self.name}"

    def place_in(self, key: Any) -> str:
        """What the value of one row is bound to."""
        if key is None:
            raise SealError(f"{self.place} is sealed for its row: the row needs its key first")
        return f"{self.place}#{key}"

    def pre_save(self, model_instance: Any, add: bool) -> Any:
        """Seal on the way in; what nobody opened goes as it came."""
        held = model_instance.__dict__.get(self.attname, self)
        value = getattr(model_instance, self.attname) if held is self else held
        return self.sealed(value, model_instance.pk)

    def sealed(self, value: Any, key: Any) -> Any:
        """A value as the database holds it."""
        raise NotImplementedError

    def opened(self, value: Any, key: Any) -> Any:
        """A value in the clear, of the row with this key."""
        raise NotImplementedError

    def opened_by_column(self, row: Any) -> Any:
        """A value in the clear that an earlier version sealed for its column, whatever the row.

        One that is bound to its row already opens as well.
        """
        held = row.__dict__[self.attname]
        try:
            return self.opened(held, row.pk)
        except SealError:
            opens: Any = unseal if isinstance(held, _SealedStr) else open_bytes
            return opens(held, self.place)

    def _require_sealed(self, value: Any) -> None:
        if value is not None and not isinstance(value, _SealedStr | _SealedContent):
            raise SealError(f"{self.place} is sealed by its row: save the row")


class SealedText(_SealedField, models.TextField):  # type: ignore[type-arg] # generic in the stubs only
    """Text that the database never sees in the clear."""

    def sealed(self, value: Any, key: Any) -> Any:
        """A text as the database holds it."""
        if value is None or isinstance(value, _SealedStr):
            return value
        return _SealedStr(seal(str(value), self.place_in(key)))

    def opened(self, value: Any, key: Any) -> Any:
        """A text in the clear, of the row with this key."""
        return unseal(value, self.place_in(key)) if isinstance(value, _SealedStr) else value

    def get_prep_value(self, value: Any) -> Any:
        """Only what a row has sealed goes in."""
        self._require_sealed(value)
        return None if value is None else str(value)

    def from_db_value(self, value: Any, *_: Any) -> Any:
        """As it is held."""
        return None if value is None else _SealedStr(value)


class SealedBytes(_SealedField, models.BinaryField):  # type: ignore[type-arg] # generic in the stubs only
    """A file's content that the database never sees in the clear."""

    def sealed(self, value: Any, key: Any) -> Any:
        """A content as the database holds it."""
        if value is None or isinstance(value, _SealedContent):
            return value
        return _SealedContent(seal_bytes(bytes(value), self.place_in(key)))

    def opened(self, value: Any, key: Any) -> Any:
        """A content in the clear, of the row with this key."""
        return open_bytes(value, self.place_in(key)) if isinstance(value, _SealedContent) else value

    def get_db_prep_value(self, value: Any, connection: Any, prepared: bool = False) -> Any:
        """Only what a row has sealed goes in."""
        self._require_sealed(value)
        held = None if value is None else bytes(value)
        return super().get_db_prep_value(held, connection, prepared)

    def from_db_value(self, value: Any, *_: Any) -> Any:
        """As it is held."""
        return None if value is None else _SealedContent(bytes(value))


def sealed_fields(model: type[models.Model]) -> list["SealedText | SealedBytes"]:
    """The sealed fields of a model."""
    return [f for f in model._meta.concrete_fields if isinstance(f, SealedText | SealedBytes)]
