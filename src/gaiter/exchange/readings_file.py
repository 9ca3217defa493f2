"""Reads what was read on a bandage, ``gaiter.readings/1``."""

from pathlib import Path

from pydantic import ValidationError

from gaiter.core.applied.readings import Readings
from gaiter.exchange.text_file import parsed_file
from gaiter.exchange.wording import FileError, problems_of


def read_readings(path: Path) -> Readings:
    """The readings in a TOML or JSON file.

    Raises
    ------
    FileError
        With every problem in words.
    """
    try:
        return Readings.model_validate(parsed_file(path).mapping)
    except ValidationError as error:
        raise FileError(path.name, problems_of(error, Readings)) from error
