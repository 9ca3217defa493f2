"""``gaiter new case``: an empty case on the screen or in a file, and never over another."""

from pathlib import Path

from typer.testing import CliRunner

from gaiter.cli import app
from gaiter.files.case_template import case_template

RUN = CliRunner()


def test_it_is_printed_as_it_is_written(tmp_path: Path) -> None:
    printed = RUN.invoke(app, ["new", "case"])
    assert (printed.exit_code, printed.stdout) == (0, case_template())
    path = tmp_path / "case.toml"
    result = RUN.invoke(app, ["new", "case", str(path)])
    assert (result.exit_code, result.output) == (0, f"An empty case: {path}\n")
    assert path.read_text() == case_template()


def test_a_case_that_is_there_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text("mine")
    result = RUN.invoke(app, ["new", "case", str(path)])
    assert result.exit_code == 2
    assert f"{path}: exists already: choose another name, or give --force" in result.output
    assert path.read_text() == "mine"
    assert RUN.invoke(app, ["new", "case", str(path), "--force"]).exit_code == 0
    assert path.read_text() == case_template()


def test_a_folder_that_is_not_there_is_said() -> None:
    result = RUN.invoke(app, ["new", "case", "nowhere/case.toml"])
    assert result.exit_code == 2
    assert result.output == "nowhere/case.toml: No such file or directory\n"


def test_it_says_what_is_still_missing(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    RUN.invoke(app, ["new", "case", str(path)])
    result = RUN.invoke(app, ["safety", str(path)])
    assert result.exit_code == 2
    assert result.output == f"{path}: today: required and missing; give a date such as 2026-11-25\n"
