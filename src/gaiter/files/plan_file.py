"""Writes and reads a plan, ``gaiter.plan/1``, and the folder it lives in."""

import errno
import hashlib
import tempfile
from collections.abc import Mapping
from contextlib import ExitStack
from pathlib import Path

from gaiter.core.plan import Plan
from gaiter.files.document_file import read_document
from gaiter.files.wording import FileError, Problem


def plan_json(plan: Plan) -> str:
    """The plan as JSON text with its fingerprint; the same plan gives the same text."""
    written = plan.model_copy(update={"written": _fingerprint(plan)})
    return written.model_dump_json(by_alias=True, indent=1) + "\n"


def read_plan(path: Path) -> Plan:
    """The plan in a JSON file, as it was written there.

    Raises
    ------
    FileError
        With every problem in words; a plan that was changed since is none.
    """
    return as_written(read_document(path, Plan), path.name)


def as_written(plan: Plan, name: str) -> Plan:
    """A plan that was read, if it is what was written; ``name`` stands in the message.

    Raises
    ------
    FileError
        If it was changed since.
    """
    if plan.written != _fingerprint(plan):
        text = "was changed since it was written, or by another program: plan anew from the case"
        raise FileError(name, [Problem("", text)])
    return plan.model_copy(update={"written": ""})


def _fingerprint(plan: Plan) -> str:
    bare = plan.model_copy(update={"written": ""})
    return hashlib.sha256(bare.model_dump_json(by_alias=True).encode()).hexdigest()


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Puts all the files into the folder, or leaves it as it was.

    Files are written in full beside their place first and moved in at the end; if one cannot be
    moved, those already moved are taken back. Other files in the folder stay and are not read.

    Raises
    ------
    FileError
        If the folder cannot be written.
    """
    made: list[Path] = []
    try:
        # Made one by one so that a failure takes away only what was made here.
        for missing in reversed([p for p in (folder, *folder.parents) if not p.exists()]):
            missing.mkdir()
            made.append(missing)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".gaiter-") as beside:
            staged, replaced = Path(beside, "new"), Path(beside, "old")
            staged.mkdir()
            replaced.mkdir()
            for name, content in files.items():
                (staged / name).write_bytes(content)
            _move_in(folder, staged, replaced, list(files))
    except OSError as error:
        for path in reversed(made):
            path.rmdir()
        raise FileError(
            str(folder),
            [Problem("", f"cannot be written ({error.strerror}): choose another folder")],
        ) from error


def _move_in(folder: Path, staged: Path, replaced: Path, names: list[str]) -> None:
    """Exchanges the files; on a failure every exchange so far is undone."""
    with ExitStack() as undo:
        for name in names:
            place = folder / name
            if place.is_dir():
                raise IsADirectoryError(errno.EISDIR, f"{name} is a folder", str(place))
            if place.exists():
                place.replace(replaced / name)
                undo.callback((replaced / name).replace, place)
            (staged / name).replace(place)
            if not (replaced / name).exists():
                undo.callback(place.unlink)
        undo.pop_all()
