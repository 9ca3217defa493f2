"""Reads the shipped bandage systems and a clinic's own."""

import hashlib
import tomllib
from importlib import resources
from pathlib import Path

from pydantic import ValidationError

from gaiter.core.fabric import Catalogue
from gaiter.core.plan.system_catalogue import (
    BandageCatalogue,
    SystemsError,
    changed_by,
    with_systems,
)
from gaiter.core.plan.system_list import SystemList
from gaiter.files.document_file import require_kind
from gaiter.files.text_file import name_of, parsed_file
from gaiter.files.wording import FileError, Problem, problems_of


def with_shipped_systems(catalogue: Catalogue) -> BandageCatalogue:
    """Materials and the bandage systems that come with the program."""
    raw = resources.files("gaiter.data").joinpath("systems.toml").read_bytes()
    listed = SystemList.model_validate(tomllib.loads(raw.decode()))
    return with_systems(catalogue, listed, hashlib.sha256(raw).hexdigest())


def read_systems(path: Path, shipped: BandageCatalogue) -> BandageCatalogue:
    """The shipped systems with a clinic's file over them: some added, some taken out.

    Raises
    ------
    FileError
        With every problem in words.
    """
    parsed = parsed_file(path)
    require_kind(parsed.mapping, "gaiter.systems", name_of(path))
    try:
        clinic = SystemList.model_validate(parsed.mapping)
    except ValidationError as error:
        raise FileError(name_of(path), problems_of(error, SystemList)) from error
    try:
        return changed_by(shipped, clinic, parsed.sha256)
    except SystemsError as error:
        raise FileError(name_of(path), [Problem(*fault) for fault in error.faults]) from error
