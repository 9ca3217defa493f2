"""What every record of a document refuses, and how one that has grown is written."""

import json
import math
from collections.abc import Mapping

import pytest
from pydantic import Field, ValidationError

from gaiter.core.record import GrownRecord, Record


class Reading(Record):
    mmhg: float
    kind: str = Field("sensor", alias="type")


def test_a_record_is_what_it_was_made_of_and_stays_so() -> None:
    made = Reading(mmhg=40)
    assert (made.mmhg, made.kind) == (40, "sensor")
    with pytest.raises(ValidationError, match="frozen"):
        made.mmhg = 60
    assert made.mmhg == 40


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_no_number_is_taken_that_no_comparison_holds_for(number) -> None:
    """NaN is above no maximum: taken, it would pass every limit."""
    with pytest.raises(ValidationError, match="finite number"):
        Reading(mmhg=number)


def test_a_field_that_nobody_knows_is_refused() -> None:
    """A slip in the name of an answer must not read as one that was not given."""
    with pytest.raises(ValidationError, match="mmgh"):
        Reading.model_validate({"mmhg": 40, "mmgh": 60})


def test_a_field_goes_by_its_name_and_by_its_name_in_the_document() -> None:
    assert Reading(mmhg=1, kind="cuff") == Reading.model_validate({"mmhg": 1, "type": "cuff"})
    assert Reading(mmhg=1).model_dump(by_alias=True) == {"mmhg": 1, "type": "sensor"}


class Grown(GrownRecord):
    """Two fields came together, one by itself."""

    later = (("low_cm", "high_cm"), ("marks",))
    name: str
    low_cm: float | None = None
    high_cm: float | None = None
    marks: Mapping[str, int] = {}


@pytest.mark.parametrize(
    "kept",
    [
        {"name": "calf"},
        {"name": "calf", "marks": {"pen": 1}},
        # What came together stays together, as soon as one of it says something.
        {"name": "calf", "low_cm": None, "high_cm": 3.0},
    ],
)
def test_a_document_from_before_a_field_is_written_as_it_was(kept) -> None:
    assert Grown.model_validate(kept).model_dump(mode="json") == kept
    assert Grown.model_validate(kept).model_dump_json() == json.dumps(kept, separators=(",", ":"))
