import json
import stat
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from gaiter.core.cohort.study import LegOutcome, LegRow
from gaiter.files.study_folder import open_study, parquet_bytes, rows_of, write_whole
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


def test_a_write_that_fails_leaves_what_was_there(tmp_path: Path, monkeypatch) -> None:
    path = tmp_path / "legs.parquet"
    write_whole(path, b"old")
    assert stat.S_IMODE(path.stat().st_mode) & 0o444

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", fail)
    with pytest.raises(OSError, match="No space left"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["legs.parquet"]


def test_study_json_says_what_the_study_is(tmp_path: Path) -> None:
    open_study(tmp_path, PRINT)
    assert json.loads((tmp_path / "study.json").read_text())["samples"] == 256
