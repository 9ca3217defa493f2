"""The schemas, printed."""

import json

import pytest
from typer.testing import CliRunner

from gaiter.cli import app

RUN = CliRunner()


@pytest.mark.parametrize("document", ["case", "plan", "policy", "bench"])
def test_schema(document: str) -> None:
    result = RUN.invoke(app, ["schema", document])
    assert json.loads(result.output)["type"] == "object"
