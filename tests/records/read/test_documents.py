"""A recorded plan is parsed once, and a case of an earlier program is read or said to be none."""

import json

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gaiter.core.landmark import Side
from gaiter.records.models import PlanRecord
from gaiter.records.read.documents import case_then, leg_of, plan_of
from tests.records.models.rows import made
from tests.sheets import small_plan
from tests.strategies import case_mapping


def document(**changes) -> str:
    return small_plan.plan(**changes).model_dump_json(by_alias=True)


def test_a_plan_is_the_document_of_its_record() -> None:
    record = PlanRecord(document=document(seed=41), sha256="of seed 41")
    assert plan_of(record) == small_plan.plan(seed=41)
    assert leg_of(plan_of(record)).side is Side.RIGHT
    other = PlanRecord(document=document(seed=42), sha256="of seed 42")
    assert (plan_of(record).seed, plan_of(other).seed) == (41, 42)


@pytest.mark.django_db
def test_the_text_of_a_plan_at_hand_is_not_read_again() -> None:
    pk = made(PlanRecord, document=document(seed=43), sha256="of seed 43").pk
    first, second = (PlanRecord.objects.defer("document").get(pk=pk) for _ in range(2))
    with CaptureQueriesContext(connection) as queries:
        assert plan_of(first) is plan_of(second)
    assert len(queries) == 1


def case_of_record(**changes):
    return case_then(PlanRecord(case=json.dumps(case_mapping(**changes))))


def test_the_case_of_a_plan_is_read_back() -> None:
    case = case_of_record(**{"legs.right.girth_cm.ankle": 21.7})
    assert case.legs[Side.RIGHT].girth_cm.ankle == 21.7


def test_what_earlier_programs_wrote_otherwise_is_left_out() -> None:
    old = {
        "legs.right.override": {"maximum_mmhg": 25, "reason": "specialist agreed"},
        "legs.right.previous_level_mmhg": 35.0,
    }
    case = case_of_record(**old)
    assert case == case_of_record()
    assert case.legs[Side.RIGHT].tolerated_mmhg is None
    assert not case.legs[Side.RIGHT].overrides


@pytest.mark.parametrize(
    "changes", [{"legs.right.thigh": 3}, {"legs": None}, {"schema": "gaiter.case/0"}]
)
def test_a_case_that_cannot_be_read_is_none(changes) -> None:
    assert case_of_record(**changes) is None
