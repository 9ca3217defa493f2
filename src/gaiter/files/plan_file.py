"""Writes and reads a plan, ``gaiter.plan/1``, and the folder it lives in."""

import errno
import hashlib
import tempfile
from collections.abc import Mapping
from contextlib import ExitStack
from pathlib import Path
from typing import NoReturn

from gaiter.core.plan import Plan
from gaiter.files.document_file import read_document
from gaiter.files.text_file import name_of
from gaiter.files.whole_file import sync_folder, write_whole
from gaiter.files.wording import FileError, Problem

PLAN_FILES = ("plan.json", "leg.svg", "sheet.pdf")
"""What the folder of a plan holds."""


def plan_json(plan: Plan) -> str:
    """The plan as JSON text with its fingerprint; the same plan gives the same text."""
    written = plan.model_copy(update={"written": fingerprint(plan)})
    return written.model_dump_json(by_alias=True, indent=1) + "\n"


def read_plan(path: Path) -> Plan:
    """The plan in a JSON file, as it was written there.

    Raises
    ------
    FileError
        With every problem in words; a plan that was changed since is none.
    """
    return as_written(read_document(path, Plan), name_of(path))


def as_written(plan: Plan, name: str) -> Plan:
    """A plan that was read, if it is what was written; ``name`` stands in the message.

    Raises
    ------
    FileError
        If it was changed since.
    """
    if plan.written != fingerprint(plan):
        text = "was changed since it was written, or by another program: plan anew from the case"
        raise FileError(name, [Problem("", text)])
    return plan.model_copy(update={"written": ""})


def fingerprint(plan: Plan) -> str:
    """SHA-256 over everything in a plan but its own fingerprint."""
    bare = plan.model_copy(update={"written": ""})
    return hashlib.sha256(bare.model_dump_json(by_alias=True).encode()).hexdigest()


def require_own_folder(folder: Path, plan: Plan) -> None:
    """Refuses a folder that holds the files of another case.

    A folder is the plan's own when it holds none of a plan's files, a plan with the same
    reference, or the very same plan. Without a reference nothing tells two cases apart.

    Raises
    ------
    FileError
        Naming whose files it holds, and what to do.
    """
    present = [name for name in PLAN_FILES if (folder / name).exists()]
    if not present:
        return
    if "plan.json" not in present:
        _refuse_folder(folder, f"holds {' and '.join(present)} without the plan they belong to")
    try:
        held = read_plan(folder / "plan.json")
    except FileError:
        _refuse_folder(folder, "holds a plan.json that cannot be read as a plan")
    ours, theirs = plan.case.reference, held.case.reference
    if held == plan or (ours is not None and ours == theirs):
        return
    if ours == theirs:
        _refuse_folder(folder, "holds another plan, and neither case has a reference to tell by")
    _refuse_folder(folder, f"holds the plan of another case ({theirs or 'without a reference'})")


def _refuse_folder(folder: Path, what: str) -> NoReturn:
    text = f"{what}: choose another folder, or give --force to replace it"
    raise FileError(str(folder), [Problem("", text)])


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
                write_whole(staged / name, content)
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
                _keep(place, replaced / name)
                undo.callback((replaced / name).replace, place)
            (staged / name).replace(place)
            if not (replaced / name).exists():
                undo.callback(place.unlink)
        sync_folder(folder)
        undo.pop_all()


def _keep(place: Path, kept: Path) -> None:
    """A second name for a file, so that its place is never empty; moved where none can be had."""
    try:
        kept.hardlink_to(place)
    except OSError:
        place.replace(kept)
