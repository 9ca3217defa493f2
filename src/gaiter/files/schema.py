"""JSON Schemas of the documents."""

import json
from collections.abc import Mapping

from pydantic import BaseModel

from gaiter.core.applied.document import Applied
from gaiter.core.applied.readings import Readings
from gaiter.core.case import Case
from gaiter.core.fabric.bench_test import BenchTest
from gaiter.core.plan import Plan
from gaiter.core.plan.system_list import SystemList
from gaiter.core.policy import Policy

DOCUMENTS: Mapping[str, type[BaseModel]] = {
    "case": Case,
    "plan": Plan,
    "policy": Policy,
    "systems": SystemList,
    "bench": BenchTest,
    "readings": Readings,
    "applied": Applied,
}


def schema_json(document: str) -> str:
    """JSON Schema of a document as text."""
    schema = DOCUMENTS[document].model_json_schema(by_alias=True, mode="validation")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"
