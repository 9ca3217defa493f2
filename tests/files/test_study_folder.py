import json
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from gaiter.core.cohort.study import LegOutcome, LegRow, Stock, SystemSummary
from gaiter.files.study_folder import not_planned, open_study, parquet_bytes, rows_of
from gaiter.files.wording import FileError

PRINT = {"cohort_sha256": "a", "samples": 256, "systems": ("x", "y"), "versions": {"numpy": "2"}}
ROWS = [
    LegRow(
        "a",
        "four_layer",
        LegOutcome.FITS,
        "fine",
        ("instep",),
        ("wool", "crepe"),
        0.5,
        0.6,
        0.01,
        40.0,
        4,
        9.5,
    ),
    LegRow("b", "four_layer", LegOutcome.NOT_PLANNED, "no calf"),
]


def test_rows_come_back_as_they_went(tmp_path: Path) -> None:
    folder = open_study(tmp_path, PRINT)
    folder.keep_part(3, ROWS)
    assert folder.part(3) == ROWS
    assert rows_of(pq.read_table(tmp_path / "parts/00003.parquet")) == ROWS
    assert parquet_bytes(ROWS) == parquet_bytes(list(ROWS))


def test_a_part_that_is_damaged_or_short_is_not_finished(tmp_path: Path) -> None:
    folder = open_study(tmp_path, PRINT)
    for number in range(3):
        folder.keep_part(number, ROWS)
    torn = tmp_path / "parts/00001.parquet"
    torn.write_bytes(torn.read_bytes()[:-20])
    folder.keep_part(2, ROWS[:1])
    assert folder.finished([2, 2, 2, 2]) == {0}


def test_the_same_study_is_opened_again(tmp_path: Path) -> None:
    open_study(tmp_path / "new/study", PRINT).keep_part(0, ROWS)
    assert open_study(tmp_path / "new/study", dict(PRINT)).finished([2]) == {0}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"samples": 512}, r"holds another study \(samples 256, now 512\): choose another folder"),
        ({"cohort_sha256": "b"}, r"\(another cohort file\)"),
        ({"systems": ("x",)}, r"\(systems x, y, now x\)"),
        ({"versions": {"numpy": "3"}}, r"\(versions numpy 2, now numpy 3\)"),
        ({"limit": 3}, r"\(limit None, now 3\)"),
    ],
)
def test_another_study_is_refused_and_nothing_is_touched(
    tmp_path: Path, changes: dict, words: str
) -> None:
    open_study(tmp_path, PRINT).keep_part(0, ROWS)
    before = (tmp_path / "study.json").read_bytes()
    with pytest.raises(FileError, match=words):
        open_study(tmp_path, {**PRINT, **changes})
    assert (tmp_path / "study.json").read_bytes() == before
    assert open_study(tmp_path, PRINT).part(0) == ROWS


def test_a_folder_that_cannot_be_trusted_is_refused(tmp_path: Path) -> None:
    open_study(tmp_path, PRINT).keep_part(0, ROWS)
    (tmp_path / "study.json").write_text("{")
    with pytest.raises(FileError, match="a study.json that cannot be read: choose another folder"):
        open_study(tmp_path, PRINT)
    (tmp_path / "study.json").unlink()
    with pytest.raises(FileError, match="parts of a study but no study.json"):
        open_study(tmp_path, PRINT)
    file = tmp_path / "file"
    file.write_text("")
    with pytest.raises(FileError, match="file: cannot be written .*choose another folder"):
        open_study(file, PRINT)


def test_study_json_says_what_the_study_is(tmp_path: Path) -> None:
    open_study(tmp_path, PRINT)
    assert json.loads((tmp_path / "study.json").read_text())["samples"] == 256


def test_the_table_says_what_it_holds_and_in_which_unit(tmp_path: Path) -> None:
    open_study(tmp_path, PRINT).keep_results(ROWS, [], [])
    schema = pq.read_schema(tmp_path / "legs.parquet")
    assert b"every candidate bandage system on every leg" in schema.metadata[b"what"]
    assert json.loads(schema.metadata[b"study"])["versions"] == {"numpy": "2"}
    assert schema.field("median_at_gaiter_mmhg").metadata[b"unit"] == b"mmHg"
    assert schema.field("chance_in_range").metadata[b"unit"] == b"fraction, 0 to 1"
    assert all(field.metadata[b"what"] for field in schema)


def test_numbers_of_a_table_of_text_are_rounded(tmp_path: Path) -> None:
    one = SystemSummary("x", "X", 3, 3, 1, 1 / 3, 0.123456789, 0.0, 2.5, None)
    folder = open_study(tmp_path, PRINT)
    folder.keep_results(ROWS, [one], [Stock(("a",), ("a",), 2, 2 / 3, 0.5)])
    assert (tmp_path / "summary.csv").read_text().split("\n")[1] == (
        "x,X,3,3,1,0.3333,0.1235,0.0,2.5,"
    )
    assert (tmp_path / "few_materials.csv").read_text().split("\n")[1] == "a,a,2,0.6667,0.5"


def test_legs_that_could_not_be_planned_are_listed_once_each(tmp_path: Path) -> None:
    twice = [*ROWS, LegRow("b", "zinc_paste", LegOutcome.NOT_PLANNED, "no calf")]
    open_study(tmp_path, PRINT).keep_results(twice, [], [])
    assert (tmp_path / "not_planned.csv").read_text() == "leg,reason\nb,no calf\n"
    assert not_planned(ROWS[:1]) == []
