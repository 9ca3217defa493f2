"""The schemas are of the documents by their own names, and refuse what the reader refuses."""

import json

import jsonschema
import pytest

from gaiter.files.schema import DOCUMENTS, schema_json
from tests.strategies import case_mapping


@pytest.mark.parametrize("document", DOCUMENTS)
def test_a_schema_is_well_formed_and_closed(document) -> None:
    schema = json.loads(schema_json(document))
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$schema"].endswith("2020-12/schema")
    assert schema["additionalProperties"] is False
    assert schema_json(document).endswith("}\n")


@pytest.mark.parametrize("document", ["case", "plan", "bench", "readings", "applied"])
def test_a_document_carries_its_name_under_the_word_schema(document) -> None:
    schema = json.loads(schema_json(document))
    assert schema["properties"]["schema"]["const"] == f"gaiter.{document}/1"


@pytest.mark.parametrize(
    "changes",
    [
        {"legs.right.girth_cm.ankle": 230.0},  # millimetres
        {"legs.right.girth_cm.ankle": None},
        {"legs.right.girth_cm.thigh": 50.0},
        {"schema": "gaiter.plan/1"},
        {"person.mobility": "flies"},
    ],
    ids=["range", "missing", "unknown", "other document", "unknown value"],
)
def test_the_case_schema_refuses(changes) -> None:
    schema = json.loads(schema_json("case"))
    jsonschema.validate(case_mapping(), schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(case_mapping(**changes), schema)
