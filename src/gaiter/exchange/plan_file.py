"""Writes and reads a plan, ``gaiter.plan/1``, and the folder it lives in."""

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from pydantic import ValidationError

from gaiter.core.plan import Plan
from gaiter.exchange.text_file import parsed_file
from gaiter.exchange.wording import FileError, Problem, problems_of


def plan_json(plan: Plan) -> str:
    """The plan as JSON text; the same plan gives the same text."""
    return plan.model_dump_json(by_alias=True, indent=1) + "\n"


def read_plan(path: Path) -> Plan:
    """The plan in a JSON file.

    Raises
    ------
    FileError
        With every problem in words.
    """
    try:
        return Plan.model_validate(parsed_file(path).mapping)
    except ValidationError as error:
        raise FileError(path.name, problems_of(error, Plan)) from error


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Puts all the files into the folder, or leaves it as it was.

    Files are written beside the folder first and moved in at the end; other files in the folder
    stay.

    Raises
    ------
    FileError
        If the folder cannot be written.
    """
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        if folder.exists() and not folder.is_dir():
            raise NotADirectoryError(20, "Not a folder", str(folder))
        with tempfile.TemporaryDirectory(dir=folder.parent, prefix=f".{folder.name}.") as beside:
            staged = Path(beside) / folder.name
            if folder.exists():
                shutil.copytree(folder, staged)
            else:
                staged.mkdir()
            for name, content in files.items():
                (staged / name).write_bytes(content)
            old = Path(beside) / "old"
            if folder.exists():
                os.rename(folder, old)
            os.rename(staged, folder)
    except OSError as error:
        raise FileError(
            str(folder),
            [Problem("", f"cannot be written ({error.strerror}): choose another folder")],
        ) from error
