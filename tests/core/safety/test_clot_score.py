from datetime import date

import pytest

from gaiter.core.case import Clot, ClotSigns, LegSign
from gaiter.core.landmark import Side
from gaiter.core.safety import RULES, decide
from gaiter.core.safety.clot_score import (
    LIKELY_FROM,
    clot_score,
    counting_signs,
    most_possible,
    on_the_leg,
)
from gaiter.files.policy_file import shipped_policy
from tests.conftest import reference
from tests.strategies import case

WELLS = reference("wells2003")


@pytest.mark.parametrize(("ticked", "score", "likely"), WELLS["vectors"])
def test_published_vectors(ticked: list[int], score: int, likely: bool) -> None:
    signs = ClotSigns(**{WELLS["items"][number - 1]: True for number in ticked})
    assert clot_score(signs) == score
    assert (clot_score(signs) >= LIKELY_FROM) is likely


@pytest.mark.parametrize(
    ("item", "points"), list(zip(WELLS["items"], WELLS["points"], strict=True))
)
def test_points_of_every_item(item: str, points: int) -> None:
    assert clot_score(ClotSigns(**{item: True})) == points


def test_range() -> None:
    everything = ClotSigns(**dict.fromkeys(WELLS["items"], True))
    assert clot_score(everything) == 7
    assert clot_score(ClotSigns(other_diagnosis_as_likely=True)) == -2


TODAY = date(2026, 11, 25)
SIGNS, OLD = "legs.right.findings.clot.signs.", "legs.right.findings.clot.old_signs."
RISKS = ("active_cancer", "paralysis_or_plaster", "bedridden_or_surgery", "previous_clot")


def codes(**changes):
    decision = decide(case(**changes), shipped_policy()).legs[Side.RIGHT]
    return {r.code for r in decision.reasons if r.code.startswith("clot")}


@pytest.mark.parametrize(("days", "counts"), [(27, True), (28, True), (29, False), (400, False)])
def test_a_sign_counts_for_four_weeks(days: int, counts: bool) -> None:
    """New or worse within four weeks, or of unknown age: our choice, in the policy."""
    since = date.fromordinal(TODAY.toordinal() - days)
    clot = Clot(signs=ClotSigns(whole_leg_swollen=True), old_signs={"whole_leg_swollen": since})
    assert bool(counting_signs(clot, TODAY, 28).whole_leg_swollen) is counts


def test_a_sign_of_unknown_age_counts() -> None:
    clot = Clot(signs=ClotSigns(tender_deep_veins=True))
    assert counting_signs(clot, TODAY, 28).tender_deep_veins


def test_a_previous_clot_alone_never_stops() -> None:
    """A post-thrombotic ulcer is ordinary work: old swelling, a clot before."""
    found = {f"{SIGNS}{risk}": False for risk in RISKS} | {
        f"{SIGNS}previous_clot": True, f"{SIGNS}whole_leg_swollen": True,
        f"{OLD}whole_leg_swollen": "2020-01-01",
    }  # fmt: skip
    assert codes(**found) == {"clot_signs_old"}
    assert codes(**{f"{SIGNS}previous_clot": True, f"{SIGNS}active_cancer": True}) == set()


def test_signs_count_whatever_state_was_said() -> None:
    two = {f"{SIGNS}tender_deep_veins": True, f"{SIGNS}calf_3_cm_larger": True}
    assert "clot_likely" in codes(**two)
    assert "clot_likely" in codes(**two, **{"legs.right.findings.clot.state": None})
    assert "clot_again" in codes(**two, **{"legs.right.findings.clot.state": "treated"})
    assert "clot_suspected" in codes(**two, **{"legs.right.findings.clot.state": "suspected"})


def test_another_diagnosis_can_be_said_without_saying_suspected() -> None:
    found = {f"{SIGNS}{risk}": False for risk in RISKS} | {
        f"{SIGNS}whole_leg_swollen": True, f"{SIGNS}pitting_only_this_leg": True,
        f"{SIGNS}other_diagnosis_as_likely": True,
    }  # fmt: skip
    assert codes(**found) == {"clot_signs"}


def test_an_unasked_risk_that_would_decide_is_asked() -> None:
    one = {f"{SIGNS}whole_leg_swollen": True}
    assert "clot_score_incomplete" in codes(**one)
    asked = {f"{SIGNS}{risk}": False for risk in RISKS}
    assert "clot_score_incomplete" not in codes(**one, **asked)
    one_open = {path: value for path, value in asked.items() if "cancer" not in path}
    assert "clot_score_incomplete" in codes(**one, **one_open)  # 1 and 1 would make it likely
    assert most_possible(ClotSigns()).other_diagnosis_as_likely is None
    assert clot_score(most_possible(ClotSigns(whole_leg_swollen=True))) == 5


def test_the_score_says_nothing_without_a_sign_on_the_leg() -> None:
    assert not on_the_leg(ClotSigns(**dict.fromkeys(RISKS, True)))
    for sign in LegSign:
        assert on_the_leg(ClotSigns(**{sign.value: True}))


def test_a_confirmed_clot_is_untreated_or_treated_never_both() -> None:
    state = {"legs.right.findings.clot.state": "confirmed"}
    assert codes(**state) == {"clot_untreated"}
    treated = {"legs.right.findings.clot.anticoagulated": True}
    assert codes(**state, **treated) == {"clot_treated_acute"}
    assert codes(**treated) == set()


def test_the_score_reads_its_signs_and_its_risks_once() -> None:
    rule = RULES["clot_likely"]
    both = [path.rsplit(".", 1)[1] for path in (*rule.needs, *rule.reads)]
    assert sorted(both) == sorted(ClotSigns.model_fields)
    assert set(rule.needs) == {f"leg.findings.clot.signs.{sign}" for sign in LegSign}


def test_in_pregnancy_its_limits_are_said() -> None:
    found = {"legs.right.findings.clot.state": "suspected", "person.pregnancy": True}
    decision = decide(case(**found), shipped_policy()).legs[Side.RIGHT]
    text = next(r.text for r in decision.reasons if r.code == "clot_suspected")
    assert "In pregnancy the score was not tested" in text
