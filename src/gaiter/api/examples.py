"""The invented examples that come with the program."""

import os
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from gaiter.files.plan_file import write_folder


def copy_examples(folder: str | os.PathLike[str]) -> Path:
    """Writes the shipped examples into a folder: cases, readings, a cohort, a sensor's log.

    Parameters
    ----------
    folder : str or path
        Made if it is not there; other files in it stay.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    InputError
        If the folder cannot be written.
    """
    copied = Path(folder)
    _copy(resources.files("gaiter.data").joinpath("examples"), copied)
    return copied


def _copy(source: Traversable, folder: Path) -> None:
    entries = sorted(source.iterdir(), key=lambda entry: entry.name)
    write_folder(folder, {one.name: one.read_bytes() for one in entries if one.is_file()})
    for one in entries:
        if one.is_dir():
            _copy(one, folder / one.name)
