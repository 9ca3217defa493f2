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
    name = path.name

    def refuse(text: str) -> FileError:
        return FileError(name, [Problem("", text)])

    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise refuse(
                f"the file must be at most {LARGEST_BYTES // 1000} kB; received "
                f"{size // 1000} kB: is this the right file?"
            )
        raw = path.read_bytes()
    except OSError as error:
        raise refuse(f"cannot be read ({error.strerror}): check the path") from error
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise refuse("is not a text file in UTF-8: save it as TOML or JSON text") from error
    try:
        if path.suffix.lower() == ".json" or text.lstrip().startswith("{"):
            mapping = json.loads(text, parse_constant=_refuse_constant)
        else:
            mapping = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise refuse(f"is not well-formed: {error}") from error
    if not isinstance(mapping, dict):
        raise refuse("must hold one table at the top; received a list or a bare value")
    return Parsed(mapping, hashlib.sha256(raw).hexdigest())


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} is no number that can be measured")
