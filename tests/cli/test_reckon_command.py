"""The closed form on the command line."""

import json

import pytest
from typer.testing import CliRunner

from gaiter.cli import app

RUN = CliRunner()


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
