import json
import tomllib
from pathlib import Path

import pytest
from typer.testing import CliRunner

from gaiter.cli import app

RUN = CliRunner()
BENCH = Path(__file__).parents[2] / "examples/bench/long-stretch.toml"


def test_safety_gives_numbers_and_reasons_with_sources(case_file) -> None:
    result = RUN.invoke(app, ["safety", case_file()])
    assert result.exit_code == 0
    assert "Full: aim 30–50, never above 60 mmHg at the gaiter" in result.output
    assert "ABI (ABPI) 1.04, toe index not measured, arm 130 mmHg, ankle 135 mmHg" in result.output
    as_json = RUN.invoke(app, ["safety", case_file(), "--json"])
    assert json.loads(as_json.output)["legs"]["right"]["maximum_mmhg"] == 60


@pytest.mark.parametrize(
    ("changes", "code", "words"),
    [
        ({}, 0, "Full"),
        ({"legs.right.arterial.waveform": "monophasic"}, 0, "Reduced"),
        ({"arms": {}}, 4, "Not yet: ask or measure this first"),
        ({"legs.right.findings.gangrene": True}, 3, "Stop and refer"),
        ({"legs.right.findings.gangrene": True, "arms": {}}, 3, "Stop and refer"),
    ],
)
def test_three_outcomes_three_words_three_exit_codes(case_file, tmp_path, changes, code, words):
    result = RUN.invoke(app, ["safety", case_file(**changes)])
    assert result.exit_code == code
    assert words in result.output
    if code:
        out = tmp_path / "out"
        assert RUN.invoke(app, ["plan", case_file(**changes), "--out", str(out)]).exit_code == code


def test_safety_decides_without_a_tape_a_bandager_or_stock(tmp_path: Path) -> None:
    """Red flags answered yes with no girth gave 'still missing … give a table'."""
    small = tmp_path / "small.toml"
    small.write_text(
        'schema = "gaiter.case/1"\ntoday = 2026-11-25\n[legs.left.findings]\nrest_pain = true\n'
    )
    result = RUN.invoke(app, ["safety", str(small)])
    assert result.exit_code == 3
    assert "Left leg: Stop and refer" in result.output
    assert "urgent vascular referral" in result.output


def test_a_clinic_policy_is_said(case_file, tmp_path: Path) -> None:
    policy = tmp_path / "clinic.toml"
    policy.write_text(
        'name = "Heron Ford"\nversion = "3"\n[values]\n'
        'ankle_stop_mmhg = { value = 70, source = "meeting", strength = "local" }\n'
    )
    result = RUN.invoke(app, ["safety", case_file(), "--policy", str(policy)])
    assert "Local policy: ankle stop mmhg: 60 to 70 mmHg (Heron Ford, version 3)" in result.output
    policy.write_text("values = 3")
    assert RUN.invoke(app, ["safety", case_file(), "--policy", str(policy)]).exit_code == 2


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--tension-kgf", "0.9", "--thicknesses", "2", "--girth-cm", "23"], "36.17 mmHg"),
        (["--tension-n", "8.825985", "--thicknesses", "2", "--girth-inch", "9.0551"], "36.17 mmHg"),
        (["--pressure-mmhg", "40", "--thicknesses", "2", "--girth-cm", "25"], "1.082 kgf"),
    ],
)
def test_reckon(arguments: list[str], words: str) -> None:
    result = RUN.invoke(app, ["reckon", *arguments])
    assert result.exit_code == 0
    assert words in result.output
    assert json.loads(RUN.invoke(app, ["reckon", *arguments, "--json"]).output)["width_cm"] == 10


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--girth-cm", "23"], "give exactly three"),
        (
            ["--girth-cm", "-3", "--thicknesses", "2", "--pressure-mmhg", "40"],
            "girth must be above",
        ),
        (
            ["--girth-cm", "23", "--girth-inch", "9", "--thicknesses", "2", "--pressure-mmhg", "4"],
            "girth is given in two units",
        ),
        (
            ["--tension-n", "nan", "--thicknesses", "2", "--girth-cm", "4"],
            "tension must be above 0",
        ),
    ],
)
def test_reckon_refuses(arguments: list[str], words: str) -> None:
    result = RUN.invoke(app, ["reckon", *arguments])
    assert result.exit_code == 2
    assert words in result.output


def test_sheet_prints_again(case_file, tmp_path: Path) -> None:
    out = tmp_path / "out"
    RUN.invoke(app, ["plan", case_file(), "--out", str(out)])
    again = tmp_path / "again.pdf"
    result = RUN.invoke(app, ["sheet", str(out / "plan.json"), "--out", str(again)])
    assert result.exit_code == 0
    assert again.read_bytes() == (out / "sheet.pdf").read_bytes()
    (out / "plan.json").write_text('{"schema": "gaiter.plan/1"}')
    assert RUN.invoke(app, ["sheet", str(out / "plan.json")]).exit_code == 2


def test_bench_gives_an_entry_that_a_case_accepts(case_file, tmp_path: Path) -> None:
    result = RUN.invoke(app, ["bench", str(BENCH)])
    assert result.exit_code == 0
    assert "10 cm marks" in result.output
    entry = tomllib.loads(result.output.split("For the case file:")[1])
    stock = {**entry["stock"], "orthopaedic_wool": {"rolls": 2}}
    planned = RUN.invoke(app, ["plan", case_file(stock=stock), "--out", str(tmp_path / "out")])
    assert planned.exit_code == 0, planned.output
    assert json.loads(RUN.invoke(app, ["bench", str(BENCH), "--json"]).output)["curve"]


def test_bench_refuses_and_explains(tmp_path: Path) -> None:
    wrong = tmp_path / "bench.toml"
    wrong.write_text(BENCH.read_text().replace("length_cm = 131.0", "length_cm = 110.0"))
    result = RUN.invoke(app, ["bench", str(wrong)])
    assert result.exit_code == 2
    assert "both pull and length must grow" in result.output
    assert RUN.invoke(app, ["bench"]).exit_code == 2
    page = tmp_path / "how.pdf"
    assert RUN.invoke(app, ["bench", "--instructions", str(page)]).exit_code == 0
    assert page.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("document", ["case", "plan", "policy", "bench"])
def test_schema(document: str) -> None:
    result = RUN.invoke(app, ["schema", document])
    assert json.loads(result.output)["type"] == "object"
