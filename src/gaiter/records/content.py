"""What a row holds: as the audit log keeps it, and as the two are compared."""

import hashlib
import json
from collections.abc import Collection, Mapping
from datetime import UTC, date, datetime
from typing import Any

from django.db import models

from gaiter.records.sealing import SealedBytes, SealedText, keyed_hash, seal, unseal

_DIGEST_BYTES = 16


def name_of(row: models.Model) -> str:
    """Name of a row in the log: model and key."""
    return f"{row._meta.model_name}:{row.pk}"


def logged(row: models.Model, names: Collection[str] | None = None) -> dict[str, Any]:
    """Values of a row as the log keeps them, all or those named.

    What is sealed stays sealed, a file and a password's hash stand as keyed fingerprints, and
    everything else as it is.
    """
    return {
        field.attname: _logged(row, field)
        for field in row._meta.concrete_fields
        if names is None or field.name in names or field.attname in names
    }


def _logged(row: models.Model, field: Any) -> Any:
    value = getattr(row, field.attname)
    if value is None:
        return None
    if isinstance(field, SealedText):
        return {"sealed": seal(str(value), _place(field))}
    if isinstance(field, SealedBytes) or field.name == "password":
        return {"keyed": _fingerprint(row, field, value)}
    return _plain(field, value)


def _place(field: Any) -> str:
    return f"audit.{field.place}"


def _fingerprint(row: models.Model, field: Any, value: Any) -> str:
    content = value.encode() if isinstance(value, str) else bytes(value)
    return keyed_hash(f"{name_of(row)}.{field.attname}=".encode() + content, "record")


def _plain(field: Any, value: Any) -> Any:
    """A value as both databases give it back, whatever it was given as."""
    if isinstance(field, models.JSONField):
        return value
    value = field.to_python(value)
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, date):
        return value.isoformat()
    return value if isinstance(value, bool | int | float) else str(value)


def digest_now(row: models.Model, field: Any) -> bytes:
    """What a row holds in a field, to be compared with :func:`digest_logged`.

    Raises
    ------
    SealError
        If what is sealed does not open in this row.
    """
    value = getattr(row, field.attname)
    if value is None or isinstance(field, SealedText):
        return _digest(value)
    if isinstance(field, SealedBytes) or field.name == "password":
        return _digest({"keyed": _fingerprint(row, field, value)})
    return _digest(_plain(field, value))


def digest_logged(value: Any, field: Any) -> bytes:
    """What the log says that a field holds."""
    if isinstance(field, SealedText) and isinstance(value, Mapping):
        return _digest(unseal(value["sealed"], _place(field)))
    return _digest(value)


def _digest(value: Any) -> bytes:
    text = json.dumps(_level(value), ensure_ascii=False, sort_keys=True)
    return hashlib.blake2b(text.encode(), digest_size=_DIGEST_BYTES).digest()


def _level(value: Any) -> Any:
    """A value without what databases keep differently: 60 and 60.0, a tuple and a list."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, int | float):
        return float(value) + 0.0
    if isinstance(value, Mapping):
        return {str(key): _level(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_level(one) for one in value]
    return str(value)
