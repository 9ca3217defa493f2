"""A sheet printed again from its plan."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from gaiter.cli import app

pytestmark = pytest.mark.long

RUN = CliRunner()


def test_sheet_prints_again(case_file, tmp_path: Path) -> None:
    out = tmp_path / "out"
    RUN.invoke(app, ["plan", case_file(), "--out", str(out)])
    again = tmp_path / "again.pdf"
    result = RUN.invoke(app, ["sheet", str(out / "plan.json"), "--out", str(again)])
    assert result.exit_code == 0
    assert again.read_bytes() == (out / "sheet.pdf").read_bytes()
    (out / "plan.json").write_text('{"schema": "gaiter.plan/1"}')
    assert RUN.invoke(app, ["sheet", str(out / "plan.json")]).exit_code == 2
