"""What counts at a visit, and what has to be looked at again."""

from datetime import timedelta

import pytest

from gaiter.core.landmark import Side
from gaiter.core.safety import Outcome, decide
from gaiter.exchange.wording import FileError
from gaiter.records.action import Actor
from gaiter.records.actions.people import open_episode
from gaiter.records.actions.visits import Typed, open_visit, save_entries, sign_visit
from gaiter.records.assemble import assembled, case_of, local_policy, still_missing
from gaiter.records.models import Role
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
    assert any("pain at rest" in reason.text for reason in decision.reasons)


def test_a_bad_finding_stays_until_somebody_looks_again(clinic, later) -> None:
    clinic_visit_entry = clinic.visit.entries.get(path="leg.findings.gangrene")
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
    with pytest.raises(FileError) as error:
        case_of(assembled(clinic.visit))
    assert [path for path, _ in still_missing(error.value, "right")] == ["leg.girth_cm.calf"]


def test_a_weak_heart_is_judged_with_the_other_leg_in_mind(clinic) -> None:
    clinic.approved()
    actor = clinic.actor()
    other = open_visit(actor, open_episode(actor, clinic.person, "left"))
    values = whole_visit() | {"person.heart_failure_class": 3}
    save_entries(actor, other, [Typed(path, value, 0) for path, value in values.items()])
    decision = decide(case_of(assembled(other)), local_policy()).legs[Side.LEFT]
    assert decision.outcome is Outcome.STOP
    assert decision.limiting == ("heart_failure_class_3_both_legs",)


def test_the_level_approved_before_comes_with_the_next_visit(clinic) -> None:
    clinic.approved()
    sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=7))
    at = clinic.actor().now + timedelta(days=7)
    visit = open_visit(Actor(clinic.accounts[Role.BANDAGER], "", at), clinic.episode)
    assert case_of(assembled(visit)).legs[Side.RIGHT].previous_level_mmhg == 60
