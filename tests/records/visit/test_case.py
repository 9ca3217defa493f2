"""What counts at a visit, and what has to be looked at again."""

from datetime import timedelta

import pytest

from gaiter.core.landmark import Side
from gaiter.core.plan.changes import gaiter_mmhg
from gaiter.core.problems import Wrong
from gaiter.core.safety import Outcome, decide
from gaiter.records.actions.checks import GOOD_ANSWERS, record_check
from gaiter.records.actions.people import open_episode, record_bandage_event
from gaiter.records.actions.plans import record_bandaging
from gaiter.records.actions.readings import Read, record_readings
from gaiter.records.actions.visits import Typed, open_visit, save_entries, sign_visit
from gaiter.records.append_only import lifted
from gaiter.records.ledger import Actor
from gaiter.records.models import Role, Visit
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.visit.case import (
    VisitError,
    assembled,
    case_of,
    case_or_problems,
    local_policy,
    measured_leg,
    safety_case_of,
    tolerated_level,
)
from gaiter.records.visit.decided import decision_at, found_at
from tests.clinic import whole_visit


@pytest.fixture
def later(clinic):
    """The next visit a week later, nothing entered yet; a function that enters."""
    sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=7))
    at = clinic.actor().now + timedelta(days=7)
    actor = Actor(clinic.accounts[Role.BANDAGER], "", at)
    visit = open_visit(actor, clinic.episode)

    def enter(**values):
        typed = [Typed(path.replace("__", "."), value, 0) for path, value in values.items()]
        save_entries(actor, visit, typed)
        return assembled(visit)

    return enter


def test_a_whole_visit_is_a_case(clinic) -> None:
    case = case_of(assembled(clinic.visit))
    assert case.legs[Side.RIGHT].girth_cm.ankle == 23.5
    assert case.person.age_years == clinic.person.age_on(clinic.visit.day)
    assert "Ada" not in case.model_dump_json()


def test_girths_of_last_time_count_and_say_from_when(later) -> None:
    seen = later(leg__girth_cm__ankle=23.0)
    assert seen.value("leg.girth_cm.ankle") == 23.0
    carried = seen.known["leg.girth_cm.calf"]
    assert carried.carried
    assert carried.value == 37.0
    assert seen.last["leg.girth_cm.ankle"].value == 23.5


def test_a_good_finding_has_to_be_looked_at_again(later) -> None:
    seen = later()
    assert seen.value("leg.findings.rest_pain") is None
    decision = decide(case_of(seen), local_policy()).legs[Side.RIGHT]
    assert decision.outcome is Outcome.NOT_YET
    assert any("Pain of the foot at rest" in reason.text for reason in decision.reasons)


def test_a_bad_finding_stays_until_somebody_looks_again(clinic, later) -> None:
    clinic_visit_entry = clinic.visit.entries.get(path="leg.findings.gangrene")
    with lifted():
        type(clinic_visit_entry).objects.filter(pk=clinic_visit_entry.pk).update(value=True)
    assert later().value("leg.findings.gangrene") is True
    assert later(leg__findings__gangrene=False).value("leg.findings.gangrene") is False


def test_an_arterial_test_is_replaced_whole_never_mixed(later) -> None:
    assert later().value("leg.arterial.posterior_tibial_mmhg") == 141
    seen = later(leg__arterial__dorsalis_pedis_mmhg=70.0)
    assert seen.value("leg.arterial.dorsalis_pedis_mmhg") == 70.0
    assert seen.value("leg.arterial.posterior_tibial_mmhg") is None
    assert seen.value("arms.left_mmhg") is None
    assert seen.value("leg.arterial.measured_on") is None


def test_a_wound_grows_older_by_itself(later) -> None:
    assert later().value("leg.wound.duration_weeks") == 10


def test_stability_and_weight_are_said_anew(later) -> None:
    seen = later()
    assert seen.value("leg.findings.worse") is None
    assert seen.value("person.weight_gain_kg") is None


def test_an_emptied_box_stays_empty(clinic) -> None:
    clinic.fill({"leg.wound.side": "inner"})
    clinic.fill({"leg.wound.side": None})
    seen = assembled(clinic.visit)
    assert seen.value("leg.wound.side") is None
    assert seen.emptied["leg.wound.side"]


def test_what_is_missing_is_named_by_its_box(clinic) -> None:
    clinic.fill({"leg.girth_cm.calf": None})
    problems = case_or_problems(assembled(clinic.visit))
    assert [(one.path, one.code) for one in problems] == [("leg.girth_cm.calf", Wrong.MISSING)]
    with pytest.raises(VisitError, match=r"this visit: leg\.girth_cm\.calf: required and missing"):
        case_of(assembled(clinic.visit))


def test_a_weak_heart_is_judged_with_the_other_leg_in_mind(clinic) -> None:
    clinic.approved()
    actor = clinic.actor()
    other = open_visit(actor, open_episode(actor, clinic.person, "left"))
    values = whole_visit() | {"person.heart_failure_class": 3}
    save_entries(actor, other, [Typed(path, value, 0) for path, value in values.items()])
    decision = decide(case_of(assembled(other)), local_policy()).legs[Side.LEFT]
    assert decision.outcome is Outcome.STOP
    assert decision.limiting == ("heart_failure_class_3_both_legs",)


@pytest.fixture
def bandaged(clinic):
    """The visit bandaged by an approved plan, its check good or as given; a function."""

    def put_on(**answers):
        day = clinic.visit.day + timedelta(days=2)
        one = record_bandaging(clinic.actor(), clinic.visit, clinic.approved(), day)
        record_check(clinic.actor(), one, "after", {**GOOD_ANSWERS, **answers})
        return one

    return put_on


def next_visit(clinic):
    if clinic.visit.signed_at is None:
        sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=2))
    at = clinic.actor().now + timedelta(days=2)
    return open_visit(Actor(clinic.accounts[Role.BANDAGER], "", at), clinic.episode)


def test_a_plan_that_was_never_put_on_is_no_tolerated_level(clinic) -> None:
    clinic.approved()
    assert tolerated_level(next_visit(clinic)) is None


def test_the_tolerated_level_is_the_likely_pressure_not_the_maximum(clinic, bandaged) -> None:
    one = bandaged()
    level = tolerated_level(next_visit(clinic))
    site = next(s for s in leg_of(plan_of(one.plan)).systems[0].sites if s.landmark == "gaiter")
    assert level == site.median_mmhg
    assert level < one.plan.maximum_mmhg
    assert case_of(assembled(next_visit(clinic))).legs[Side.RIGHT].tolerated_mmhg == round(level, 1)


def test_the_tolerated_level_is_as_read_where_it_was_read(clinic, bandaged) -> None:
    one = bandaged()
    record_readings(clinic.actor(), one, [Read("sensor", 0, "gaiter", 22.0)])
    planned = gaiter_mmhg(leg_of(plan_of(one.plan)).systems[0])
    # A sensor 22 mmHg at the gaiter pulls the median towards it.
    assert abs(tolerated_level(next_visit(clinic)) - 22) < abs(planned - 22) / 2


@pytest.mark.parametrize("kind", ["loosened", "taken_off"])
def test_a_bandage_that_came_off_early_was_not_tolerated(clinic, bandaged, kind) -> None:
    bandaged()
    record_bandage_event(clinic.actor(), clinic.episode, kind, "too tight")
    assert tolerated_level(clinic.visit) is None
    visit = Visit(pk=clinic.visit.pk + 1, episode=clinic.episode, day=clinic.visit.day)
    assert tolerated_level(visit) is None


def test_a_bandage_found_taken_off_at_home_was_not_tolerated(clinic, bandaged) -> None:
    bandaged()
    visit = next_visit(clinic)
    assert tolerated_level(visit) is not None
    save_entries(clinic.actor(), visit, [Typed("look.came_off", "taken off at home", 0)])
    assert tolerated_level(visit) is None


def test_a_bandage_whose_last_check_was_bad_was_not_tolerated(clinic, bandaged) -> None:
    bandaged(fingers="no")
    visit = Visit(pk=clinic.visit.pk + 1, episode=clinic.episode, day=clinic.visit.day)
    assert tolerated_level(visit) is None


@pytest.mark.parametrize(
    ("path", "bad"),
    [
        ("leg.findings.new_pain", True),
        ("leg.findings.colour_change", True),
        ("person.breathless_lying", True),
        ("leg.findings.infection", "local"),
        ("leg.findings.clot.signs.tender_deep_veins", True),
    ],
)
def test_what_is_asked_afresh_stays_only_while_it_is_bad(clinic, path, bad) -> None:
    clinic.fill({path: bad})
    at = clinic.actor().now + timedelta(days=7)
    visit = Visit(pk=clinic.visit.pk + 1, episode=clinic.episode, day=at.date())
    assert assembled(visit).value(path) == bad
    good = "none" if path.endswith("infection") else False
    clinic.fill({path: good})
    assert assembled(visit).value(path) is None


def test_toes_and_pain_of_today_reach_the_case_and_never_carry(clinic, later) -> None:
    leg = case_of(assembled(clinic.visit)).legs[Side.RIGHT]
    assert (leg.findings.toes.colour, leg.findings.pain_now) == ("same", 2)
    seen = later()
    assert seen.value("toes.colour") is None
    assert seen.value("look.pain") is None


@pytest.mark.parametrize(
    "found",
    [
        {"toes.colour": "bluer", "toes.warmth": "cold"},
        {"toes.feeling": "no toe"},
        {"toes.movement": "no toe"},
        {"look.pain": 10},
    ],
)
def test_bad_toes_and_pain_stop_the_leg(clinic, found) -> None:
    clinic.fill(found)
    decision = decide(safety_case_of(assembled(clinic.visit)), local_policy()).legs[Side.RIGHT]
    assert decision.outcome is Outcome.STOP
    assert decision.maximum_mmhg is None


def test_a_stop_is_decided_with_no_girth_at_all(clinic) -> None:
    girths = [p for p in whole_visit() if p.startswith(("leg.girth_cm.", "leg.position_cm."))]
    clinic.fill({"leg.findings.gangrene": True, **dict.fromkeys(girths)})
    with pytest.raises(VisitError):
        case_of(assembled(clinic.visit))
    assert decision_at(clinic.visit).outcome is Outcome.STOP


def test_a_leg_is_drawn_from_the_same_boxes_before_anybody_said_what_it_is_for(clinic) -> None:
    case = case_of(assembled(clinic.visit)).legs[Side.RIGHT]
    known = {path: said.value for path, said in assembled(clinic.visit).known.items()}
    leg = measured_leg(known)
    assert (leg.girth_cm, leg.position_cm, leg.foot_length_cm) == (
        case.girth_cm, case.position_cm, case.foot_length_cm,
    )  # fmt: skip
    assert measured_leg({**known, "leg.purpose": None}).purpose is None
    assert measured_leg({**known, "leg.girth_cm.calf": None}) is None
    assert measured_leg({**known, "leg.girth_cm.ankle": known["leg.girth_cm.calf"] + 1}) is None


@pytest.mark.parametrize(
    ("typed", "path", "code", "words"),
    [
        ({"leg.girth_cm.ankle": 40.0, "leg.girth_cm.calf": 36.0}, "leg.girth_cm.ankle",
         Wrong.CONTRADICTION, "girth_cm.ankle must be at most the calf's 36 cm; received 40 cm"),
        ({"leg.girth_cm.metatarsal_heads": None}, "leg.girth_cm.metatarsal_heads", Wrong.MISSING,
         "girth_cm.metatarsal_heads is required: measure it in cm"),
        ({"leg.purpose": None}, "leg.purpose", Wrong.MISSING, "required and missing"),
        ({"leg.width_cm.ankle": 6.0}, "leg.depth_cm.ankle", Wrong.MISSING,
         "depth_cm.ankle is required beside width_cm.ankle"),
    ],
)  # fmt: skip
def test_a_problem_names_the_box_to_correct(clinic, typed, path, code, words) -> None:
    clinic.fill(typed)
    problem, *_others = case_or_problems(assembled(clinic.visit))
    assert (problem.path, problem.code) == (path, code)
    assert problem.said.text.startswith(words)


def test_a_day_to_come_is_named_by_its_box_and_left_out_of_the_decision(clinic) -> None:
    to_come = (clinic.visit.day + timedelta(days=2)).isoformat()
    clinic.fill({"leg.arterial.measured_on": to_come})
    [problem] = case_or_problems(assembled(clinic.visit))
    assert problem.path == "leg.arterial.measured_on"
    assert problem.code is Wrong.CONTRADICTION
    assert problem.place == ("legs", "right", "arterial", "measured_on")
    assert problem.said.text == (
        f"arterial.measured_on must be on or before today, {clinic.visit.day}; received {to_come}: "
        "correct the date"
    )
    found = found_at(assembled(clinic.visit))
    assert found.contradictions == ((problem.path, problem.said),)
    assert "arterial_date_missing" in [reason.code for reason in found.decision.reasons]
