"""One short name for the whole of some files, so that an address may be kept for ever."""

import hashlib
from collections.abc import Iterable
from pathlib import Path


def fingerprint(folders: Iterable[Path]) -> str:
    """Twelve hexadecimal digits over the names and contents of every file below some folders.

    Static files are served below it: a browser may keep them for ever, because whatever changes
    has another address, and a style sheet or script that names its neighbour needs no rewriting.

    Examples
    --------
    >>> len(fingerprint([Path(__file__).parent]))
    12
    """
    digest = hashlib.sha256()
    for folder in folders:
        for path in sorted(path for path in folder.rglob("*") if path.is_file()):
            content = path.read_bytes()
            digest.update(f"{path.relative_to(folder)} {len(content)}\n".encode())
            digest.update(content)
    return digest.hexdigest()[:12]
