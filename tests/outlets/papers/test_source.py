"""What papers are filled from: may the leg be bandaged, what the record says, in plain text."""

from datetime import UTC, date, datetime

import pytest

from gaiter.core.safety import LegDecision, Outcome, Reason, RuleKind
from gaiter.outlets.papers.source import Block, Paper, Source
from gaiter.records.models import Episode, PlanRecord, Visit
from gaiter.records.read.alarm import Alarm, State
from gaiter.records.visit.case import Assembled, Known
from tests.sheets import small_plan

TODAY = date(2026, 11, 25)


def known(**values) -> Assembled:
    """A visit that knows these, by path with two underscores for a dot."""
    visit = Visit(episode=Episode(side="left"), day=TODAY)
    found = {
        path.replace("__", "."): Known(path.replace("__", "."), value, 1, "TR", TODAY, False)
        for path, value in values.items()
    }
    return Assembled(visit, found, {})


def record(**changes) -> PlanRecord:
    plan = small_plan.plan(**changes)
    return PlanRecord(
        document=plan.model_dump_json(by_alias=True), sha256=f"paper {changes}", maximum_mmhg=40.0
    )


def source(**changes) -> Source:
    """A leg that may be bandaged, with some of it changed."""
    given = {
        "seen": known(), "plan": record(), "today": TODAY, "phone": "555 0100",
        "decision": small_plan.decision(), **changes,
    }  # fmt: skip
    return Source(**given)


def alarm(state: State) -> Alarm:
    return Alarm(state, 1, datetime(2026, 11, 25, 12, 0, tzinfo=UTC), ("toes cold",))


def test_a_leg_with_plan_decision_and_nothing_against_it_may_be_bandaged() -> None:
    assert source().may_be_bandaged


@pytest.mark.parametrize(
    "against",
    [
        {"plan": None},
        {"decision": None},
        {"decision": small_plan.decision(outcome=Outcome.STOP, maximum_mmhg=None)},
        {"why_not": "the girth has changed"},
        {"alarm": alarm(State.OFF_NOW)},
        {"alarm": alarm(State.LOOK)},
        {"alarm": alarm(State.EMERGENCY)},
        {"alarm": alarm(State.HANDED_OVER)},
    ],
)
def test_anything_against_it_forbids_it(against) -> None:
    assert not source(**against).may_be_bandaged


def test_a_bandage_that_is_to_be_loosened_stays_allowed() -> None:
    assert source(alarm=alarm(State.LOOSEN)).may_be_bandaged
    assert not source(alarm=alarm(State.LOOSEN)).off


@pytest.mark.parametrize(
    ("allergies", "latex"), [(["latex"], True), (["colophony", "latex"], True), ([], False)]
)
def test_latex_is_known_from_the_record(allergies, latex) -> None:
    assert source(seen=known(person__allergies=allergies)).latex is latex
    assert source(seen=None).latex is False


def test_mere_notes_are_no_reasons_of_a_paper() -> None:
    flag = Reason(code="note", kind=RuleKind.FLAG, text="Note.", source="-", strength="-")
    decision: LegDecision = small_plan.decision(reasons=(small_plan.CAP, flag))
    assert source(decision=decision).reasons == (small_plan.CAP,)
    assert source(decision=None).reasons == ()


def test_before_a_visit_nothing_is_said_and_no_side_is_known() -> None:
    bare = source(seen=None, plan=None, decision=None)
    assert (bare.side, bare.leg, bare.said("leg.")) == ("", None, ())
    assert source().side == "left"


def test_what_the_record_says_carries_its_unit_and_when_it_is_older_its_day() -> None:
    seen = known(leg__girth_cm__ankle=23.5, person__diabetes=False)
    old = Known("leg.girth_cm.calf", 37.0, 1, "TR", date(2026, 11, 18), True)
    seen = Assembled(seen.visit, {**seen.known, "leg.girth_cm.calf": old}, {})
    lines = source(seen=seen).said("leg.girth_cm.")
    assert len(lines) == 2
    assert any(line.endswith("23.5 cm") for line in lines)
    assert any(line.endswith("37 cm (18 Nov)") for line in lines)


@pytest.mark.parametrize(
    ("changes", "keeps"),
    [({}, True), ({"why_not": "changed"}, False), ({"alarm": alarm(State.LOOK)}, False)],
)
def test_only_who_may_be_bandaged_is_told_to_keep_it_on(changes, keeps) -> None:
    seen = known(leg__purpose="venous ulcer")
    opening = " ".join(map(str, source(seen=seen, **changes).advice.opening))
    assert ("Keep it on" in opening) is keeps


def test_arteries_that_were_never_decided_count_as_poor() -> None:
    seen = known(leg__purpose="venous ulcer")
    told = " ".join(map(str, source(seen=seen, decision=None).advice.every_day))
    assert "do not put it up high" in told.lower()
    decided = " ".join(map(str, source(seen=seen).advice.every_day))
    assert "do not put it up high" not in decided.lower()


def test_a_paper_as_text_holds_everything_in_its_order() -> None:
    paper = Paper(
        "Order",
        "Home nursing",
        (
            Block("First", ("a paragraph",), ("a point",), ("Name: ____",), ("a box",)),
            Block(paragraphs=("no heading",)),
        ),
        slip=(Block("Slip", boxes=("done",)),),
    )
    assert paper.as_text() == (
        "ORDER\n\nFirst\na paragraph\n- a point\nName: ____\n[ ] a box\n\nno heading\n"
        "\nSlip\n[ ] done\n"
    )
