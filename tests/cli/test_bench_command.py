"""A bench test on the command line."""

import json
import tomllib
from pathlib import Path

from typer.testing import CliRunner

from gaiter.cli import app

RUN = CliRunner()


BENCH = Path(__file__).parents[2] / "examples/bench/long-stretch.toml"


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
