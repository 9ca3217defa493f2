"""The red-flag screen: what one press answers, what it never does, and the decision behind it."""

from datetime import timedelta

import pytest

from gaiter.core.errors import InputError
from gaiter.core.safety import Outcome, none_present, one_press_paths
from gaiter.records.actions.stops import record_stop_action
from gaiter.records.actions.visits import (
    Typed,
    answer_none_present,
    open_visit,
    save_entries,
    sign_visit,
)
from gaiter.records.append_only import lifted
from gaiter.records.ledger import Actor, NotAllowedError
from gaiter.records.models import AuditEntry, Entry, Visit
from gaiter.records.visit.boxes import box_path, question_path
from gaiter.records.visit.case import assembled
from gaiter.records.visit.decided import found_at
from gaiter.records.visit.screen import open_to_press, pressed, screen_boxes, to_look_at_again
from tests.clinic import small_clinic


@pytest.fixture
def empty(db):
    """A clinic with one visit in which nothing was said."""
    return small_clinic()


def sign_and_open_next(clinic) -> Visit:
    """The visit is history; the next one, a week later, is open."""
    actor = clinic.actor()
    visit = clinic.visit
    with lifted():
        Visit.objects.filter(pk=visit.pk).update(
            day=visit.day - timedelta(days=7), signed_at=actor.now, signed_by=actor.account
        )
    return open_visit(actor, clinic.episode)


def press(clinic, visit=None) -> None:
    answer_none_present(clinic.actor(), visit or clinic.visit)


def values(visit) -> dict:
    return {path: known.value for path, known in assembled(visit).known.items()}


def test_one_press_answers_every_question_it_may_and_no_other(empty) -> None:
    press(empty)
    answered = values(empty.visit)
    may = {box_path(question) for question in one_press_paths()}
    assert set(answered) == may
    assert {path: none_present(question_path(path)) for path in answered} == answered


@pytest.mark.parametrize(
    "path",
    [
        "toes.colour", "toes.refill", "toes.warmth", "toes.feeling", "toes.movement", "look.pain",
        "leg.findings.absent_monofilament_sites", "person.can_report_pain", "arms.left_mmhg",
        "leg.arterial.waveform", "leg.arterial.lying_flat",
    ],
)  # fmt: skip
def test_one_press_never_says_toes_pain_feeling_reporting_or_arteries(empty, path) -> None:
    press(empty)
    assert path not in values(empty.visit)


def test_one_press_says_who_and_when(empty) -> None:
    assert pressed(empty.visit) is None
    press(empty)
    said = pressed(empty.visit)
    assert said is not None
    assert said.who == "Invented bandager"
    entry = AuditEntry.objects.get(verb="asked all, none present")
    assert (entry.subject, entry.who, entry.at) == (f"visit:{empty.visit.pk}", "bandager", said.at)
    authors = set(empty.visit.entries.values_list("author__username", flat=True))
    assert authors == {"bandager"}


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("leg.findings.gangrene", True),
        ("leg.findings.new_pain", True),
        ("leg.findings.infection", "local"),
        ("leg.findings.clot.state", "treated"),
        ("leg.findings.clot.signs.whole_leg_swollen", True),
        ("person.breathless_lying", True),
        ("person.weight_gain_kg", 2.5),
        ("person.heart_failure_class", 2),
        ("leg.findings.claudication", True),
        ("leg.findings.wound", "foot"),
        ("leg.findings.bypass", "deep"),
    ],
)
def test_one_press_never_answers_what_was_positive_last_time(empty, path, value) -> None:
    empty.fill({path: value})
    later = sign_and_open_next(empty)
    press(empty, later)
    assert not later.entries.filter(path=path).exists()


def test_one_press_leaves_what_was_answered_today_or_stays(empty) -> None:
    empty.fill({"leg.findings.stent": False, "person.heart_failure_class": 0})
    later = sign_and_open_next(empty)
    save_entries(empty.actor(), later, [Typed("leg.findings.gangrene", True, 0)])
    press(empty, later)
    assert not later.entries.filter(path="leg.findings.stent").exists()
    assert later.entries.get(path="leg.findings.gangrene").value is True
    assert later.entries.get(path="leg.findings.rest_pain").value is False


def test_a_described_wound_is_not_pressed_away(empty) -> None:
    empty.fill({"leg.wound.place": "heel"})
    later = sign_and_open_next(empty)
    press(empty, later)
    assert not later.entries.filter(path="leg.findings.wound").exists()


def test_a_box_that_two_people_differ_about_is_not_pressed(empty) -> None:
    one, other = empty.actor("bandager"), empty.actor("prescriber")
    path = "leg.findings.gangrene"
    save_entries(one, empty.visit, [Typed(path, True, 0)])
    save_entries(other, empty.visit, [Typed(path, None, 0)])
    press(empty)
    current = empty.visit.entries.get(path=path, state=Entry.State.CURRENT)
    assert current.value is True


def test_a_second_press_has_nothing_left_to_answer(empty) -> None:
    press(empty)
    assert open_to_press(assembled(empty.visit)) == ()
    with pytest.raises(InputError, match="one by one"):
        press(empty)


def test_a_signed_visit_and_a_learner_press_nothing(empty) -> None:
    with pytest.raises(NotAllowedError, match="clinical staff"):
        answer_none_present(empty.actor("learner"), empty.visit)
    sign_and_open_next(empty)
    with pytest.raises(InputError, match="signed already"):
        press(empty)
    assert not empty.visit.entries.exists()


def test_a_bad_answer_that_is_asked_afresh_is_to_be_looked_at_again(empty) -> None:
    empty.fill({"leg.findings.new_pain": True, "leg.findings.stent": True, "toes.warmth": "cold"})
    assert to_look_at_again(assembled(empty.visit)) == ()
    later = sign_and_open_next(empty)
    assert to_look_at_again(assembled(later)) == ("leg.findings.new_pain",)


def test_a_red_flag_stops_before_anything_is_measured(empty) -> None:
    assert found_at(assembled(empty.visit)).decision.outcome is Outcome.NOT_YET
    empty.fill({"leg.findings.gangrene": True})
    found = found_at(assembled(empty.visit))
    assert found.decision.outcome is Outcome.STOP
    assert found.contradictions == ()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"toes.colour": "bluer", "toes.warmth": "cold"}, "toes_failing"),
        ({"toes.feeling": "no toe"}, "toes_bad"),
        ({"toes.movement": "no toe"}, "toes_bad"),
        ({"look.pain": 10}, "severe_pain"),
    ],
)
def test_the_toes_and_pain_of_today_reach_the_decision(clinic, given, said) -> None:
    assert found_at(assembled(clinic.visit)).decision.outcome is Outcome.FULL
    clinic.fill(given)
    found = found_at(assembled(clinic.visit)).decision
    assert found.outcome is Outcome.STOP
    assert found.limiting == (said,)


@pytest.mark.parametrize(
    ("given", "path"),
    [
        ({"leg.findings.antibiotics_started": True}, "leg.findings"),
        ({"leg.findings.bypass": "none", "leg.findings.bypass_route": "thigh"}, "leg.findings"),
        ({"leg.wound.place": "shin", "leg.wound.side": "back"}, "leg.wound"),
        ({"leg.arterial.measured_on": "2099-01-01"}, "leg.arterial.measured_on"),
    ],
)
def test_answers_that_contradict_are_named_and_hide_no_stop(clinic, given, path) -> None:
    clinic.fill({**given, "leg.findings.gangrene": True})
    found = found_at(assembled(clinic.visit))
    assert found.decision.outcome is Outcome.STOP
    assert [where for where, _ in found.contradictions] == [path]


def test_a_wound_without_its_place_is_no_contradiction(clinic) -> None:
    clinic.fill({"leg.wound.place": None})
    found = found_at(assembled(clinic.visit))
    assert found.decision is not None
    assert found.contradictions == ()


def test_a_foot_wound_stays_a_foot_wound_beside_a_contradiction(clinic) -> None:
    clinic.fill({"leg.wound.place": "Achilles tendon", "leg.wound.side": "front"})
    clinic.fill({"leg.findings.wound": "foot"})
    assert "foot_wound" in {r.code for r in found_at(assembled(clinic.visit)).decision.reasons}


def test_every_question_of_the_rules_has_a_box_but_the_age(empty) -> None:
    from gaiter.core.safety import screen_paths

    missing = set(screen_paths()) - {question_path(path) for path in screen_boxes()}
    assert missing == {"person.age_years"}


def test_only_a_prescriber_chooses_the_full_range_at_once(empty) -> None:
    nurse, doctor = empty.actor("bandager"), empty.actor("prescriber")
    with pytest.raises(NotAllowedError, match="Only a prescriber"):
        save_entries(nurse, empty.visit, [Typed("leg.start", "full", 0)])
    save_entries(doctor, empty.visit, [Typed("leg.start", "full", 0)])
    save_entries(
        nurse,
        empty.visit,
        [Typed("leg.start", "low", assembled(empty.visit).known["leg.start"].entry)],
    )
    assert values(empty.visit)["leg.start"] == "low"


def test_since_when_a_sign_is_unchanged_is_said_again_with_the_sign(empty) -> None:
    sign, since = (f"leg.findings.clot.{part}.whole_leg_swollen" for part in ("signs", "old_signs"))
    empty.fill({sign: True, since: "2020-01-01"})
    later = sign_and_open_next(empty)
    assert values(later)[since] == "2020-01-01"
    save_entries(Actor(empty.accounts["bandager"]), later, [Typed(sign, True, 0)])
    assert since not in values(later)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"leg.wound.place": None}, "to whom the person was referred"),
        ({"leg.findings.antibiotics_started": True}, "contradict"),
    ],
)
def test_a_stop_beside_a_box_that_cannot_be_used_is_not_signed_away(clinic, given, words) -> None:
    clinic.fill({"leg.findings.gangrene": True, **given})
    with pytest.raises(InputError, match=words):
        sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=1))


def test_a_stop_is_referred_while_a_wound_has_no_place_yet(clinic) -> None:
    clinic.fill({"leg.findings.gangrene": True, "leg.wound.place": None})
    record_stop_action(
        clinic.actor(), clinic.visit, code="gangrene", referred_to="Vascular team",
        on=clinic.visit.day,
    )  # fmt: skip
    sign_visit(clinic.actor(), clinic.visit, clinic.visit.day + timedelta(days=1))
    assert clinic.visit.stop_actions.count() == 1
