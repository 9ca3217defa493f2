"""Numbers with a range and a unit, and answers that are true or false."""

from datetime import date
from typing import Annotated

import pytest
from pydantic import ValidationError

from gaiter.core.case.fields import Day, answered, measured
from gaiter.core.record import Record


class Asked(Record):
    girth_cm: Annotated[float, measured("Girth", 13, 60, "cm")] = 20.0
    sites: Annotated[int, measured("Sites without feeling", 0, 10, "number")] = 0
    diabetes: Annotated[bool | None, answered("Diabetes")] = None
    on: Day | None = None


@pytest.mark.parametrize("girth_cm", [13, 13.0, 27.5, 60])
def test_both_ends_of_a_range_are_taken(girth_cm) -> None:
    assert Asked(girth_cm=girth_cm).girth_cm == girth_cm


@pytest.mark.parametrize(
    "given",
    [
        {"girth_cm": 12.9}, {"girth_cm": 60.1}, {"girth_cm": "27"}, {"girth_cm": True},
        {"girth_cm": None}, {"sites": 2.5}, {"sites": "2"}, {"sites": True}, {"sites": 11},
        {"diabetes": 0}, {"diabetes": 1}, {"diabetes": "no"}, {"diabetes": "true"},
    ],
)  # fmt: skip
def test_what_is_no_number_in_range_or_no_answer_is_refused(given) -> None:
    [field] = given
    with pytest.raises(ValidationError) as error:
        Asked.model_validate(given)
    assert error.value.errors()[0]["loc"][0] == field


def test_what_was_not_asked_is_not_answered() -> None:
    assert Asked().diabetes is None
    assert [Asked(diabetes=one).diabetes for one in (True, False)] == [True, False]


@pytest.mark.parametrize("given", ["2026-11-25", date(2026, 11, 25)])
def test_a_day_is_a_date_or_written_as_one(given) -> None:
    assert Asked.model_validate({"on": given}).on == date(2026, 11, 25)


@pytest.mark.parametrize("given", [0, 1764028800, 1.0, True, "25.11.2026", "2026-02-30"])
def test_a_number_is_no_day(given) -> None:
    """It would be read as seconds since 1970, and 0 as a test of that year."""
    with pytest.raises(ValidationError):
        Asked.model_validate({"on": given})


def test_range_and_unit_stand_in_the_schema() -> None:
    said = Asked.model_json_schema()["properties"]["girth_cm"]
    assert said["description"] == "Girth [cm]"
    assert (said["minimum"], said["maximum"], said["unit"]) == (13, 60, "cm")
