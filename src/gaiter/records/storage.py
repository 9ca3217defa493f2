"""Whether a disk is full: of a fault, and of the folder of the database."""

import errno
import os
import sqlite3
import tempfile
from pathlib import Path

_NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
# sqlite.org/rescode.html: FULL, IOERR_WRITE, IOERR_FSYNC, IOERR_TRUNCATE, IOERR_SHMSIZE.
_SQLITE_NO_ROOM = {13, 778, 1034, 1546, 4874}
# PostgreSQL error codes, appendix A of its documentation: disk_full.
_POSTGRESQL_NO_ROOM = "53100"
_NEEDED_BYTES = 16 * 2**20


def is_full(error: BaseException | None) -> bool:
    """Whether a fault, or one that it came from, says that a disk is full.

    Examples
    --------
    >>> is_full(OSError(errno.ENOSPC, "No space left on device"))
    True
    >>> is_full(OSError(errno.ENOENT, "No such file or directory"))
    False
    """
    while error is not None:
        if isinstance(error, OSError) and error.errno in _NO_ROOM:
            return True
        if isinstance(error, sqlite3.Error):
            return getattr(error, "sqlite_errorcode", 0) in _SQLITE_NO_ROOM
        if getattr(error, "sqlstate", "") == _POSTGRESQL_NO_ROOM:
            return True
        error = error.__cause__ or error.__context__
    return False


def has_room(folder: Path, needed_bytes: int = _NEEDED_BYTES) -> bool:
    """Whether a file of some megabytes could be written in a folder now.

    The room is asked for and given back; nothing is written.
    """
    try:
        with tempfile.TemporaryFile(dir=folder) as file:
            os.posix_fallocate(file.fileno(), 0, needed_bytes)
    except OSError as error:
        if error.errno in _NO_ROOM:
            return False
        raise
    return True
