"""``gaiter schema``: the JSON Schemas of the documents."""

from enum import StrEnum
from typing import Annotated

import typer

from gaiter.cli.output import print_json


class Document(StrEnum):
    """Documents with a schema."""

    CASE = "case"
    PLAN = "plan"
    POLICY = "policy"
    SYSTEMS = "systems"
    BENCH = "bench"
    READINGS = "readings"
    APPLIED = "applied"


def schema(
    document: Annotated[Document, typer.Argument(help="Which document.")] = Document.CASE,
    as_json: Annotated[bool, typer.Option("--json", help="The schema is JSON already.")] = True,
) -> None:
    """Print the JSON Schema of one of the documents."""
    from gaiter.files.schema import schema_json

    print_json(schema_json(document.value))
