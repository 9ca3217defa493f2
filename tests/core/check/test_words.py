"""Every word of the check and of what the patient is told is a template with its values."""

import itertools

import pytest

from gaiter.core.case.findings import WoundPlace
from gaiter.core.case.person import Mobility
from gaiter.core.check import CHECK_BOXES, judge_check
from gaiter.core.check.advice import PatientFacts, patient_advice
from gaiter.core.check.boxes import TOES
from gaiter.core.check.words import look_again_words
from gaiter.core.errors import InputError
from gaiter.core.safety import Outcome
from tests.made_up_language import made_up, ordinary_letters

GOOD = {key: box.good for key, box in CHECK_BOXES.items()} | {"pain": 1}
BEFORE = {box.key: GOOD[box.key] for box in TOES} | {"pain": 1}
WORST = {key: list(box.answers)[-1] for key, box in CHECK_BOXES.items()} | {"pain": 9}


def test_no_english_is_left_of_a_verdict(policy) -> None:
    for seen, before in itertools.product((GOOD, WORST, GOOD | {"fingers": "no"}), (BEFORE, {})):
        made = judge_check(seen, before, policy)
        said = [*(one.said for one in made.failed), *made.as_before, *made.what_next]
        said.append(look_again_words(policy))
        for one in said:
            assert ordinary_letters(one.told(made_up)) == [], one
            assert one.code
    assert judge_check(WORST, WORST, policy).as_before != ()


def test_what_was_so_before_is_said_in_every_language(policy) -> None:
    made = judge_check(GOOD | {"warmth": "cool"}, BEFORE | {"warmth": "cool"}, policy)
    assert [one.text for one in made.as_before] == ["Toes feel: cool"]
    assert ordinary_letters(made.as_before[0].told(made_up)) == []


@pytest.mark.parametrize(
    ("answers", "text"),
    [
        ({**GOOD, "warmth": "tepid", "shoe": ""}, "Answer every box; still open: Toes feel; Shoe "
         "or boot fits."),
        ({**GOOD, "pain": 11}, "Pain must be a whole number, 0 to 10; received '11': ask again."),
    ],
)  # fmt: skip
def test_an_open_box_is_named_in_every_language(policy, answers, text) -> None:
    with pytest.raises(InputError) as refused:
        judge_check(answers, BEFORE, policy)
    assert str(refused.value) == refused.value.said.text == text
    assert ordinary_letters(refused.value.said.told(made_up)) == []


@pytest.mark.parametrize("outcome", list(Outcome))
@pytest.mark.parametrize("mobility", [None, *Mobility])
def test_no_english_is_left_of_what_the_patient_is_told(outcome, mobility) -> None:
    codes = ("heart_failure_class_3", "pregnancy", "sickle_cell", "raynaud", "cannot_report_pain")
    for poor, place in itertools.product((True, False), (None, WoundPlace.SOLE)):
        made = patient_advice(
            PatientFacts(
                outcome=outcome, bandaged=True, purpose="venous ulcer", codes=codes,
                poor_arteries=poor, mobility=mobility, observer="", latex=True, wound_place=place,
            )
        )  # fmt: skip
        for one in (*made.opening, *made.every_day, *made.also_call, *made.tell):
            assert ordinary_letters(one.told(made_up)) == [], one


def test_the_observer_is_a_name_and_stays_one() -> None:
    facts = PatientFacts(
        outcome=Outcome.FULL, bandaged=True, purpose="venous ulcer", reports_pain=False,
        observer="A. Neighbour",
    )  # fmt: skip
    assert ordinary_letters(patient_advice(facts).every_day[-1].told(made_up)) == ["A", "Neighbour"]
