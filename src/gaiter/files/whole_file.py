"""A file that is there whole or not at all, also after the power went or the disk filled up."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO


@contextmanager
def whole_file(path: Path, *, private: bool = False) -> Iterator[BinaryIO]:
    """A file to write, moved to its place when the block ends well; else the place stays as it was.

    Parameters
    ----------
    path : Path
        Where the file will be. What is no ordinary file, such as a pipe, is written straight away.
    private : bool
        Whether it is for its owner alone (mode 0600); else it is like any other new file.

    Raises
    ------
    OSError
        If it cannot be written; nothing is left of it.
    """
    if path.exists() and not path.is_file():
        with path.open("wb") as stream:
            yield stream
        return
    place = path.resolve()  # a link stays one
    try:
        handle, name = tempfile.mkstemp(dir=place.parent, prefix=f".{place.name}-")
    except OSError as error:  # whoever reads of it knows the place, not the file beside it
        raise OSError(error.errno, error.strerror, str(path)) from None
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            yield stream
            sync_file(stream)
        if not private:
            beside.chmod(0o666 & ~_mask())
        beside.replace(place)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    sync_folder(place.parent)


def write_whole(path: Path, content: bytes, *, private: bool = False) -> None:
    """Writes a file beside its place and moves it in; a failure leaves the place as it was.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_whole(Path(folder, "name"), b"content")
    ...     [path.read_bytes() for path in Path(folder).iterdir()]
    [b'content']
    """
    with whole_file(path, private=private) as stream:
        stream.write(content)


def write_new(path: Path, content: bytes) -> None:
    """Writes a file for its owner alone, whole, where there is none yet.

    Raises
    ------
    FileExistsError
        If there is one, also if another process made it a moment ago: it stays as it is.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            sync_file(stream)
        os.link(name, path)
    finally:
        Path(name).unlink()
    sync_folder(path.parent)


def sync_file(stream: BinaryIO) -> None:
    """Everything written so far lies on the disk and not only in memory."""
    stream.flush()
    os.fsync(stream.fileno())


def sync_folder(folder: Path) -> None:
    """The names in a folder lie on the disk: what was moved in is found after the power went."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _mask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
