"""Reads TOML and JSON from disk with one clear sentence for whatever is wrong."""

import hashlib
import json
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gaiter.files.wording import FileError, Problem

# A case is a few kB; anything near this size is another kind of file.
LARGEST_BYTES = 1_000_000


@dataclass(frozen=True)
class Parsed:
    """The content of a file and its fingerprint."""

    mapping: dict[str, Any]
    sha256: str


def text_of(path: Path, largest_bytes: int, save_as: str) -> tuple[str, bytes]:
    """The text of a file without its byte order mark, and its bytes.

    Parameters
    ----------
    path : Path
    largest_bytes : int
        No more than this is read.
    save_as : str
        How the file should have been saved, for the reader of a refusal.

    Raises
    ------
    FileError
        If it cannot be read, is too large, or is no text.
    """
    try:
        # Reads no further than the limit: a pipe or a device has no size to ask for.
        with path.open("rb") as stream:
            raw = stream.read(largest_bytes + 1)
        if len(raw) > largest_bytes:
            size = path.stat().st_size
            received = f"{size // 1000} kB" if size > largest_bytes else "more"
            raise _refusal(
                path,
                f"the file must be at most {largest_bytes // 1000} kB; received {received}: "
                f"is this the right file?",
            )
    except OSError as error:
        raise _refusal(path, f"cannot be read ({error.strerror}): check the path") from error
    try:
        return raw.decode("utf-8-sig"), raw  # some editors put a byte order mark first
    except UnicodeDecodeError as error:
        raise _refusal(path, f"is not a text file in UTF-8: save it as {save_as}") from error


def parsed_file(path: Path) -> Parsed:
    """The table at the top of a TOML or JSON file.

    Raises
    ------
    FileError
        If it cannot be read, is too large, is no text, or is malformed.
    """
    text, raw = text_of(path, LARGEST_BYTES, "TOML or JSON text")
    return Parsed(mapping_in(text, path), hashlib.sha256(raw).hexdigest())


def mapping_in(text: str, path: Path) -> dict[str, Any]:
    """The table at the top of a TOML or JSON text; the path names it in messages.

    Raises
    ------
    FileError
        If it is malformed.
    """
    try:
        if path.suffix.lower() == ".json" or text.lstrip().startswith("{"):
            mapping = json.loads(
                text, parse_constant=_refuse_constant, object_pairs_hook=_refuse_twice
            )
        else:
            mapping = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise _refusal(path, f"is not well-formed: {error}") from error
    if not isinstance(mapping, dict):
        raise _refusal(path, "must hold one table at the top; received a list or a bare value")
    return mapping


def _refusal(path: Path, text: str) -> FileError:
    return FileError(path.name or str(path), [Problem("", text)])


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
