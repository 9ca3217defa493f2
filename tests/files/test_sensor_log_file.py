"""A log in any usual layout is read with the columns and units stated; all else is refused."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.files import sensor_log_file
from gaiter.files.sensor_log_file import LogColumns, read_sensor_log
from gaiter.files.wording import FileError
from tests.sensor_logs import csv_text, example

EXAMPLE = Path(__file__).parents[2] / "examples/sensor/gaiter-and-calf.csv"
GAITER, CALF = Landmark.GAITER, Landmark.CALF
VALUES = [40.0 + at / 4 for at in range(12)]


def columns(unit: str = "mmHg", time_unit: str = "s", **sites: str) -> LogColumns:
    return LogColumns.stated("t", time_unit, unit, sites or {"gaiter": "p"})


def lines(values=VALUES, times=None, delimiter: str = ",", head: str = "t,p") -> str:
    times = range(len(values)) if times is None else times
    rows = [f"{time}{delimiter}{value}" for time, value in zip(times, values, strict=True)]
    return "\n".join([head.replace(",", delimiter), *rows]) + "\n"


@pytest.fixture
def read(tmp_path: Path):
    def reader(text: str | bytes, stated: LogColumns | None = None):
        path = tmp_path / "log.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_sensor_log(path, stated or columns())

    return reader


def test_the_example_is_the_invented_log_to_its_last_digit() -> None:
    assert EXAMPLE.read_text().splitlines()[0] == "# invented"
    stated = LogColumns.stated(
        "time (s)", "s", "mmHg", {"gaiter": "gaiter (mmHg)", "calf": "calf (mmHg)"}
    )
    log, made = read_sensor_log(EXAMPLE, stated), example()
    np.testing.assert_allclose(log.time_s, made.time_s, atol=1e-6)
    for site in (GAITER, CALF):
        # Printed to 0.1 mmHg.
        np.testing.assert_allclose(log.pressure_mmhg[site], made.pressure_mmhg[site], atol=0.0501)
    assert EXAMPLE.read_text() == csv_text(made)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_delimiter_and_line_end_reads_the_same(read, delimiter: str, end: str) -> None:
    log = read(lines(delimiter=delimiter).replace("\n", end))
    assert log.pressure_mmhg[GAITER].tolist() == VALUES
    assert log.time_s.tolist() == list(range(12))


def test_a_decimal_comma_is_read_between_semicolons(read) -> None:
    text = lines(delimiter=";", times=[at / 2 for at in range(12)]).replace(".", ",")
    log = read(text)
    assert log.pressure_mmhg[GAITER].tolist() == VALUES
    assert log.time_s[1] == 0.5


def test_a_second_decimal_mark_is_refused(read) -> None:
    text = lines(delimiter=";").replace("40.25", "40,25")
    with pytest.raises(FileError, match=r"log.csv: line 3, 'p': numbers must have one decimal mark "
                       r"in the whole file; received '40,25' after numbers with '\.'"):  # fmt: skip
        read(text)


def test_a_decimal_comma_between_commas_is_refused(read) -> None:
    with pytest.raises(FileError, match="line 2 must have 2 fields.* received 3 separated by comma"
                       ".*semicolons where numbers have a decimal comma"):  # fmt: skip
        read(lines([f"{value:.2f}".replace(".", ",") for value in VALUES]))


def test_comments_empty_lines_and_a_byte_order_mark_are_no_content(read) -> None:
    text = "\ufeff# made by a logger; at 10 Hz, a,b\n\n" + lines().replace("\n3,", "\n# x\n\n3,")
    assert read(text).pressure_mmhg[GAITER].tolist() == VALUES


def test_columns_may_stand_in_any_order_among_others(read) -> None:
    body = "\n".join(f"x;{value + 5};{at};{value}" for at, value in enumerate(VALUES))
    log = read(f'note;" hi, there ";t;low\n{body}\n', columns(gaiter="low", calf="hi, there"))
    assert log.pressure_mmhg[GAITER].tolist() == VALUES
    assert log.pressure_mmhg[CALF].tolist() == [value + 5 for value in VALUES]


@pytest.mark.parametrize("empty", ["", " ", "NaN", "nan"])
def test_empty_cells_are_missing_values(read, empty: str) -> None:
    values = [*VALUES[:5], empty, *VALUES[6:]]
    log = read(lines(values))
    assert np.flatnonzero(np.isnan(log.pressure_mmhg[GAITER])).tolist() == [5]


@pytest.mark.parametrize(
    ("unit", "times", "seconds"),
    [
        ("s", range(12), range(12)),
        ("ms", range(0, 1200, 100), [at / 10 for at in range(12)]),
        ("min", range(12), range(0, 720, 60)),
        ("s", range(-3, 9), range(-3, 9)),
        ("iso", [f"2026-11-25T23:59:{50 + at}.5" for at in range(10)]
         + ["2026-11-26T00:00:00", "2026-11-26 00:00:01"], [*range(10), 9.5, 10.5]),
        ("iso", [f"2026-10-25T0{1 + at}:00:00+0{1 + at}:00" for at in range(0, 2)]
         + [f"2026-10-25T12:00:{at:02}Z" for at in range(10)], None),
    ],
)  # fmt: skip
def test_times_are_turned_to_seconds(read, unit, times, seconds) -> None:
    if seconds is None:  # the same moment in two zones
        with pytest.raises(FileError, match="line 3: time must grow .* stands still"):
            read(lines(times=times), columns(time_unit=unit))
        return
    log = read(lines(times=times), columns(time_unit=unit))
    assert log.time_s == pytest.approx(list(seconds), abs=1e-9)


@pytest.mark.parametrize(
    ("unit", "pascal"), [("mmHg", 133.322387415), ("kPa", 1000), ("hPa", 100), ("cmH2O", 98.0665)]
)
@given(st.floats(1.01, 290))
@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_pressures_are_turned_to_mmhg(read, unit: str, pascal: float, mmhg: float) -> None:
    """Pascal in one unit, by definition; 1 mmHg is 133.322387415 Pa."""
    written = repr(mmhg * 133.322387415 / pascal)
    log = read(lines([written] * 12), columns(unit))
    assert log.pressure_mmhg[GAITER] == pytest.approx([mmhg] * 12, abs=1e-6)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("t", "hours", "mmHg", {"gaiter": "p"}),
         "time unit must be one of s, ms, min, iso; received 'hours': state it exactly so"),
        (("t", "s", "bar", {"gaiter": "p"}),
         "pressure unit must be one of mmHg, kPa, hPa, cmH2O; received 'bar'"),
        (("t", "s", "", {"gaiter": "p"}), "pressure unit must be one of .* received ''"),
        (("t", "s", "mmHg", {"shin": "p"}), "site must be one of gaiter, ankle, calf, .*'shin'"),
        # A girth is taken there, and no sensor lies on it.
        (("t", "s", "mmHg", {"heel_instep": "p"}), "site must be one of gaiter, .*'heel_instep'"),
        (("t", "s", "mmHg", {}), "at least one site must have a column; received none"),
        (("t", "s", "mmHg", {"gaiter": "p", "calf": "p"}), "used once; received 'p' more than"),
        (("t", "s", "mmHg", {"gaiter": "t"}), "used once; received 't' more than once"),
    ],
)  # fmt: skip
def test_columns_that_cannot_be_are_refused(arguments, words: str) -> None:
    with pytest.raises(InputError, match=words):
        LogColumns.stated(*arguments)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "holds no line with the names of its columns"),
        ("# only words\n\n", "holds no line with the names of its columns"),
        ("t,p\n", "holds no rows below the names of its columns: export the log again"),
        ("t,p\n,\n", "holds no rows below the names"),
        ("time;q;r\n1;2;3\n", "must be among 'time', 'q', 'r'; received 't', 'p': correct"),
        ("t,p,p\n1,2,3\n", "the file names 'p' more than once: rename one column"),
        (lines(["40", "low", *VALUES[2:]]), "line 3, 'p': must be a number; received 'low'"),
        (lines(["40", "x" * 99, *VALUES[2:]]), "received 'x{40}…': correct it"),
        (lines(["40", "4_0", *VALUES[2:]]), "line 3, 'p': must be a number; received '4_0'"),
        (lines(["40", "inf", *VALUES[2:]]), "line 3, 'p': must be a number; received 'inf'"),
        (lines(times=["", *range(1, 12)]), "line 2, 't': must be a number; received ''"),
        (lines(times=["nan", *range(1, 12)]), "line 2, 't': must be a number; received 'nan'"),
        ("# a\n\n" + lines(times=[0, 1, 2, 1.5, *range(4, 12)]),
         "line 7: time must grow from row to row, but goes backwards; received 1.5 s after 2 s"),
        (lines(times=[0, 1, 1, *range(3, 12)]), "line 4: .* but stands still; .*finer times"),
        (lines([*VALUES[:4], 301, *VALUES[5:]]),
         "line 6, 'p': pressure must be -100 to 300 mmHg; received 301 mmHg read as mmHg: "
         "is the unit right"),
        (lines([*VALUES[:4], -9999, *VALUES[5:]]), "received -9999 mmHg .* error code"),
        (lines([0.9] * 12), "must reach 1 mmHg somewhere; received at most 0.9 mmHg .* the unit"),
        (lines(VALUES[:5]), "at least 10 samples; received 5: record longer"),
        ("t,p\n0,40\n1\n", "line 3 must have 2 fields, as many as there are column names; "
         "received 1"),
        ('t,p\n0,40\n1,"4' + "1" * 200_000, "line 3 cannot be read as CSV .field larger"),
        (b"t,p\n0,\xff\n", "is not a text file in UTF-8: save it as CSV text in UTF-8"),
        ("t,p\n0,4\0\n", "line 2"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_used_is_refused_in_one_sentence(read, text, words: str) -> None:
    with pytest.raises(FileError, match=words) as refused:
        read(text)
    assert str(refused.value).startswith("log.csv: ")
    assert len(str(refused.value).splitlines()) == 1


@pytest.mark.parametrize(
    ("stamps", "words"),
    [
        (["12:00:01"], "line 2, 't': must be a date and time such as .* received '12:00:01'"),
        (["2026-11-25T10:00:00", "2026-11-25T10:00:01Z"],
         "line 3, 't': either every time or none must have a time zone"),
    ],
)  # fmt: skip
def test_time_stamps_that_cannot_be_are_refused(read, stamps, words: str) -> None:
    with pytest.raises(FileError, match=words):
        read(lines(VALUES[: len(stamps)], stamps), columns(time_unit="iso"))


def test_a_log_far_from_any_bandage_is_questioned(read) -> None:
    with pytest.raises(FileError, match="received 300.025 mmHg read as kPa: is the unit right"):
        read(lines(), columns("kPa"))
    with pytest.raises(FileError, match="is the unit right"):
        read(lines([value / 1000 for value in VALUES]))


def test_a_file_with_too_many_rows_or_bytes_is_refused(read, monkeypatch) -> None:
    monkeypatch.setattr(sensor_log_file, "MOST_ROWS", 12)
    assert read(lines()).time_s.size == 12
    with pytest.raises(FileError, match="must hold at most 12 rows; received more: cut the log"):
        read(lines([*VALUES, 41]))
    monkeypatch.setattr(sensor_log_file, "LARGEST_LOG_BYTES", 1000)
    with pytest.raises(FileError, match="at most 1 kB; received 2 kB: is this the right file?"):
        read(lines() + "#" * 2500)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"none.csv: cannot be read .No such file"):
        read_sensor_log(tmp_path / "none.csv", columns())


@given(st.text(alphabet=st.sampled_from('tp,;\t\n\r"#.0123456789-eE naN\0_é'), max_size=120))
@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_text_ends_in_anything_but_a_log_or_a_refusal(read, body: str) -> None:
    for text in (body, "t,p\n" + body, "t;p\n" + lines(delimiter=";")[4:] + body):
        try:
            log = read(text)
        except FileError as refused:
            assert str(refused).startswith("log.csv: ")  # noqa: PT017
        else:
            assert log.time_s.size >= 10
