"""The decision: boundary vectors, every caution and contraindication, and what may never be."""

import copy

import pytest
from gaiter.core.safety.wording import RULES
from hypothesis import given
from hypothesis import strategies as st

from gaiter.core.case import Case
from gaiter.core.landmark import Side
from gaiter.core.policy import Policy
from gaiter.core.safety import Kind, LegDecision, Outcome, decide
from gaiter.exchange.policy_file import shipped_policy
from tests.strategies import case, case_mapping, with_pressures

SHIPPED = shipped_policy()


def right(made: Case, policy: Policy) -> LegDecision:
    return decide(made, policy).legs[Side.RIGHT]


def codes(decision: LegDecision) -> set[str]:
    return {reason.code for reason in decision.reasons}


# Boundary tests of the arterial gates: arm, ankle, toe [mmHg]; what the published zones and
# their disagreements lead to (SVS/AVF 2014, Mosti 2012, Rabe 2020, NICE CKS; see docs/safety.md).
BOUNDARIES = [
    ((122, 61, None), Outcome.STOP, None, "ankle_brachial_hard"),  # 0.50
    ((118, 60, None), Outcome.STOP, None, "ankle_pressure"),  # 0.51, ankle 60
    ((136, 80, None), Outcome.STOP, None, "ankle_brachial_stop"),  # 0.59
    ((101, 61, 30), Outcome.REDUCED, 40, "ankle_brachial_reduced"),  # 0.60
    ((100, 79, None), Outcome.REDUCED, 40, "ankle_brachial_reduced"),  # 0.79
    ((140, 112, None), Outcome.FULL, 60, "ankle_brachial_refer"),  # 0.80
    ((100, 90, None), Outcome.FULL, 60, "ankle_brachial_refer"),  # 0.90
    ((100, 121, None), Outcome.FULL, 60, "ankle_brachial_high_normal"),  # 1.21
    ((100, 130, None), Outcome.FULL, 60, "ankle_brachial_high_normal"),  # 1.30
    ((100, 131, None), Outcome.NOT_YET, 20, "toe_needed"),  # 1.31, no toe
    ((100, 145, 28), Outcome.STOP, None, "toe_pressure"),  # 1.45, toe 28
    ((100, 145, 80), Outcome.FULL, 60, None),  # 1.45, toe index 0.80
    ((100, 145, 137), Outcome.FULL, 60, None),  # toe index 1.37, mean and 2 SD of the healthy
    ((100, 145, 138), Outcome.NOT_YET, 20, "toe_brachial_unusual"),  # 1.38
    ((130, 143, 200), Outcome.NOT_YET, 20, "toe_brachial_unusual"),  # ABI 1.10, toe index 1.54
    ((100, 145, 60), Outcome.REDUCED, 40, "toe_brachial_reduced"),  # 1.45, toe index 0.60
    ((100, 100, 30), Outcome.REDUCED, 40, "toe_brachial_reduced"),  # toe exactly 30
    ((100, 100, 29), Outcome.STOP, None, "toe_pressure"),
]


@pytest.mark.parametrize(("pressures", "outcome", "maximum", "code"), BOUNDARIES)
def test_boundaries(pressures, outcome, maximum, code, policy: Policy) -> None:
    decision = right(with_pressures(*pressures), policy)
    assert decision.outcome is outcome
    assert decision.maximum_mmhg == maximum
    if code:
        assert code in codes(decision)


def test_bands_by_a_second_derivation(policy: Policy) -> None:
    """Every index from 0.30 to 1.60 against the zones written out again from the sources."""
    for hundredths in range(30, 161):
        ankle, arm = 1.8 * hundredths, 180.0
        decision = right(with_pressures(arm, ankle), policy)
        if ankle <= 60 or hundredths <= 50 or hundredths < 60:
            expected = (Outcome.STOP, None)
        elif hundredths < 80:
            expected = (Outcome.REDUCED, 40)
        elif hundredths <= 130:
            expected = (Outcome.FULL, 60)
        else:
            expected = (Outcome.NOT_YET, 20)
        assert (decision.outcome, decision.maximum_mmhg) == expected, hundredths


@pytest.mark.parametrize(
    ("oxygen", "code", "kind"),
    [(19, "tcpo2_hard", Kind.HARD_STOP), (20, "tcpo2_stop", Kind.SOFT_STOP),
     (29, "tcpo2_stop", Kind.SOFT_STOP), (30, None, None)],
)  # fmt: skip
def test_oxygen_at_the_skin(oxygen: float, code, kind, policy: Policy) -> None:
    decision = right(case(**{"legs.right.arterial.tcpo2_mmhg": oxygen}), policy)
    assert (code in codes(decision)) is (code is not None)
    if code:
        assert decision.outcome is Outcome.STOP
        assert decision.overridable is (kind is Kind.SOFT_STOP)


F, P = "legs.right.findings.", "person."
# Every row of the table of cautions and contraindications: what is found, what fires, what it does.
TABLE = [
    ({f"{F}bypass": "superficial"}, "bypass_superficial", Kind.HARD_STOP),
    ({f"{F}bypass": "deep"}, "bypass_deep", Kind.SOFT_STOP),
    ({f"{F}bypass": None}, "bypass_not_said", Kind.MEASURE),
    ({f"{F}stent": True}, "stent", Kind.SOFT_STOP),
    ({f"{P}heart_failure_class": 4}, "heart_failure_class_4", Kind.HARD_STOP),
    ({f"{P}heart_failure_decompensated": True}, "heart_failure_class_4", Kind.HARD_STOP),
    ({f"{P}heart_failure_class": 3}, "heart_failure_class_3", Kind.CAP),
    ({f"{P}heart_failure_class": 2}, "heart_failure_class_1_2", Kind.CAUTION),
    ({f"{P}heart_failure_class": None}, "heart_failure_not_said", Kind.MEASURE),
    ({f"{P}breathless_lying": True}, "breathless_lying", Kind.SOFT_STOP),
    ({f"{P}weight_gain_kg": 2.0}, "weight_gain", Kind.SOFT_STOP),
    ({f"{P}diabetes": True, f"{F}absent_monofilament_sites": 1}, "sensation_lost_diabetes",
     Kind.SOFT_STOP),
    ({f"{P}diabetes": True, f"{F}absent_monofilament_sites": None},
     "sensation_not_tested_diabetes", Kind.MEASURE),
    ({f"{F}absent_monofilament_sites": 2}, "sensation_reduced", Kind.CAUTION),
    ({f"{F}necrosis_risk": True}, "necrosis_risk", Kind.SOFT_STOP),
    ({f"{F}clot": {"state": "suspected"}}, "clot_suspected", Kind.HARD_STOP),
    ({f"{F}clot": {"signs": {"previous_clot": True, "active_cancer": True}}}, "clot_suspected",
     Kind.HARD_STOP),
    ({f"{F}clot": {"state": "confirmed"}}, "clot_untreated", Kind.HARD_STOP),
    ({f"{F}clot": {"state": "confirmed", "anticoagulated": True}}, "clot_treated_acute",
     Kind.SOFT_STOP),
    ({f"{F}clot": {"state": "treated"}}, "clot_past", Kind.CAUTION),
    ({f"{F}superficial_phlebitis": True}, "superficial_phlebitis", Kind.SOFT_STOP),
    ({f"{F}septic_phlebitis": True}, "septic_phlebitis", Kind.HARD_STOP),
    ({f"{F}massive_blue_swelling": True}, "massive_blue_swelling", Kind.HARD_STOP),
    ({f"{F}infection": "spreading"}, "infection_spreading", Kind.SOFT_STOP),
    ({f"{F}infection": "local"}, "infection_local", Kind.CAUTION),
    ({f"{F}skin_fragile": True}, "skin_fragile", Kind.CAUTION),
    ({f"{F}skin_weeping": True}, "skin_weeping", Kind.CAUTION),
    ({f"{F}skin_eczema": True}, "skin_eczema", Kind.CAUTION),
    ({f"{F}vasculitis_suspected": True}, "vasculitis", Kind.SOFT_STOP),
    ({f"{P}rheumatoid_arthritis": True}, "rheumatoid_arthritis", Kind.CAUTION),
    ({f"{F}shape": "inverted bottle"}, "shape", Kind.CAUTION),
    ({f"{F}shape": "deep folds"}, "shape", Kind.CAUTION),
    ({"legs.right.wound": {"place": "shin", "over_bone": True}}, "wound_over_bone", Kind.CAUTION),
    ({"legs.right.wound": {"place": "heel"}}, "foot_wound", Kind.CAUTION),
    ({f"{P}can_report_pain": False}, "cannot_report_pain", Kind.CAP),
    ({f"{P}can_report_pain": None}, "can_report_pain_not_said", Kind.FLAG),
    ({f"{P}mobility": "bed"}, "weak_calf_pump", Kind.CAUTION),
    ({f"{P}diabetes": True}, "toe_needed", Kind.MEASURE),
    ({f"{P}kidney_disease": True}, "toe_needed", Kind.MEASURE),
    ({f"{P}diabetes": None}, "diabetes_not_said", Kind.MEASURE),
    ({f"{F}malignancy_suspected": True}, "malignancy", Kind.SOFT_STOP),
    ({f"{F}gangrene": True}, "gangrene", Kind.HARD_STOP),
    ({f"{F}rest_pain": True}, "rest_pain", Kind.HARD_STOP),
    ({f"{F}sepsis": True}, "sepsis", Kind.HARD_STOP),
    ({f"{F}acute_ischaemia": True}, "acute_ischaemia", Kind.HARD_STOP),
    ({f"{F}rest_pain": None}, "screen_incomplete", Kind.MEASURE),
    ({f"{F}ankle_stiff": True}, "ankle_stiff", Kind.CAUTION),
    ({"legs.right.arterial.waveform": "absent"}, "waveform_absent", Kind.SOFT_STOP),
    ({"legs.right.arterial.waveform": "monophasic"}, "waveform_monophasic", Kind.FLAG),
    ({"legs.right.arterial.lying_flat": False}, "not_lying_flat", Kind.MEASURE),
    ({"legs.right.arterial.lying_flat": None}, "lying_flat_not_said", Kind.FLAG),
    ({"legs.right.arterial.rested_min": 4}, "short_rest", Kind.FLAG),
    ({"legs.right.arterial.measured_on": None}, "arterial_date_missing", Kind.MEASURE),
    ({"arms": {"left_mmhg": 130, "right_mmhg": 150}}, "arms_differ", Kind.FLAG),
    ({"arms": {"left_mmhg": 130}}, "one_arm", Kind.FLAG),
    ({"person.allergies": None}, "allergies_not_said", Kind.FLAG),
    ({"legs.right.previous_level_mmhg": 40}, "previous_level", Kind.FLAG),
    ({f"{F}new_pain": True}, "new_pain_or_colour", Kind.MEASURE),
    ({f"{F}new_pain": True, "legs.right.arterial.measured_on": "2026-11-25"},
     "new_pain_or_colour_tested", Kind.SOFT_STOP),
    ({"legs.right.arterial.measured_on": "2025-11-25"}, "arterial_overdue", Kind.MEASURE),
    ({"legs.right.arterial.measured_on": "2025-11-25", "legs.right.previous_level_mmhg": 40},
     "arterial_overdue_stable", Kind.CAP),
    ({"legs.right.arterial.dorsalis_pedis_mmhg": None}, "arterial_missing", Kind.MEASURE),
    ({"legs.right.arterial.dorsalis_pedis_mmhg": None, "legs.right.wound": {"place": "toe"}},
     "foot_wound_untested", Kind.MEASURE),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "code", "kind"), TABLE)
def test_every_row_of_the_table_fires(changes, code: str, kind: Kind, policy: Policy) -> None:
    decision = right(case(**changes), policy)
    fired = {reason.code: reason for reason in decision.reasons}
    assert code in fired
    assert fired[code].kind is kind
    expected = {
        Kind.HARD_STOP: Outcome.STOP,
        Kind.SOFT_STOP: Outcome.STOP,
        Kind.MEASURE: Outcome.NOT_YET,
        Kind.CAP: Outcome.REDUCED,
    }
    if kind in expected:
        assert decision.outcome is expected[kind]
    if kind is Kind.MEASURE:
        assert decision.maximum_mmhg in (None, 20)


def test_class_3_stops_where_the_other_leg_is_compressed_too(policy: Policy) -> None:
    alone = case(**{"person.heart_failure_class": 3})
    both = case(**{"person.heart_failure_class": 3, "person.other_leg_compressed": True})
    assert right(alone, policy).outcome is Outcome.REDUCED
    assert right(both, policy).limiting == ("heart_failure_class_3_both_legs",)


def test_no_rule_is_without_a_test() -> None:
    tested = {code for _, code, _ in TABLE} | {code for *_, code in BOUNDARIES if code}
    tested |= {"heart_failure_class_3_both_legs", "policy_loosened", "tcpo2_hard", "tcpo2_stop"}
    tested.add("override")  # test_override.py
    assert tested == set(RULES)


def test_a_healthy_complete_case_gets_full_compression(policy: Policy) -> None:
    decision = right(case(), policy)
    assert decision.outcome is Outcome.FULL
    assert decision.maximum_mmhg == 60
    assert {reason.kind for reason in decision.reasons} <= {Kind.FLAG, Kind.CAUTION}


def test_person_first_both_legs_with_heart_failure_class_3(policy: Policy) -> None:
    leg = case_mapping()["legs"]["right"]
    both = case(**{"person.heart_failure_class": 3, "legs.left": leg})
    decision = decide(both, policy)
    assert {r.code for r in decision.person_reasons} >= {"heart_failure_class_3_both_legs"}
    for leg_decision in decision.legs.values():
        assert leg_decision.outcome is Outcome.STOP
        assert leg_decision.overridable


def test_hard_stops_cannot_be_overridden(policy: Policy) -> None:
    both_kinds = case(**{f"{F}rest_pain": True, f"{F}stent": True})
    assert not right(both_kinds, policy).overridable
    assert right(case(**{f"{F}stent": True}), policy).overridable


def test_missing_red_flags_are_named_and_leave_nothing(policy: Policy) -> None:
    decision = right(case(**{f"{F}gangrene": None, f"{F}clot": None}), policy)
    assert decision.maximum_mmhg is None
    text = next(r.text for r in decision.reasons if r.code == "screen_incomplete")
    assert "gangrene" in text
    assert "clot" in text


def test_overdue_keeps_the_level_only_of_a_stable_leg(policy: Policy) -> None:
    old = {"legs.right.arterial.measured_on": "2025-11-25", "legs.right.previous_level_mmhg": 40}
    assert right(case(**old), policy).maximum_mmhg == 40
    assert right(case(**old, **{f"{F}stable": None}), policy).maximum_mmhg == 20
    assert right(case(**old, **{f"{F}stable": False}), policy).maximum_mmhg == 20
    assert right(case(**old, **{f"{F}colour_change": True}), policy).maximum_mmhg is None


def test_where_guidelines_disagree_it_is_said(policy: Policy) -> None:
    for pressures in ((122, 61), (100, 79), (140, 112), (100, 121)):
        decision = right(with_pressures(*pressures), policy)
        assert any(r.disagreement for r in decision.reasons if r.code.startswith("ankle_brachial"))


@given(st.integers(80, 200), st.integers(20, 300), st.none() | st.integers(5, 200))
def test_worse_pressures_never_raise_the_maximum(arm: int, ankle: int, toe: int | None) -> None:
    policy = SHIPPED
    index = ankle / arm
    worse_ankle = max(20, ankle - 20)
    here = right(with_pressures(arm, ankle, toe), policy).maximum_mmhg or 0
    # Above the stiff limit a lower ankle pressure can make the index readable again.
    if index <= 1.3:
        assert (right(with_pressures(arm, worse_ankle, toe), policy).maximum_mmhg or 0) <= here
    # Above what healthy adults have, a lower toe pressure can be believed again.
    if toe is not None and toe / arm <= 1.37:
        worse_toe = max(5, toe - 20)
        assert (right(with_pressures(arm, ankle, worse_toe), policy).maximum_mmhg or 0) <= here


@given(st.sampled_from([row for row in TABLE if row[2] is not Kind.FLAG]), st.data())
def test_adding_a_finding_never_raises_the_maximum(row, data) -> None:
    policy = SHIPPED
    changes, *_ = row
    other, *_ = data.draw(st.sampled_from(TABLE))
    alone = right(case(**other), policy).maximum_mmhg or 0
    together = right(case(**{**other, **changes}), policy).maximum_mmhg or 0
    # A later entry for the same field replaces it; those pairs say nothing.
    if not set(changes) & set(other):
        assert together <= alone


def test_without_any_arterial_number_never_more_than_twenty(policy: Policy) -> None:
    bare = {"legs.right.arterial": {}, "arms": {}}
    for changes, *_ in TABLE:
        if any("arterial" in path or path == "arms" for path in changes):
            continue
        assert (right(case(**bare, **changes), policy).maximum_mmhg or 0) <= 20


def test_left_and_right_are_alike(policy: Policy) -> None:
    mapping = case_mapping(**{f"{F}skin_fragile": True})
    mirrored = copy.deepcopy(mapping)
    mirrored["legs"]["left"] = mirrored["legs"].pop("right")
    left = decide(Case.model_validate(mirrored), policy).legs[Side.LEFT]
    assert left == right(Case.model_validate(mapping), policy)


def test_every_rule_has_a_source_and_a_strength() -> None:
    for code, rule in RULES.items():
        assert len(rule.source) > 3, code
        assert rule.strength, code
        assert rule.text.rstrip().endswith("."), code
