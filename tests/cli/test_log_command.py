"""``gaiter log`` on the example and on files made for one line of its output."""

import json
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from gaiter.cli import app
from tests.sensor_logs import Truth

RUN = CliRunner()
EXAMPLE = Path(__file__).parents[2] / "examples/sensor/gaiter-and-calf.csv"
SITES = ["--site", "gaiter=gaiter (mmHg)", "--site", "calf=calf (mmHg)"]
READ = ["log", str(EXAMPLE), "--time", "time (s)", "--time-unit", "s", "--unit", "mmHg"]


def printed(*more: str) -> str:
    result = RUN.invoke(app, [*READ, *SITES, *more])
    assert result.exit_code == 0, result.output
    return result.output


@pytest.fixture
def log_of(tmp_path: Path):
    """Runs the command on a file with one column, p."""

    def run(time, pressure, *more: str):
        path = tmp_path / "log.csv"
        rows = [f"{t:.6g},{p:.2f}" for t, p in zip(time, pressure, strict=True)]
        path.write_text("\n".join(["t,p", *rows]))
        arguments = ["log", str(path), "--time", "t", "--time-unit", "s", "--unit", "mmHg"]
        return RUN.invoke(app, [*arguments, "--site", "gaiter=p", *more])

    return run


def test_the_example_is_told_in_words() -> None:
    told = printed()
    assert "gaiter-and-calf.csv: 465 s, a sample every 0.2 s" in told
    gaiter, calf = told.split("\ncalf\n")
    assert "resting            40.7 mmHg (SD 0.5; 2.5 to 328.1 s, found; 0 % of samples" in gaiter
    assert "standing           55.0 mmHg" in gaiter
    assert "static stiffness   14.3 mmHg: stiff (10 mmHg and above is called stiff)" in gaiter
    assert "mmHg (median of 29 cycles;" in gaiter
    assert "mmHg/h (standard error at least 0.5, over 325 s)" in gaiter
    assert "no flags" in gaiter
    assert "8.2 mmHg (the 10 mmHg yardstick is for the gaiter)" in calf
    assert "found; 4 % of samples missing)" in calf
    assert "flag: gap, 420.0 to 423.0 s: 14 samples without a value" in calf
    assert "none is smoothed or filled in" in told


def test_json_holds_what_is_told() -> None:
    told = json.loads(printed("--json"))
    gaiter, calf = told["sites"]["gaiter"], told["sites"]["calf"]
    assert gaiter["static_stiffness_mmhg"] == pytest.approx(14.3, abs=0.05)
    assert gaiter["stiff"] is True
    assert gaiter["resting"]["span"]["start_s"] == pytest.approx(2.5)
    assert calf["working_amplitude"]["cycles"] == 26
    assert [artefact["kind"] for artefact in calf["artefacts"]] == ["gap"]
    assert (gaiter["reasons"], gaiter["unchecked"], told["questions"]) == ({}, [], [])


def test_stated_spans_are_used_and_said() -> None:
    told = printed("--rest", "10:130", "--standing", "340:380", "--movement", "395:415")
    assert "10.0 to 130.0 s, stated" in told
    assert "340.0 to 380.0 s, stated" in told
    assert "395.0 to 415.0 s, stated" in told
    assert "drift              none: the rest is too short, 120.0 s; at least 300 s" in told


def test_a_soft_bandage_is_not_called_stiff(log_of) -> None:
    truth = Truth(standing=45.0)
    told = log_of(truth.times(), truth.pressures()).output
    assert "mmHg: not stiff (10 mmHg and above is called stiff)" in told


def test_what_cannot_be_had_says_why(log_of) -> None:
    time = np.arange(0, 60, 1.0)
    told = log_of(time, 40 + 0.3 * np.sin(time)).output
    assert "resting            none: only one quiet level (40.0 mmHg)" in told
    assert "static stiffness   none: it takes a resting and a standing pressure" in told
    assert "working amplitude  none: no phase with at least 3 cycles was found" in told
    assert "drift              none: there is no resting pressure" in told
    assert "not checked: jumps of less than 300 mmHg" in told


def test_many_flags_are_counted_and_questions_asked(log_of) -> None:
    truth = Truth()
    pressure = truth.pressures()
    pressure[50:1500:50] = 150.0  # 29 spikes
    pressure[1510] = -9.0
    result = log_of(truth.times(), pressure, "--rest", "335:385", "--standing", "10:320")
    assert result.output.count("flag: jump, ") == 11
    assert "flag: jump, 19 more, all listed with --json" in result.output
    assert "flag: negative, 302.0 to 302.0 s" in result.output
    assert "% flagged" in result.output
    assert "Question: the gaiter reads" in result.output


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--site", "gaiter"], "--site must be SITE=COLUMN, such as gaiter=p1; received 'gaiter'"),
        (["--site", "=p"], "--site must be SITE=COLUMN"),
        (["--site", "shin=p"], "site must be one of"),
        ([*SITES, "--site", "calf=x"], "--site calf is given twice: leave one out"),
        (["--site", "gaiter=p"], "must be among 'time (s)', 'gaiter (mmHg)', 'calf (mmHg)'"),
        ([*SITES, "--rest", "10"], "--rest must be START:END in seconds"),
        ([*SITES, "--rest", "a:b"], "such as 10:130; received 'a:b': correct it"),
        ([*SITES, "--rest", "50:10"], "--rest: a span must end after its start"),
        ([*SITES, "--standing", "10:900"], "standing must lie within the log, 0.0 to 465.0 s"),
        ([*SITES, "--rest", "1:9", "--movement", "8:20"], "rest and movement must not overlap"),
        ([*SITES, "--unit", "bar"], "pressure unit must be one of"),
        ([*SITES, "--time-unit", "h"], "time unit must be one of"),
    ],
)
def test_what_cannot_be_used_exits_with_2_and_one_sentence(more: list[str], words: str) -> None:
    result = RUN.invoke(app, [*READ, *more])
    assert result.exit_code == 2
    assert words in result.output
    assert "Traceback" not in result.output
    assert len(result.output.strip().splitlines()) == 1


def test_the_unit_is_never_guessed() -> None:
    result = RUN.invoke(
        app, ["log", str(EXAMPLE), "--time", "time (s)", "--time-unit", "s", *SITES]
    )
    assert result.exit_code == 2
    assert "--unit" in result.output
