"""Reads a log of pressure sensors, CSV, with columns and units as the user states them."""

import csv
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TypeVar

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.sensor.log import SensorLog
from gaiter.core.sensor_site import SENSOR_SITES
from gaiter.core.units import PASCAL_PER_CMH2O, PASCAL_PER_MMHG
from gaiter.core.words import Said, Value
from gaiter.files.document_file import require_lines
from gaiter.files.text_file import text_of
from gaiter.files.wording import FileError, Problem

LARGEST_LOG_BYTES = 20_000_000
"""About a day at 10 samples a second. Our choice."""

MOST_ROWS = 2_000_000
"""Our choice."""

LOWEST_MMHG, HIGHEST_MMHG = -100.0, 300.0
"""Beyond these a number is a wrong unit or a sensor's error code [mmHg]. Our choice."""

LEAST_PEAK_MMHG = 1.0
"""A log that stays below this has the wrong unit or no sensor under a bandage. Our choice."""

_LONGEST_ECHO = 40
Choice = TypeVar("Choice", bound=StrEnum)
_DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab"}


class TimeUnit(StrEnum):
    """How the time column is written."""

    SECONDS = "s"
    MILLISECONDS = "ms"
    MINUTES = "min"
    ISO = "iso"


class PressureUnit(StrEnum):
    """Unit of the pressure columns."""

    MMHG = "mmHg"
    KPA = "kPa"
    HPA = "hPa"
    CMH2O = "cmH2O"


_SECONDS = {
    TimeUnit.SECONDS: 1.0,
    TimeUnit.MILLISECONDS: 1e-3,
    TimeUnit.MINUTES: 60.0,
    TimeUnit.ISO: 1.0,  # time stamps are turned to seconds as they are read
}
_MMHG = {
    PressureUnit.MMHG: 1.0,
    PressureUnit.KPA: 1000 / PASCAL_PER_MMHG,
    PressureUnit.HPA: 100 / PASCAL_PER_MMHG,
    PressureUnit.CMH2O: PASCAL_PER_CMH2O / PASCAL_PER_MMHG,
}


@dataclass(frozen=True)
class LogColumns:
    """Which column is what.

    Attributes
    ----------
    time : str
        Name of the time column.
    time_unit : TimeUnit
        With ``iso`` the times count from the first row.
    pressure_unit : PressureUnit
        Of every pressure column; never guessed.
    sites : Mapping[Landmark, str]
        Name of the column of each site.
    """

    time: str
    time_unit: TimeUnit
    pressure_unit: PressureUnit
    sites: Mapping[Landmark, str]

    def __post_init__(self) -> None:
        if not self.sites:
            raise InputError("at least one site must have a column; received none: name one")
        names = self.names()
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise InputError(
                Said(
                    "every column may be used once; received {twice} more than once: correct the "
                    "columns",
                    {"twice": _quoted(twice)},
                )
            )

    @classmethod
    def stated(
        cls, time: str, time_unit: str, pressure_unit: str, sites: Mapping[str, str]
    ) -> "LogColumns":
        """The same from text.

        Raises
        ------
        InputError
            If a unit or a site is unknown.

        Examples
        --------
        >>> LogColumns.stated("t", "s", "mmHg", {"gaiter": "p"}).names()
        ('t', 'p')
        """
        for site in sites:
            _require_sensor_site(site)
        return cls(
            time.strip(),
            _one_of(TimeUnit, Said("time unit"), time_unit),
            _one_of(PressureUnit, Said("pressure unit"), pressure_unit),
            {Landmark(site): name.strip() for site, name in sites.items()},
        )

    def names(self) -> tuple[str, ...]:
        """Names of the columns, time first."""
        return (self.time, *self.sites.values())


def _require_sensor_site(received: str) -> None:
    if received not in SENSOR_SITES:
        listed = ", ".join(SENSOR_SITES)
        raise _unknown(Said("site"), listed, received)


def _one_of(kind: type[Choice], what: Said, received: str) -> Choice:
    try:
        return kind(received)
    except ValueError:
        listed = ", ".join(member.value for member in kind)
        raise _unknown(what, listed, received) from None


def _unknown(what: Said, listed: str, received: str) -> InputError:
    return InputError(
        Said(
            "{what} must be one of {listed}; received {received}: state it exactly so",
            {"what": what, "listed": listed, "received": repr(received)},
        )
    )


def read_sensor_log(path: Path, columns: LogColumns, name: str = "") -> SensorLog:
    """The log in a CSV file.

    Fields are separated by commas, semicolons or tabs; with semicolons numbers may have a decimal
    comma. Lines that begin with ``#`` and empty lines are skipped. The first line left holds the
    names of the columns. An empty cell or ``NaN`` in a pressure column is a missing value.

    Parameters
    ----------
    path : Path
    columns : LogColumns
    name : str
        How the file is called in a refusal; else by its own name, without its folder.

    Returns
    -------
    SensorLog

    Raises
    ------
    FileError
        With what is wrong, in words.
    """
    called = name or path.name
    text, _rest = text_of(path, LARGEST_LOG_BYTES, Said("CSV text in UTF-8"), called)
    require_lines(text, Said("a sensor's log, CSV,"), called)
    try:
        return _log(text, columns)
    except InputError as error:
        raise FileError(called, [Problem("", error.said)]) from error


def _log(text: str, columns: LogColumns) -> SensorLog:
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    skipped = ["" if line.lstrip().startswith("#") else line for line in lines]
    start = next((i for i, line in enumerate(skipped) if line.strip()), None)
    if start is None:
        raise InputError("holds no line with the names of its columns: export the log again")
    delimiter, header = _header(skipped[start], columns)
    places = [header.index(name) for name in columns.names()]
    cells = _Cells(columns, decimal_comma=delimiter == ";")
    at_line: list[int] = []
    times: list[float] = []
    readings: list[list[float]] = []
    for line, row in _rows(skipped[start:], start, delimiter, len(header)):
        at_line.append(line)
        times.append(cells.time(row[places[0]], line))
        readings.append([cells.pressure(row[at], line, header[at]) for at in places[1:]])
    if not times:
        raise InputError("holds no rows below the names of its columns: export the log again")
    time_s = np.array(times) * _SECONDS[columns.time_unit]
    mmhg = np.array(readings) * _MMHG[columns.pressure_unit]
    _refuse_disorder(time_s, at_line)
    _refuse_implausible(mmhg, at_line, columns)
    return SensorLog(time_s, dict(zip(columns.sites, mmhg.T, strict=True)))


def _header(line: str, columns: LogColumns) -> tuple[str, list[str]]:
    """The delimiter with which the header names every column wanted, and the names."""
    read = {
        mark: [name.strip() for name in next(csv.reader([line], delimiter=mark))]
        for mark in _DELIMITERS
    }
    for mark, names in read.items():
        if all(names.count(wanted) == 1 for wanted in columns.names()):
            return mark, names
    names = max(read.values(), key=len)
    twice = [wanted for wanted in columns.names() if names.count(wanted) > 1]
    if twice:
        raise InputError(
            Said(
                "the file names {twice} more than once: rename one column",
                {"twice": _quoted(twice)},
            )
        )
    unknown = [wanted for wanted in columns.names() if wanted not in names]
    raise InputError(
        Said(
            "the columns must be among {names}; received {unknown}: correct the name of the column",
            {"names": _quoted(names), "unknown": _quoted(unknown)},
        )
    )


def _rows(
    lines: Sequence[str], lines_before: int, delimiter: str, width: int
) -> Iterator[tuple[int, list[str]]]:
    """Rows below the header with their line in the file, counted from 1."""
    reader = csv.reader((line + "\n" for line in lines), delimiter=delimiter)
    count = 0
    try:
        next(reader)
        for row in reader:
            if not any(cell.strip() for cell in row):
                continue
            line = lines_before + reader.line_num
            if len(row) < width or any(cell.strip() for cell in row[width:]):
                raise InputError(
                    Said(
                        "line {line} must have {width} fields, as many as there are column names; "
                        "received {count} separated by {mark}: mend the line, or separate by "
                        "semicolons where numbers have a decimal comma",
                        {
                            "line": line,
                            "width": width,
                            "count": len(row),
                            "mark": Said(_DELIMITERS[delimiter]),
                        },
                    )
                )
            count += 1
            if count > MOST_ROWS:
                raise InputError(
                    Said(
                        "must hold at most {most} rows; received more: cut the log",
                        {"most": MOST_ROWS},
                    )
                )
            yield line, row
    except csv.Error as error:
        raise InputError(
            Said(
                "line {line} cannot be read as CSV ({why}): export the log again",
                {"line": lines_before + reader.line_num, "why": str(error)},
            )
        ) from error


class _Cells:
    """Turns cells to numbers, with one decimal mark in the whole file."""

    def __init__(self, columns: LogColumns, *, decimal_comma: bool) -> None:
        self._columns = columns
        self._comma_allowed = decimal_comma
        self._mark = ""
        self._first: datetime | None = None

    def time(self, cell: str, line: int) -> float:
        """A time in the file's unit; seconds since the first one where it is a time stamp."""
        if self._columns.time_unit is TimeUnit.ISO:
            return self._since_first(cell.strip(), line)
        return self._number(cell.strip(), line, self._columns.time)

    def pressure(self, cell: str, line: int, column: str) -> float:
        """A pressure in the file's unit; NaN where missing."""
        text = cell.strip()
        if not text or text.lower() == "nan":
            return math.nan
        return self._number(text, line, column)

    def _since_first(self, text: str, line: int) -> float:
        received: dict[str, Value] = {
            "line": line,
            "column": repr(self._columns.time),
            "received": _echo(text),
        }
        try:
            stamp = datetime.fromisoformat(text)
        except ValueError:
            raise InputError(
                Said(
                    "line {line}, {column}: must be a date and time such as "
                    "2026-11-25T09:30:00.5; received {received}: correct it, or state another "
                    "time unit",
                    received,
                )
            ) from None
        self._first = self._first or stamp
        if (stamp.tzinfo is None) != (self._first.tzinfo is None):
            raise InputError(
                Said(
                    "line {line}, {column}: either every time or none must have a time zone; "
                    "received {received}: export the log again",
                    received,
                )
            )
        return (stamp - self._first).total_seconds()

    def _number(self, text: str, line: int, column: str) -> float:
        plain = self._with_point(text, line, column) if self._comma_allowed else text
        try:
            # Underscores are the programming language's own way to write numbers.
            number = math.nan if "_" in plain else float(plain)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            raise InputError(
                Said(
                    "line {line}, {column}: must be a number; received {received}: correct it, or "
                    "leave a missing pressure empty",
                    {"line": line, "column": repr(column), "received": _echo(text)},
                )
            )
        return number

    def _with_point(self, text: str, line: int, column: str) -> str:
        """Refuses a second decimal mark: it may divide thousands."""
        for mark in ",.":
            if mark in text:
                self._mark = self._mark or mark
                if mark != self._mark:
                    raise InputError(
                        Said(
                            "line {line}, {column}: numbers must have one decimal mark in the "
                            "whole file; received {received} after numbers with {mark}: export "
                            "with one mark",
                            {
                                "line": line,
                                "column": repr(column),
                                "received": _echo(text),
                                "mark": repr(self._mark),
                            },
                        )
                    )
        return text.replace(",", ".")


def _refuse_disorder(time_s: Array, at_line: list[int]) -> None:
    steps = np.diff(time_s)
    if (steps > 0).all():
        return
    at = int(np.argmax(~(steps > 0))) + 1
    raise InputError(
        Said(
            "line {line}: time must grow from row to row, but goes backwards; received {now} s "
            "after {before} s: put the rows in order, or export finer times"
            if time_s[at] < time_s[at - 1]
            else "line {line}: time must grow from row to row, but stands still; received {now} s "
            "after {before} s: put the rows in order, or export finer times",
            {
                "line": at_line[at],
                "now": f"{time_s[at]:.10g}",
                "before": f"{time_s[at - 1]:.10g}",
            },
        )
    )


def _refuse_implausible(mmhg: Array, at_line: list[int], columns: LogColumns) -> None:
    unit = columns.pressure_unit.value
    wild = (mmhg < LOWEST_MMHG) | (mmhg > HIGHEST_MMHG)
    if wild.any():
        row, column = (int(at) for at in np.argwhere(wild)[0])
        raise InputError(
            Said(
                "line {line}, {column}: pressure must be {low:g} to {high:g} mmHg; received "
                "{received:.6g} mmHg read as {unit}: is the unit right? leave a cell empty where "
                "the sensor gave an error code",
                {
                    "line": at_line[row],
                    "column": repr(columns.names()[1 + column]),
                    "low": LOWEST_MMHG,
                    "high": HIGHEST_MMHG,
                    "received": float(mmhg[row, column]),
                    "unit": unit,
                },
            )
        )
    have = mmhg[np.isfinite(mmhg)]
    if have.size and have.max() < LEAST_PEAK_MMHG:
        raise InputError(
            Said(
                "pressure must reach {least:g} mmHg somewhere; received at most {most:.3g} mmHg "
                "read as {unit}: is the unit right?",
                {"least": LEAST_PEAK_MMHG, "most": float(have.max()), "unit": unit},
            )
        )


def _quoted(names: Sequence[str]) -> str:
    return ", ".join(_echo(name) for name in names)


def _echo(text: str) -> str:
    return repr(text if len(text) <= _LONGEST_ECHO else text[:_LONGEST_ECHO] + "…")
