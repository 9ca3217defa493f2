"""Reads TOML and JSON from disk with one clear sentence for whatever is wrong."""

import hashlib
import json
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gaiter.exchange.wording import FileError, Problem

# A case is a few kB; anything near this size is another kind of file.
LARGEST_BYTES = 1_000_000


@dataclass(frozen=True)
class Parsed:
    """The content of a file and its fingerprint."""

    mapping: dict[str, Any]
    sha256: str


def parsed_file(path: Path) -> Parsed:
    """The table at the top of a TOML or JSON file.

    Raises
    ------
    FileError
        If it cannot be read, is too large, is no text, or is malformed.
    """
    name = path.name or str(path)

    def refuse(text: str) -> FileError:
        return FileError(name, [Problem("", text)])

    try:
        # Reads no further than the limit: a pipe or a device has no size to ask for.
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
        if len(raw) > LARGEST_BYTES:
            size = path.stat().st_size
            received = f"{size // 1000} kB" if size > LARGEST_BYTES else "more"
            raise refuse(
                f"the file must be at most {LARGEST_BYTES // 1000} kB; received {received}: "
                f"is this the right file?"
            )
    except OSError as error:
        raise refuse(f"cannot be read ({error.strerror}): check the path") from error
    try:
        text = raw.decode("utf-8-sig")  # some editors put a byte order mark first
    except UnicodeDecodeError as error:
        raise refuse("is not a text file in UTF-8: save it as TOML or JSON text") from error
    try:
        if path.suffix.lower() == ".json" or text.lstrip().startswith("{"):
            mapping = json.loads(
                text, parse_constant=_refuse_constant, object_pairs_hook=_refuse_twice
            )
        else:
            mapping = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise refuse(f"is not well-formed: {error}") from error
    if not isinstance(mapping, dict):
        raise refuse("must hold one table at the top; received a list or a bare value")
    return Parsed(mapping, hashlib.sha256(raw).hexdigest())


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} is no number that can be measured")


def _refuse_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """JSON lets the last of two like-named fields win; the other may have been the finding."""
    mapping: dict[str, Any] = {}
    for key, value in pairs:
        if key in mapping:
            raise ValueError(f"{key} is given twice: leave one out")
        mapping[key] = value
    return mapping
