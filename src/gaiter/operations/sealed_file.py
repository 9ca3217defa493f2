"""A file sealed piece by piece while it is written, and opened the same way.

First a line that names the format and sixteen random bytes that name the file; then pieces of at
most one MiB, each with its length before it, sealed for this file, for its number and for whether
it is the last one. So a piece that was changed, moved, left out or put in from another file does
not open, and neither does a file that was cut, wherever it was.
"""

import gzip
import io
import secrets
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO

from django.utils.translation import gettext as _

from gaiter.core.errors import InputError
from gaiter.records.sealing import NoKeyError, SealError, open_bytes, seal_bytes

MAGIC = b"gaiter.backup/2\n"
_BEFORE = b"gaiter.backup/1\n"
_NAME_BYTES = 16
_LENGTH_BYTES = 4
_PIECE = 2**20
# A piece with the name of its key, nonce and tag.
_LONGEST = _PIECE + 128


class BackupError(InputError):
    """A file that is no whole backup of this clinic."""


@contextmanager
def sealed_writer(file: BinaryIO) -> Iterator[gzip.GzipFile]:
    """What is written in the block is compressed and sealed; the end is sealed when it ends well.

    Parameters
    ----------
    file : BinaryIO
        Where the sealed pieces go.
    """
    name = secrets.token_bytes(_NAME_BYTES)
    file.write(MAGIC + name)
    sealer = _Sealer(file, name)
    # Most of what is large is sealed already and grows no smaller by trying harder.
    with gzip.GzipFile(fileobj=sealer, mode="wb", compresslevel=1, mtime=0) as packed:
        yield packed
    sealer.end()


class _Sealer:
    """Collects bytes and writes them in sealed pieces."""

    def __init__(self, file: BinaryIO, name: bytes) -> None:
        self._file, self._name = file, name
        self._number = 0
        self._held = bytearray()

    def write(self, content: bytes) -> int:
        """Keeps the bytes; every whole piece goes out. The last one waits: it may be the end."""
        self._held += content
        while len(self._held) > _PIECE:
            self._out(bytes(self._held[:_PIECE]), last=False)
            del self._held[:_PIECE]
        return len(content)

    def flush(self) -> None:
        """Nothing: a piece goes out when it is whole."""

    def end(self) -> None:
        """The last piece, which says that it is."""
        self._out(bytes(self._held), last=True)

    def _out(self, piece: bytes, *, last: bool) -> None:
        sealed = seal_bytes(piece, _place(self._name, self._number, last))
        self._file.write(len(sealed).to_bytes(_LENGTH_BYTES, "big") + sealed)
        self._number += 1


def _place(name: bytes, number: int, last: bool) -> str:
    return f"backup.v2.{name.hex()}.{number}.{'last' if last else 'more'}"


@contextmanager
def sealed_reader(path: Path) -> Iterator[gzip.GzipFile]:
    """What was written, proved piece by piece while it is read.

    Raises
    ------
    BackupError
        If the file cannot be read, is none of ours, was changed or cut short, or its key is not
        here; also from reading in the block.
    """
    try:
        with path.open("rb") as file:
            _require_magic(file, path)
            pieces = io.BufferedReader(_Opener(file, path), _PIECE)
            with gzip.GzipFile(fileobj=pieces) as opened:
                yield opened
    except OSError as error:
        if not isinstance(error, gzip.BadGzipFile):
            raise BackupError(
                _("{path} cannot be read ({strerror}): choose another file").format(
                    path=path, strerror=error.strerror
                )
            ) from None
        raise spoilt(path) from None
    except (EOFError, zlib.error):
        raise spoilt(path) from None


def spoilt(path: Path) -> BackupError:
    """Says that a file is not as it was written."""
    return BackupError(
        _("{path} was cut short or changed since it was written: use another copy").format(
            path=path
        )
    )


def _require_magic(file: BinaryIO, path: Path) -> None:
    magic = file.read(len(MAGIC))
    if magic == _BEFORE:
        raise BackupError(
            _(
                "{path} was written by an earlier version of Gaiter: install that version, "
                "restore it there, upgrade, and make a new backup"
            ).format(path=path)
        )
    if magic != MAGIC:
        raise BackupError(
            _("{path} is no backup of Gaiter: choose a file that it wrote").format(path=path)
        )


class _Opener(io.RawIOBase):
    """Sealed pieces, opened one after the other."""

    def __init__(self, file: BinaryIO, path: Path) -> None:
        self._file, self._path = file, path
        self._name = file.read(_NAME_BYTES)
        self._number = 0
        self._next = self._sealed()
        if self._next is None:
            raise spoilt(path)
        self._left = memoryview(b"")

    def readable(self) -> bool:
        """Yes."""
        return True

    def readinto(self, buffer: Any) -> int:
        """Some bytes of the current piece; 0 at the end."""
        while not self._left and self._next is not None:
            self._left = memoryview(self._piece())
        count = min(len(buffer), len(self._left))
        buffer[:count] = self._left[:count]
        self._left = self._left[count:]
        return count

    def _piece(self) -> bytes:
        """The next piece; that it is the last one the file's end says, and so must the seal."""
        sealed, self._next = self._next or b"", self._sealed()
        place = _place(self._name, self._number, self._next is None)
        self._number += 1
        try:
            return open_bytes(sealed, place)
        except NoKeyError as error:
            raise BackupError(
                _("{path} cannot be opened, or was changed: {error}").format(
                    path=self._path, error=error
                )
            ) from None
        except SealError:
            raise spoilt(self._path) from None

    def _sealed(self) -> bytes | None:
        """One sealed piece as it lies in the file; None at its end."""
        length = self._file.read(_LENGTH_BYTES)
        if not length:
            return None
        size = int.from_bytes(length, "big")
        if len(length) < _LENGTH_BYTES or not 0 < size <= _LONGEST:
            raise spoilt(self._path)
        sealed = self._file.read(size)
        if len(sealed) != size:
            raise spoilt(self._path)
        return sealed
