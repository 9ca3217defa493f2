"""Reads TOML and JSON from disk with one clear sentence for whatever is wrong."""

import hashlib
import json
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gaiter.core.words import Said
from gaiter.files.wording import FileError, Problem

# A case is a few kB; anything near this size is another kind of file.
LARGEST_BYTES = 1_000_000

STANDARD_INPUT = Path("-")
"""Stands for what is piped in."""


@dataclass(frozen=True)
class Parsed:
    """The content of a file and its fingerprint."""

    mapping: dict[str, Any]
    sha256: str


def name_of(path: Path) -> str:
    """How a file is called in a message: its path as it was given."""
    return "standard input" if path == STANDARD_INPUT else str(path)


def text_of(path: Path, largest_bytes: int, save_as: Said, name: str = "") -> tuple[str, bytes]:
    """The text of a file without its byte order mark, and its bytes.

    Parameters
    ----------
    path : Path
        ``-`` is standard input.
    largest_bytes : int
        No more than this is read.
    save_as : Said
        How the file should have been saved, for the reader of a refusal.
    name : str
        How the file is called in a refusal, if not by its path.

    Raises
    ------
    FileError
        If it cannot be read, is too large, or is no text.
    """
    called = name or name_of(path)
    try:
        raw = _bytes_of(path, largest_bytes + 1)
        if len(raw) > largest_bytes:
            size = 0 if path == STANDARD_INPUT else path.stat().st_size
            # A pipe does not say how much more.
            raise _refusal(
                called,
                Said(
                    "the file must be at most {most} kB; received {size} kB: is this the right "
                    "file?"
                    if size > largest_bytes
                    else "the file must be at most {most} kB; received more: is this the right "
                    "file?",
                    {"most": largest_bytes // 1000, "size": size // 1000},
                ),
            )
    except OSError as error:
        raise _refusal(
            called, Said("cannot be read ({why}): check the path", {"why": str(error.strerror)})
        ) from error
    try:
        return raw.decode("utf-8-sig"), raw  # some editors put a byte order mark first
    except UnicodeDecodeError as error:
        raise _refusal(
            called, Said("is not a text file in UTF-8: save it as {kind}", {"kind": save_as})
        ) from error


def _bytes_of(path: Path, most: int) -> bytes:
    """No more than the first bytes: a pipe or a device has no size to ask for."""
    if path == STANDARD_INPUT:
        return sys.stdin.buffer.read(most)
    with path.open("rb") as stream:
        return stream.read(most)


def parsed_file(path: Path) -> Parsed:
    """The table at the top of a TOML or JSON file.

    Raises
    ------
    FileError
        If it cannot be read, is too large, is no text, or is malformed.
    """
    text, raw = text_of(path, LARGEST_BYTES, Said("TOML or JSON text"))
    as_json = True if path.suffix.lower() == ".json" else None
    return Parsed(mapping_in(text, name_of(path), as_json), hashlib.sha256(raw).hexdigest())


def mapping_in(text: str, name: str, as_json: bool | None = None) -> dict[str, Any]:
    """The table at the top of a TOML or JSON text.

    Parameters
    ----------
    text : str
        What was read.
    name : str
        How it is called in a refusal.
    as_json : bool or None
        None: JSON where it begins with a brace.

    Raises
    ------
    FileError
        If it is malformed.
    """
    if as_json is None:
        as_json = text.lstrip().startswith("{")
    try:
        if not as_json:
            return tomllib.loads(text)
        found = json.loads(text, parse_constant=_refuse_constant, object_pairs_hook=_refuse_twice)
        _require_whole_characters(text, found)
    except (ValueError, RecursionError) as error:
        raise _refusal(name, Said("is not well-formed: {why}", {"why": str(error)})) from error
    if not isinstance(found, dict):
        raise _refusal(
            name, Said("must hold one table at the top; received a list or a bare value")
        )
    return found


def _refusal(name: str, said: Said) -> FileError:
    return FileError(name, [Problem("", said)])


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} is no number that can be measured")


def _require_whole_characters(text: str, found: Any) -> None:
    """JSON may name half of a character, which nothing that is written from it can hold."""
    if "\\ud" not in text.lower():
        return
    try:
        json.dumps(found, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise ValueError("a text holds half of a character: type it again") from None


def _refuse_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """JSON lets the last of two like-named fields win; the other may have been the finding."""
    mapping: dict[str, Any] = {}
    for key, value in pairs:
        if key in mapping:
            raise ValueError(f"{key} is given twice: leave one out")
        mapping[key] = value
    return mapping
