"""Reads a cohort: one leg a line, comma-separated, the unit in every column's name."""

import csv
import hashlib
import io
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from gaiter.core.case import Case, Leg, Purpose, Sex
from gaiter.core.cohort.legs import CohortLeg
from gaiter.core.landmark import FOOT_SITES, LEG_SITES, Landmark
from gaiter.core.leg import from_bones
from gaiter.core.leg.anthropometry import PUBLISHED, nearest_sex
from gaiter.core.words import Said
from gaiter.files.document_file import require_lines
from gaiter.files.text_file import name_of, text_of
from gaiter.files.wording import FileError, Problem, echo, node_at, problems_of

LARGEST_BYTES = 100_000_000
_MOST_PROBLEMS = 10
_MM_PER_CM = 10.0
_NAME_COLUMNS = ("leg", "leg_id", "id")
_SEXES = {"f": Sex.FEMALE, "female": Sex.FEMALE, "m": Sex.MALE, "male": Sex.MALE, "": None}

# Column, without its unit, to the field of a leg. Surveys have names of their own for some.
_FIELDS: Mapping[str, str] = {
    **{f"{landmark}_girth": f"girth_cm.{landmark}" for landmark in Landmark},
    "ball_girth": "girth_cm.metatarsal_heads",
    "heel_ankle_girth": "girth_cm.heel_instep",
    "foot_length": "foot_length_cm",
    **{f"{landmark}_from_heel": f"position_cm.{landmark}" for landmark in FOOT_SITES},
    "ball_length": "position_cm.metatarsal_heads",
    **{f"{landmark}_height": f"position_cm.{landmark}" for landmark in LEG_SITES},
    "malleolus_height": "malleolus",
    "tibial_height": "tibia",
}
# Heights of bones are no part of a case; adults' ranges with room (assumptions) [cm].
_BONES = {"malleolus": (3.0, 13.0), "tibia": (28.0, 68.0)}
# Each needs one of these sets of columns.
_REQUIRED = (
    (("ankle_girth",),),
    (("calf_girth",),),
    (("ankle_height",), ("malleolus_height",)),
    (("calf_height",), ("tibial_height",)),
    (("below_knee_height",), ("tibial_height",)),
)
_COLUMN = re.compile(r"(?P<stem>.+)_(?P<unit>cm|mm)")


@dataclass(frozen=True)
class Cohort:
    """The legs of a cohort file.

    Attributes
    ----------
    legs : tuple[CohortLeg, ...]
        In the order of the file.
    sha256 : str
        Fingerprint of the file.
    unused : tuple[str, ...]
        Columns that are no measurement of a case.
    """

    legs: tuple[CohortLeg, ...]
    sha256: str
    unused: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Column:
    """A column that holds a measurement."""

    number: int
    name: str
    field: str
    per_cm: float

    @property
    def bounds_cm(self) -> tuple[float, float]:
        if self.field in _BONES:
            return _BONES[self.field]
        node = node_at(_SCHEMA, ["legs", "right", *self.field.split(".")])
        return float(node["minimum"]), float(node["maximum"])


_SCHEMA: Mapping[str, Any] = Case.model_json_schema(by_alias=True)


def read_cohort(path: Path) -> Cohort:
    """The legs in a cohort file.

    Raises
    ------
    FileError
        With every problem of the file in words. A leg whose numbers cannot be those of a leg is
        kept, with the reason.
    """
    name = name_of(path)
    text, raw = text_of(path, LARGEST_BYTES, Said("comma-separated text"))
    require_lines(text, Said("a cohort, one leg a line,"), name)
    lines = _cells(text, name)
    header = [cell.strip().lower() for cell in lines[0][1]]
    columns = _columns(header, name)
    if len(lines) == 1:
        raise FileError(name, [Problem("", "holds no leg: give one line for each leg")])
    rows = lines[1:]
    names = _names(header, rows, name)
    numbers = _numbers(columns, rows, name)
    sexes = _sexes(header, rows, name)
    _require_units(columns, numbers, name)
    legs = tuple(
        _leg(leg, sex, values) for leg, sex, values in zip(names, sexes, numbers, strict=True)
    )
    used = {column.name for column in columns} | {"sex", *_NAME_COLUMNS}
    return Cohort(
        legs,
        hashlib.sha256(raw).hexdigest(),
        tuple(column for column in header if column not in used),
    )


def _cells(text: str, name: str) -> list[tuple[int, list[str]]]:
    """Lines that hold something, with their numbers in the file."""
    first = text.split("\n", 1)[0]
    # Where the comma marks decimals, spreadsheets part the columns with semicolons.
    semicolons = first.count(";") > first.count(",")
    stream = io.StringIO(text, newline="")
    reader = csv.reader(stream, delimiter=";" if semicolons else ",", strict=True)
    lines = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                plain = [cell.replace(",", ".") for cell in cells] if semicolons else cells
                lines.append((reader.line_num, plain))
    except csv.Error as error:
        text = f"line {reader.line_num} is not comma-separated text ({error}): correct it"
        raise FileError(name, [Problem("", text)]) from error
    if not lines:
        raise FileError(name, [Problem("", "is empty: give a line of column names, then legs")])
    width = len(lines[0][1])
    _refuse_any(
        name,
        (
            Problem(f"line {line}", f"holds {len(cells)} cells where the header names {width}")
            for line, cells in lines
            if len(cells) != width
        ),
    )
    return lines


def _columns(header: Sequence[str], name: str) -> list[_Column]:
    """The columns with measurements; refuses a missing unit, a double and a missing column."""
    columns: list[_Column] = []
    problems = []
    for number, column in enumerate(header):
        match = _COLUMN.fullmatch(column)
        stem, unit = (match["stem"], match["unit"]) if match else (column, "")
        field = _FIELDS.get(stem)
        if field is None:
            continue
        if not unit:
            text = f"has no unit: name the column {stem}_cm or {stem}_mm"
            problems.append(Problem(column, text))
            continue
        same = next((other.name for other in columns if other.field == field), None)
        if same is not None:
            problems.append(Problem(column, f"means the same as {same}: leave one out"))
        columns.append(_Column(number, column, field, _MM_PER_CM if unit == "mm" else 1.0))
    stems = {stem for stem in _FIELDS if any(c.name[:-3] == stem for c in columns)}
    if not problems:
        problems += [
            Problem("", f"has no column {' or '.join(f'{one[0]}_cm' for one in ways)}: add it")
            for ways in _REQUIRED
            if not any(set(way) <= stems for way in ways)
        ]
    _refuse_any(name, iter(problems))
    return columns


def _names(header: Sequence[str], rows: Sequence[tuple[int, list[str]]], name: str) -> list[str]:
    """What each leg is called; without a column of names, its number."""
    column = next((header.index(c) for c in _NAME_COLUMNS if c in header), None)
    if column is None:
        digits = len(str(len(rows)))
        return [str(number).zfill(digits) for number in range(1, len(rows) + 1)]
    names = [cells[column].strip() for _key, cells in rows]
    first: dict[str, int] = {}
    problems = []
    for (line, _cells), leg in zip(rows, names, strict=True):
        if not leg:
            problems.append(Problem(f"line {line}", "the leg has no name: give it one"))
        elif leg in first:
            text = f"leg {leg} stands on line {first[leg]} already: give each leg its own name"
            problems.append(Problem(f"line {line}", text))
        else:
            first[leg] = line
    _refuse_any(name, iter(problems))
    return names


def _sexes(
    header: Sequence[str], rows: Sequence[tuple[int, list[str]]], name: str
) -> list[Sex | None]:
    if "sex" not in header:
        return [None] * len(rows)
    column = header.index("sex")
    found = [(line, cells[column].strip().lower()) for line, cells in rows]
    _refuse_any(
        name,
        (
            Problem(f"line {line}", f"sex must be f or m, or left empty; received {echo(text)}")
            for line, text in found
            if text not in _SEXES
        ),
    )
    return [_SEXES[text] for _key, text in found]


def _numbers(
    columns: Sequence[_Column], rows: Sequence[tuple[int, list[str]]], name: str
) -> list[dict[str, float]]:
    """Measurements of each leg by field [cm]; an empty cell was not measured."""
    found: list[dict[str, float]] = []
    problems = []
    for line, cells in rows:
        values: dict[str, float] = {}
        for column in columns:
            text = cells[column.number].strip()
            if not text:
                continue
            number = _number(text)
            if number is None:
                received = f"must be a number; received {text[:40]!r}: correct it"
                problems.append(Problem(f"line {line}, {column.name}", received))
            else:
                values[column.field] = number / column.per_cm
        found.append(values)
    _refuse_any(name, iter(problems))
    return found


def _number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if math.isfinite(number) else None


def _require_units(
    columns: Sequence[_Column], numbers: Sequence[Mapping[str, float]], name: str
) -> None:
    """Refuses a column in which every value shows that its unit is wrong."""
    problems = []
    for column in columns:
        values = [found[column.field] for found in numbers if column.field in found]
        low, high = column.bounds_cm
        for wrong, right, unit, factor in (
            ("large", "mm", "cm", 1 / _MM_PER_CM),
            ("small", "cm", "mm", _MM_PER_CM),
        ):
            outside = all(value > high if wrong == "large" else value < low for value in values)
            inside = sum(low <= value * factor <= high for value in values)
            if values and outside and 2 * inside > len(values):
                first = values[0] * column.per_cm
                text = (
                    f"every value is about ten times too {wrong} for {column.name[-2:]} (the "
                    f"first is {first:g}): is it in {right}? Name the column "
                    f"{column.name[:-3]}_{right}"
                    if column.name.endswith(unit)
                    else f"every value is about ten times too {wrong} (the first is {first:g}): "
                    f"measure again or correct the file"
                )
                problems.append(Problem(column.name, text))
    _refuse_any(name, iter(problems))


def _leg(leg_name: str, sex: Sex | None, measured: Mapping[str, float]) -> CohortLeg:
    """One leg, completed as far as a case requires it; what was derived is named."""
    values, estimated = _completed(sex, measured)
    missing = [
        field.replace("_cm.", " of ").replace("_", " ")
        for field in ("girth_cm.ankle", "girth_cm.calf", *_HEIGHTS)
        if field not in values
    ]
    if missing:
        return CohortLeg(leg_name, sex, None, estimated, f"not measured: {', '.join(missing)}")
    for bone, (low, high) in _BONES.items():
        if bone in values and not low <= values[bone] <= high:
            reason = f"{bone} height must be {low:g} to {high:g} cm; received {values[bone]:g}"
            return CohortLeg(leg_name, sex, None, estimated, f"{reason}: measure it again")
    tables: dict[str, Any] = {"purpose": Purpose.VENOUS_ULCER, "girth_cm": {}, "position_cm": {}}
    for field, value in values.items():
        table, _sign, key = field.partition(".")
        if key:
            tables[table][key] = value
        elif table not in _BONES:
            tables[table] = value
    try:
        leg = Leg.model_validate(tables)
    except ValidationError as error:
        reason = "; ".join(str(problem) for problem in problems_of(error, Leg))
        return CohortLeg(leg_name, sex, None, estimated, reason)
    return CohortLeg(leg_name, sex, leg, estimated)


_HEIGHTS = ("position_cm.ankle", "position_cm.calf", "position_cm.below_knee")


def _completed(
    sex: Sex | None, measured: Mapping[str, float]
) -> tuple[dict[str, float], tuple[str, ...]]:
    """What a case requires, derived where the cohort does not have it [cm]."""
    values = dict(measured)

    def derive(field: str, value_cm: float) -> None:
        # A tape reads no further than a tenth of a millimetre.
        values[field] = round(value_cm, 2)

    if "malleolus" in values and "position_cm.ankle" not in values:
        derive("position_cm.ankle", from_bones.ankle_height_cm(values["malleolus"]))
    if "tibia" in values and "position_cm.below_knee" not in values:
        derive("position_cm.below_knee", from_bones.below_knee_height_cm(values["tibia"]))
    if {"tibia", "position_cm.ankle"} <= set(values) and "position_cm.calf" not in values:
        height = from_bones.calf_height_cm(values["position_cm.ankle"], values["tibia"])
        derive("position_cm.calf", height)
    if "girth_cm.calf" in values and "girth_cm.below_knee" not in values:
        derive("girth_cm.below_knee", from_bones.below_knee_girth_cm(values["girth_cm.calf"]))
    if "girth_cm.ankle" in values and "girth_cm.metatarsal_heads" not in values:
        foot = values.get("girth_cm.heel_instep"), values.get("foot_length_cm")
        group = PUBLISHED[sex or nearest_sex(*foot)]
        derive("girth_cm.metatarsal_heads", group.ball_girth_on_ankle.at(values["girth_cm.ankle"]))
    return values, tuple(field for field in values if field not in measured)


def _refuse_any(name: str, problems: Iterator[Problem]) -> None:
    found = list(problems)
    if len(found) > _MOST_PROBLEMS:
        more = Problem("", f"and {len(found) - _MOST_PROBLEMS} more like these")
        found = [*found[:_MOST_PROBLEMS], more]
    if found:
        raise FileError(name, found)
