"""Reads what was applied, ``gaiter.applied/1``, and writes what it teaches for a case file."""

from collections.abc import Mapping
from pathlib import Path

from pydantic import ValidationError

from gaiter.core.applied.document import Applied
from gaiter.core.case import Calibration, Habit, Remainder
from gaiter.exchange.text_file import parsed_file
from gaiter.exchange.wording import FileError, problems_of


def read_applied(path: Path) -> Applied:
    """What was applied, from a JSON file.

    Raises
    ------
    FileError
        With every problem in words.
    """
    try:
        return Applied.model_validate(parsed_file(path).mapping)
    except ValidationError as error:
        raise FileError(path.name, problems_of(error, Applied)) from error


def habits_entry(habits: Mapping[str, Habit]) -> str:
    """TOML for the case's bandager."""
    blocks = []
    for material, habit in habits.items():
        heights = ", ".join(
            f"{height} = {{ tension_percent = {at.tension_percent:.1f}, "
            f"sure_percent = {at.sure_percent:.1f} }}"
            for height, at in habit.heights.items()
        )
        blocks.append(
            f"[bandager.habits.{material}]\n"
            f"readings = {habit.readings}\n"
            f"spread_percent = {habit.spread_percent:.1f}\n"
            f"heights = {{ {heights} }}"
        )
    return "\n\n".join(blocks)


def calibration_entry(calibration: Calibration) -> str:
    """TOML for the case's calibration."""
    parts = [("calibration.clinic", calibration.clinic)]
    parts += [(f"calibration.systems.{name}", one) for name, one in calibration.systems.items()]
    return "\n\n".join(f"[{name}]\n{_remainder(one)}" for name, one in parts)


def _remainder(one: Remainder) -> str:
    return (
        f"bandages = {one.bandages}\nvalues = {one.values}\n"
        f"median = {one.median:.4f}\nrange95 = {one.range95:.4f}"
    )
