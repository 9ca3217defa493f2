"""The folder of a study: what it is a study of, the parts done so far, and the results.

Every file is written beside its place and moved in whole, so that one that is there is complete.
"""

import csv
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, astuple, dataclass, fields
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from gaiter.core.cohort.study import LegOutcome, LegRow, Stock, SystemSummary
from gaiter.files.prices_file import Prices
from gaiter.files.whole_file import write_whole
from gaiter.files.wording import FileError, Problem


def _column(name: str, kind: pa.DataType, what: str, unit: str = "", **more: bool) -> pa.Field:
    """A column that says what it holds and in which unit."""
    told = {"what": what} | ({"unit": unit} if unit else {})
    return pa.field(name, kind, metadata=told, **more)


_TEXT, _TEXTS, _NUMBER = pa.string(), pa.list_(pa.string()), pa.float64()
_CHANCE = "fraction, 0 to 1"
SCHEMA = pa.schema(
    [
        _column("leg", _TEXT, "name of the leg in the cohort", nullable=False),
        _column("system", _TEXT, "name of the bandage system", nullable=False),
        _column("outcome", _TEXT, "what came of this system on this leg", nullable=False),
        _column("reason", _TEXT, "why, in words", nullable=False),
        _column("estimated", _TEXTS, "what of the leg was not measured", nullable=False),
        _column("materials", _TEXTS, "every material of the layers, once each", nullable=False),
        _column("chance_in_range", _NUMBER, "that every judged site is in its range", _CHANCE),
        _column("chance_at_gaiter", _NUMBER, "that the gaiter is in its range", _CHANCE),
        _column(
            "chance_above_maximum", _NUMBER, "largest above the maximum at a judged site", _CHANCE
        ),
        _column("median_at_gaiter_mmhg", _NUMBER, "likely pressure at the gaiter", "mmHg"),
        _column("rolls", pa.int64(), "rolls for one bandage", "rolls"),
        _column("cost", _NUMBER, "price of these rolls", "currency of the prices"),
    ]
)
# A chance from 1024 samples is known to about 0.01; two digits more leave nothing to chance.
_CSV_DIGITS = 4
_ABOUT_LEGS = "every candidate bandage system on every leg of a cohort, one row each"

# How a fingerprint's entries are called in a refusal.
_WORDS = {
    "cohort_sha256": "cohort file",
    "policy_sha256": "policy",
    "catalogue_sha256": "catalogue of materials",
    "systems_sha256": "bandage systems",
    "prices_sha256": "prices",
    "legs": "number of legs",
    "legs_in_a_part": "size of the parts",
}


@dataclass(frozen=True)
class NotPlanned:
    """A leg that could not be planned, and why."""

    leg: str
    reason: str


def not_planned(rows: Sequence[LegRow]) -> list[NotPlanned]:
    """Legs that could not be planned, each reason of a leg once."""
    lost = [NotPlanned(r.leg, r.reason) for r in rows if r.outcome is LegOutcome.NOT_PLANNED]
    return list(dict.fromkeys(lost))


@dataclass(frozen=True)
class StudyFolder:
    """A folder that holds one study; made by :func:`open_study`."""

    path: Path

    def finished(self, rows_of_part: Sequence[int]) -> set[int]:
        """Numbers of the parts that are there and whole; a damaged one counts as not done."""
        return {
            number
            for number, rows in enumerate(rows_of_part)
            if _rows_in(self._part(number)) == rows
        }

    def keep_part(self, number: int, rows: Sequence[LegRow]) -> None:
        """Writes the rows of one finished part."""
        write_whole(self._part(number), parquet_bytes(rows))

    def part(self, number: int) -> list[LegRow]:
        """Rows of a finished part."""
        return rows_of(pq.read_table(self._part(number), schema=SCHEMA))

    def keep_results(
        self,
        rows: Sequence[LegRow],
        summaries: Sequence[SystemSummary],
        stocks: Sequence[Stock],
    ) -> None:
        """Writes ``legs.parquet``, ``summary.csv``, ``few_materials.csv``, ``not_planned.csv``."""
        study = json.loads((self.path / "study.json").read_text(encoding="utf-8"))
        told = {"what": _ABOUT_LEGS, "study": json.dumps(study, sort_keys=True)}
        write_whole(self.path / "legs.parquet", parquet_bytes(rows, told))
        write_whole(self.path / "summary.csv", _csv_bytes(SystemSummary, summaries))
        write_whole(self.path / "few_materials.csv", _csv_bytes(Stock, stocks))
        write_whole(self.path / "not_planned.csv", _csv_bytes(NotPlanned, not_planned(rows)))

    def _part(self, number: int) -> Path:
        return self.path / "parts" / f"{number:05}.parquet"


def open_study(path: Path, fingerprint: Mapping[str, Any]) -> StudyFolder:
    """The folder of a study, made if it is not there yet.

    Parameters
    ----------
    path : Path
        The folder; other files in it stay.
    fingerprint : Mapping
        Everything that decides a number of the study.

    Raises
    ------
    FileError
        If the folder holds another study, or cannot be written.
    """
    # Through JSON, so that it compares with what is read back.
    wanted = json.loads(json.dumps(fingerprint))
    document = path / "study.json"
    try:
        (path / "parts").mkdir(parents=True, exist_ok=True)
        if document.exists():
            _require_same(path, _read(document), wanted)
        elif any((path / "parts").glob("*.parquet")):
            text = "holds parts of a study but no study.json: choose another folder"
            raise FileError(str(path), [Problem("", text)])
        else:
            write_whole(document, (json.dumps(wanted, indent=1) + "\n").encode())
    except OSError as error:
        text = f"cannot be written ({error.strerror}): choose another folder"
        raise FileError(str(path), [Problem("", text)]) from error
    return StudyFolder(path)


def prices_begun_with(path: Path) -> Prices | None:
    """Prices that the study in a folder was begun with; None where there are none.

    Raises
    ------
    FileError
        If it was begun with prices that its folder did not keep.
    """
    document = path / "study.json"
    held = _read(document) if document.is_file() else None
    if not isinstance(held, dict) or held.get("prices_sha256") is None:
        return None
    try:
        kept = Prices.of(held["prices"]["currency"], held["prices"]["roll"])
    except (KeyError, TypeError, AttributeError, ValueError):
        kept = None
    if kept is None or kept.sha256 != held["prices_sha256"]:
        text = "holds a study that was begun with prices: give the same file with --prices again"
        raise FileError(str(path), [Problem("", text)])
    return kept


def _read(document: Path) -> Any:
    try:
        return json.loads(document.read_text(encoding="utf-8"))
    except ValueError:
        return None


def _require_same(path: Path, held: Any, wanted: Mapping[str, Any]) -> None:
    if not isinstance(held, dict):
        text = "holds a study.json that cannot be read: choose another folder"
        raise FileError(str(path), [Problem("", text)])
    different = [
        key
        for key in {**wanted, **held}
        if key != "prices" and held.get(key) != wanted.get(key)  # their fingerprint tells
    ]
    if not different:
        return
    said = []
    for key in different:
        words = _WORDS.get(key, key)
        if key.endswith("sha256"):
            said.append(f"{'other' if words == 'prices' else 'another'} {words}")
        else:
            said.append(f"{words} {_echo(held.get(key))}, now {_echo(wanted.get(key))}")
    text = f"holds another study ({'; '.join(said)}): choose another folder"
    raise FileError(str(path), [Problem("", text)])


def _echo(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{key} {one}" for key, one in value.items())
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def _rows_in(path: Path) -> int | None:
    """Rows of a part, None where there is none or it is damaged."""
    try:
        return int(pq.read_metadata(path).num_rows)
    except (OSError, pa.ArrowInvalid):
        return None


def parquet_bytes(rows: Sequence[LegRow], about: Mapping[str, str] | None = None) -> bytes:
    """Rows as Parquet; the same rows give the same bytes.

    Parameters
    ----------
    rows : sequence of LegRow
    about : Mapping[str, str], optional
        What the file is, kept in its metadata.
    """
    records = [{**asdict(row), "outcome": row.outcome.value} for row in rows]
    sink = pa.BufferOutputStream()
    schema = SCHEMA.with_metadata(dict(about)) if about else SCHEMA
    pq.write_table(pa.Table.from_pylist(records, schema=schema), sink)
    return sink.getvalue().to_pybytes()


def rows_of(table: Any) -> list[LegRow]:
    """Rows of a Parquet table."""
    return [
        LegRow(
            **{
                **record,
                "outcome": LegOutcome(record["outcome"]),
                "estimated": tuple(record["estimated"]),
                "materials": tuple(record["materials"]),
            }
        )
        for record in table.to_pylist()
    ]


def _csv_bytes(kind: type[Any], records: Sequence[Any]) -> bytes:
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(field.name for field in fields(kind))
    for record in records:
        writer.writerow(map(_cell, astuple(record)))
    return stream.getvalue().encode()


def _cell(value: Any) -> Any:
    """A list in one cell; a number with as many digits as a spread of samples can tell."""
    if isinstance(value, float):
        return round(value, _CSV_DIGITS)
    return " + ".join(value) if isinstance(value, tuple) else value
