"""The decision of a visit: one wrong box is named and left out, and never hides a stop."""

from datetime import UTC, datetime, timedelta

import pytest

from gaiter.core.errors import InputError
from gaiter.core.safety import Outcome
from gaiter.files.policy_file import shipped_policy
from gaiter.records.models import Episode, StopAction, Visit
from gaiter.records.visit import decided
from gaiter.records.visit.case import Assembled
from gaiter.records.visit.decided import (
    decision_of,
    document_without,
    found_in,
    stop_words,
    stops_of,
    uncleared,
)
from tests.strategies import case_mapping

GANGRENE = {"legs.right.findings.gangrene": True}


def found(**changes):
    return found_in(case_mapping(**changes), "right", shipped_policy())


def test_a_whole_visit_is_decided_without_contradictions() -> None:
    assert found().decision.outcome is Outcome.FULL
    assert found().contradictions == ()


def test_what_is_missing_is_no_contradiction() -> None:
    bare = found(**{"legs.right.purpose": None, "legs.right.arterial": None, "arms": None})
    assert bare.contradictions == ()
    assert bare.decision.outcome is Outcome.NOT_YET


@pytest.mark.parametrize(
    ("changes", "path", "words"),
    [
        ({"legs.right.arterial.toe_mmhg": 900}, "leg.arterial.toe_mmhg", "mmHg"),
        ({"arms.left_mmhg": 999}, "arms.left_mmhg", "mmHg"),
        ({"legs.right.arterial.measured_on": "2026-12-01"}, "leg.arterial.measured_on",
         "on or before today, 2026-11-25; received 2026-12-01"),
    ],
)  # fmt: skip
def test_a_wrong_box_is_named_and_counts_as_not_said(changes, path, words) -> None:
    made = found(**changes)
    ((named, said),) = made.contradictions
    assert named == path
    assert words in said
    assert "legs.right" not in said
    empty = dict.fromkeys(changes)
    assert made.decision == found(**empty).decision


def test_a_wrong_box_never_hides_a_stop() -> None:
    made = found(**GANGRENE, **{"arms.left_mmhg": 999, "legs.right.arterial.toe_mmhg": 900})
    assert made.decision.outcome is Outcome.STOP
    assert {path for path, _words in made.contradictions} == {
        "arms.left_mmhg", "leg.arterial.toe_mmhg",
    }  # fmt: skip


def test_the_document_that_is_judged_stays_as_it_was() -> None:
    document = case_mapping(**{"arms.left_mmhg": 999})
    found_in(document, "right", shipped_policy())
    assert document == case_mapping(**{"arms.left_mmhg": 999})


def test_a_box_is_emptied_alone() -> None:
    document = case_mapping(**GANGRENE)
    without = document_without(document, "leg.findings.gangrene", "right")
    assert without == case_mapping(**{"legs.right.findings.gangrene": None})
    assert document == case_mapping(**GANGRENE)
    assert document_without(document, "leg.arterial.toe_mmhg", "right") == document


def test_a_leg_that_nobody_can_decide_is_said_in_words(monkeypatch) -> None:
    wrong = decided.safety_case_in(case_mapping(**{"arms.left_mmhg": 999}), "right")
    monkeypatch.setattr(decided, "safety_case_in", lambda _mapping, _side: wrong)
    assert found().decision is None
    monkeypatch.setattr(decided, "case_mapping", lambda _seen, **_: case_mapping())
    seen = Assembled(Visit(episode=Episode(side="right")), {}, {})
    with pytest.raises(InputError, match="mmHg"):
        decision_of(seen)


def test_only_a_stopped_leg_has_stops_and_they_are_what_limits_it() -> None:
    assert stops_of(found().decision) == []
    made = found(**GANGRENE, **{"person.breathless_lying": True}).decision
    assert {reason.code for reason in stops_of(made)} == {"gangrene", "breathless_lying"}
    not_yet = found(**{"legs.right.findings.gangrene": None}).decision
    assert (not_yet.outcome, stops_of(not_yet)) == (Outcome.NOT_YET, [])


@pytest.mark.parametrize(
    ("code", "words"), [("gangrene", "Stop: dead tissue."), ("rule_of_old", "Stop: rule of old.")]
)
def test_a_stop_is_named_by_its_rule_or_by_its_code(code, words) -> None:
    assert stop_words(code) == words


NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.mark.parametrize(
    ("cleared", "standing"),
    [
        ([], ["sepsis", "gangrene"]),
        ([("sepsis", NOON)], ["gangrene"]),
        ([("gangrene", NOON)], ["sepsis"]),
        # Cleared before it was seen again: it stands.
        ([("sepsis", NOON - 2 * HOUR)], ["sepsis", "gangrene"]),
        ([("sepsis", NOON + HOUR), ("gangrene", NOON)], []),
    ],
)
def test_a_stop_stands_until_it_is_cleared_after_its_last_action(cleared, standing) -> None:
    newest_first = [
        StopAction(code="sepsis", at=NOON, referred_to="hospital"),
        StopAction(code="gangrene", at=NOON - HOUR, referred_to="vascular"),
        StopAction(code="sepsis", at=NOON - 3 * HOUR, referred_to="nobody"),
    ]
    left = uncleared(newest_first, cleared)
    assert [one.code for one in left] == standing
    assert "nobody" not in {one.referred_to for one in left}
