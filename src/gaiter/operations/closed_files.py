"""A clinic's folder and files are their owner's alone."""

import os
import stat
from collections.abc import Iterator
from pathlib import Path

from gaiter.core.errors import InputError
from gaiter.operations.environment import Environment

OTHERS = stat.S_IRWXG | stat.S_IRWXO
# SQLite's log, its index and its journal hold rows as the database does.
_BESIDE = ("", "-wal", "-shm", "-journal")


def keep_new_files_closed() -> None:
    """From now on this process and those that it starts make files for their owner alone."""
    os.umask(OTHERS)


def close_files(environment: Environment) -> str:
    """Takes group's and others' rights from what holds a clinic's data; what was done, in words.

    Returns
    -------
    str
        One sentence; empty where nothing was open.

    Raises
    ------
    InputError
        If something is open to others and this user cannot change that.

    Examples
    --------
    >>> import tempfile
    >>> from gaiter.operations.environment import read_environment
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     close_files(read_environment({"GAITER_DATA": folder}))
    ''
    """
    closed = []
    for path in _held(environment):
        try:
            mode = stat.S_IMODE(path.stat().st_mode)
        except FileNotFoundError:
            continue  # not made yet, or a log of SQLite that has just gone
        if not mode & OTHERS:
            continue
        try:
            path.chmod(mode & ~OTHERS)
        except FileNotFoundError:
            continue
        except OSError as error:
            raise InputError(
                f"{path} is open to other users (mode {mode:04o}) and cannot be closed "
                f"({error.strerror}): let its owner run `chmod go-rwx {path}`"
            ) from None
        closed.append(f"{path} ({mode:04o})")
    if not closed:
        return ""
    return f"Open to other users until now, closed to them: {', '.join(closed)}."


def _held(environment: Environment) -> Iterator[Path]:
    """Folder, secret, keys, and the database where it is a file."""
    yield from (environment.folder, environment.secret_file, environment.keys_file)
    if "sqlite" in environment.database["ENGINE"]:
        name = environment.database["NAME"]
        yield from (Path(f"{name}{end}") for end in _BESIDE)
