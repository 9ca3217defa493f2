"""The decision: boundary vectors, every caution and contraindication, and what may never be."""

import copy

import pytest

from gaiter.core.case import Case, SafetyCase
from gaiter.core.landmark import Side
from gaiter.core.policy import Policy, overlaid
from gaiter.core.safety import RULES, Effect, LegDecision, Outcome, Refer, RuleKind, Subject, decide
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case, case_mapping, with_pressures

SHIPPED = shipped_policy()
Kind = RuleKind  # the tables below stay narrow
STOP, NOT_YET, REDUCED, FULL = Outcome
LEG = "legs.right."
F, P, A = f"{LEG}findings.", "person.", f"{LEG}arterial."


def right(made: SafetyCase, policy: Policy = SHIPPED) -> LegDecision:
    return decide(made, policy).legs[Side.RIGHT]


def codes(decision: LegDecision) -> set[str]:
    return {reason.code for reason in decision.reasons}


# Boundary tests of the arterial gates: arm, ankle, toe [mmHg]; what the published zones and
# their disagreements lead to (SVS/AVF 2014, Mosti 2012, Rabe 2020, NICE CKS, TASC; see
# docs/safety.md), and our own bounds by an ankle's pressure less 30 and a toe's pressure.
BOUNDARIES = [
    ((122, 61, None), STOP, None, "ankle_brachial_hard"),  # 0.50
    ((1000 / 5, 101, None), STOP, None, "ankle_brachial_stop"),  # 0.505: above 0.50, below 0.60
    ((118, 60, None), STOP, None, "ankle_pressure"),  # 0.51, ankle 60
    ((118, 61, None), STOP, None, "ankle_brachial_stop"),  # ankle 61 is not the ankle's own stop
    ((136, 80, None), STOP, None, "ankle_brachial_stop"),  # 0.59
    ((200, 119, None), STOP, None, "ankle_brachial_stop"),  # 0.595 is below 0.60, rounded 0.60
    ((101, 61, 51), REDUCED, 31, "ankle_brachial_reduced"),  # 0.60; ankle 61 - 30
    ((125, 75, None), REDUCED, 40, "ankle_brachial_reduced"),  # exactly 0.60
    ((100, 79, None), REDUCED, 40, "ankle_brachial_reduced"),  # 0.79
    ((200, 159, None), REDUCED, 40, "ankle_brachial_reduced"),  # 0.795 is below 0.80
    ((140, 112, None), FULL, 60, "ankle_brachial_refer"),  # 0.80
    ((100, 90, None), FULL, 60, "ankle_brachial_refer"),  # 0.90; ankle 90 - 30
    ((125, 113, None), FULL, 60, "ankle_brachial_refer"),  # 0.904 is not above 0.90
    ((100, 121, None), FULL, 60, "ankle_brachial_high_normal"),  # 1.21
    ((100, 130, None), FULL, 60, "ankle_brachial_high_normal"),  # 1.30
    ((100, 131, None), NOT_YET, None, "toe_needed"),  # 1.31, no toe
    ((125, 163, None), NOT_YET, None, "toe_needed"),  # 1.304 is above 1.30
    ((100, 145, 28), STOP, None, "toe_pressure"),  # 1.45, toe 28
    ((100, 145, 80), FULL, 60, None),  # 1.45, toe index 0.80
    ((100, 145, 137), FULL, 60, None),  # toe index 1.37, mean and 2 SD of the healthy
    ((100, 145, 138), NOT_YET, None, "toe_brachial_unusual"),  # 1.38
    ((130, 143, 200), NOT_YET, None, "toe_brachial_unusual"),  # ABI 1.10, toe index 1.54
    ((100, 145, 60), REDUCED, 40, "toe_brachial_reduced"),  # 1.45, toe index 0.60
    ((100, 110, 70), REDUCED, 40, "toe_brachial_reduced"),  # toe index exactly 0.70
    ((125, 130, 88), REDUCED, 40, "toe_brachial_reduced"),  # 0.704 is not above 0.70
    ((100, 110, 71), FULL, 60, None),
    ((100, 100, 50), STOP, None, "toe_pressure_low"),  # toe 30 to 50: a soft stop
    ((100, 100, 30), STOP, None, "toe_pressure_low"),
    ((100, 100, 51), REDUCED, 40, "toe_brachial_reduced"),
    ((100, 100, 29), STOP, None, "toe_pressure"),
    ((85, 68.5, None), FULL, 38.5, None),  # low systolic: the ankle's own pressure bounds it
    ((100, 89, None), FULL, 59, "ankle_allows"),
    ((61, 70, None), FULL, 40, "arm_low"),
    ((60, 70, None), NOT_YET, None, "arm_implausible"),
    ((75, 120, None), NOT_YET, None, "arm_and_ankle_exchanged"),  # 1.60 beside a low arm
    ((75, 112, 80), FULL, 60, None),  # 1.49 is not called exchanged
    ((90, 140, 90), FULL, 60, None),  # nor is 1.56 beside an arm of 90
    ((120, 100, 101), NOT_YET, None, "toe_above_ankle"),
    ((120, 100, 100), FULL, 60, None),
]


@pytest.mark.parametrize(("pressures", "outcome", "maximum", "code"), BOUNDARIES)
def test_boundaries(pressures, outcome, maximum, code) -> None:
    decision = right(with_pressures(*pressures))
    # A bound by the ankle's own pressure reduces; the headline then says so.
    if maximum is not None and maximum < 60:
        outcome = REDUCED
    assert decision.outcome is outcome
    assert decision.maximum_mmhg == maximum
    if code:
        assert code in codes(decision)


ARTERIAL = {code for code, rule in RULES.items() if rule.subject is Subject.ARTERIES}
# Exactly these rules about arteries fire: arm, ankle, toe [mmHg].
EXACTLY = [
    ((122, 61, None), {"ankle_brachial_hard", "ankle_allows"}),  # 0.50 is not also below 0.60
    ((118, 61, None), {"ankle_brachial_stop", "ankle_allows"}),
    ((100, 90, None), {"ankle_brachial_refer"}),  # 90 less 30 leaves the full 60
    ((100, 89, None), {"ankle_brachial_refer", "ankle_allows"}),
    ((100, 100, None), set()),
    ((100, 120, None), set()),
    ((100, 121, None), {"ankle_brachial_high_normal"}),
    ((100, 100, 30), {"toe_pressure_low", "toe_brachial_reduced", "toe_allows"}),
    ((100, 100, 29), {"toe_pressure", "toe_brachial_reduced", "toe_allows"}),
    ((70, 100, 50), {"toe_pressure_low", "toe_allows", "arm_low"}),
    ((80, 92, 60), {"arm_low"}),  # the toe's own 60 leaves the full 60
    ((80, 92, 59), {"arm_low", "toe_allows"}),
    ((90, 100, None), set()),
]  # fmt: skip


@pytest.mark.parametrize(("pressures", "fired"), EXACTLY)
def test_no_other_rule_about_arteries_fires(pressures, fired) -> None:
    assert codes(right(with_pressures(*pressures))) & ARTERIAL == fired


@pytest.mark.parametrize(
    ("arm", "toe", "apart"),
    [(100, 70, True), (100, 71, False), (70, 50, True), (70, 51, False), (100, None, True)],
)
def test_only_a_good_toe_clears_ankle_arteries_that_differ(arm, toe, apart) -> None:
    """Toe index above 0.70 and toe pressure above 50 mmHg."""
    arms = {"arms": {"left_mmhg": arm, "right_mmhg": arm}, f"{A}toe_mmhg": toe}
    both = {f"{A}dorsalis_pedis_mmhg": 52, f"{A}posterior_tibial_mmhg": 85}
    assert ("ankle_arteries_apart" in codes(right(case(**arms, **both)))) is apart
    one = {f"{A}dorsalis_pedis_mmhg": None, f"{A}posterior_tibial_mmhg": 85}
    assert ("one_ankle_artery" in codes(right(case(**arms, **one)))) is apart


def test_an_untested_foot_wound_is_asked_for_once() -> None:
    decision = right(case(**{f"{F}wound": "foot", "arms": {}}))
    assert codes(decision) & ARTERIAL == {"foot_wound_untested", "arterial_missing"}
    assert "an arm pressure" in next(r.text for r in decision.reasons if "missing" in r.code)


def test_bands_by_a_second_derivation() -> None:
    """Every index from 0.30 to 1.60 against the zones written out again from the sources."""
    for hundredths in range(30, 161):
        ankle, arm = 1.8 * hundredths, 180.0
        decision = right(with_pressures(arm, ankle))
        if ankle <= 60 or hundredths <= 50 or hundredths < 60:
            expected = (STOP, None)
        elif hundredths < 80:
            expected = (REDUCED, 40)
        elif hundredths <= 130:
            expected = (FULL, 60)
        else:
            expected = (NOT_YET, None)
        assert (decision.outcome, decision.maximum_mmhg) == expected, hundredths


@pytest.mark.parametrize(
    ("oxygen", "code", "overridable"),
    [(19, "tcpo2_hard", False), (20, "tcpo2_stop", True), (29, "tcpo2_stop", True),
     (30, None, False)],
)  # fmt: skip
def test_oxygen_at_the_skin(oxygen: float, code, overridable) -> None:
    decision = right(case(**{f"{A}tcpo2_mmhg": oxygen}))
    assert {c for c in codes(decision) if c.startswith("tcpo2")} == ({code} if code else set())
    assert decision.outcome is (STOP if code else FULL)
    assert decision.overridable is overridable


SIGNS = f"{F}clot.signs."
WOUND = f"{LEG}wound"
DIABETES = {f"{P}diabetes": True}
GOOD_TOE = {f"{A}toe_mmhg": 110}
# A foot without toes: the girth at the metatarsal heads goes with them.
NO_TOE = {
    f"{F}forefoot_amputation": True, f"{LEG}girth_cm.metatarsal_heads": None,
    f"{LEG}position_cm.metatarsal_heads": None,
}  # fmt: skip
# Every row of the table of cautions and contraindications (Rabe 2020, UK and Australian guidance,
# Wells 2003; see docs/safety.md): what is found, what fires, what it does, the maximum [mmHg].
TABLE = [
    ({f"{F}bypass": "superficial"}, "bypass_superficial", Kind.HARD_STOP, None),
    ({f"{F}bypass": "deep"}, "bypass_deep", Kind.SOFT_STOP, None),
    ({f"{F}bypass": None}, "not_asked", Kind.FIRST, None),
    ({f"{F}stent": True}, "stent", Kind.SOFT_STOP, None),
    ({f"{F}stent": None}, "not_asked_caps", Kind.CAP, 40),
    ({f"{P}heart_failure_class": 4}, "heart_failure_class_4", Kind.HARD_STOP, None),
    ({f"{P}heart_failure_decompensated": True}, "heart_failure_decompensated", Kind.HARD_STOP,
     None),
    ({f"{P}heart_failure_class": 3, f"{P}other_leg_compressed": False}, "heart_failure_class_3",
     Kind.CAP, 40),
    ({f"{P}heart_failure_class": 3, f"{P}other_leg_compressed": True},
     "heart_failure_class_3_both_legs", Kind.SOFT_STOP, None),
    ({f"{P}heart_failure_class": 3}, "heart_other_leg_not_said", Kind.FIRST, None),
    ({f"{P}heart_failure_class": 2}, "heart_failure_class_1_2", Kind.CAUTION, 60),
    ({f"{P}heart_failure_class": 1}, "heart_failure_class_1_2", Kind.CAUTION, 60),
    ({f"{P}breathless_lying": True}, "breathless_lying", Kind.SOFT_STOP, None),
    ({f"{P}weight_gain_kg": 2.0}, "weight_gain", Kind.SOFT_STOP, None),
    ({f"{P}heart_failure_class": 3, f"{P}breathless_lying": True, f"{P}weight_gain_kg": 4.0,
      f"{P}other_leg_compressed": False}, "heart_decompensating", Kind.HARD_STOP, None),
    ({f"{P}heart_failure_class": 3, f"{P}weight_gain_kg": 2.0, f"{P}other_leg_compressed": False},
     "heart_decompensating", Kind.HARD_STOP, None),
    ({f"{P}breathless_lying": True, f"{P}weight_gain_kg": 2.0}, "heart_decompensating",
     Kind.HARD_STOP, None),
    ({f"{P}age_years": 17}, "child", Kind.HARD_STOP, None),
    ({f"{P}age_years": 18}, None, None, 60),
    ({f"{P}pregnancy": True}, "pregnancy", Kind.CAUTION, 60),
    ({f"{P}sickle_cell": True}, "sickle_cell", Kind.CAUTION, 60),
    ({f"{P}raynaud": True}, "raynaud", Kind.CAUTION, 60),
    ({f"{P}mobility": "bed"}, "weak_calf_pump", Kind.CAUTION, 60),
    ({f"{P}mobility": "chair"}, "weak_calf_pump", Kind.CAUTION, 60),
    ({f"{P}can_report_pain": False, f"{P}can_be_taken_off": True}, "cannot_report_pain", Kind.CAP,
     40),
    ({f"{P}can_report_pain": False, f"{P}can_be_taken_off": False,
      f"{P}daily_observer": "his daughter"}, "silent_and_alone", Kind.CAP, 30),
    ({f"{P}can_report_pain": False, f"{P}can_be_taken_off": False}, "observer_not_named",
     Kind.FIRST, None),
    ({f"{P}can_report_pain": None}, "screen_incomplete", Kind.FIRST, None),
    ({f"{P}allergies": None}, "allergies_not_said", Kind.FLAG, 60),
    ({**DIABETES, f"{F}absent_monofilament_sites": 2, **GOOD_TOE}, "sensation_lost",
     Kind.SOFT_STOP, None),
    ({f"{F}absent_monofilament_sites": 3}, "sensation_lost", Kind.SOFT_STOP, None),
    ({f"{F}absent_monofilament_sites": 1, **GOOD_TOE}, "sensation_reduced", Kind.CAP, 40),
    ({f"{F}absent_monofilament_sites": 1}, "sensation_needs_toe", Kind.FIRST, None),
    ({f"{F}absent_monofilament_sites": None}, "not_asked", Kind.FIRST, None),
    ({f"{F}necrosis_risk": True}, "necrosis_risk", Kind.SOFT_STOP, None),
    ({f"{F}clot.state": "suspected"}, "clot_suspected", Kind.HARD_STOP, None),
    ({f"{SIGNS}whole_leg_swollen": True, f"{SIGNS}calf_3_cm_larger": True}, "clot_likely",
     Kind.HARD_STOP, None),
    ({f"{SIGNS}whole_leg_swollen": True, f"{SIGNS}previous_clot": True}, "clot_likely",
     Kind.HARD_STOP, None),
    ({f"{F}clot.state": "treated", f"{SIGNS}tender_deep_veins": True}, "clot_again",
     Kind.HARD_STOP, None),
    ({f"{SIGNS}whole_leg_swollen": True}, "clot_score_incomplete", Kind.FIRST, None),
    ({f"{SIGNS}whole_leg_swollen": True, **{f"{SIGNS}{risk}": False for risk in (
        "active_cancer", "paralysis_or_plaster", "bedridden_or_surgery", "previous_clot")}},
     "clot_signs", Kind.CAUTION, 60),
    ({f"{SIGNS}whole_leg_swollen": True, f"{SIGNS}previous_clot": True,
      f"{F}clot.old_signs.whole_leg_swollen": "2026-10-01"}, "clot_signs_old", Kind.FLAG, 60),
    ({f"{F}clot.state": "confirmed"}, "clot_untreated", Kind.HARD_STOP, None),
    ({f"{F}clot.state": "confirmed", f"{F}clot.anticoagulated": True}, "clot_treated_acute",
     Kind.SOFT_STOP, None),
    ({f"{F}clot.state": "treated"}, "clot_past", Kind.CAUTION, 60),
    ({f"{F}clot.anticoagulated": True}, None, None, 60),
    ({f"{F}superficial_phlebitis": True}, "superficial_phlebitis", Kind.SOFT_STOP, None),
    ({f"{F}septic_phlebitis": True}, "septic_phlebitis", Kind.HARD_STOP, None),
    ({f"{F}massive_blue_swelling": True}, "massive_blue_swelling", Kind.HARD_STOP, None),
    ({f"{F}infection": "spreading"}, "infection_spreading", Kind.SOFT_STOP, None),
    ({f"{F}infection": "local"}, "infection_local", Kind.CAUTION, 60),
    ({f"{F}skin_fragile": True}, "skin_fragile", Kind.CAUTION, 60),
    ({f"{F}skin_weeping": True}, "skin_weeping", Kind.CAUTION, 60),
    ({f"{F}skin_eczema": True}, "skin_eczema", Kind.CAUTION, 60),
    ({f"{F}ankle_stiff": True}, "ankle_stiff", Kind.CAUTION, 60),
    ({f"{F}vasculitis_suspected": True}, "vasculitis", Kind.SOFT_STOP, None),
    ({f"{F}malignancy_suspected": True}, "malignancy", Kind.SOFT_STOP, None),
    ({f"{P}rheumatoid_arthritis": True, **GOOD_TOE}, "rheumatoid_arthritis", Kind.CAUTION, 60),
    ({f"{F}shape": "inverted bottle"}, "shape", Kind.CAUTION, 60),
    ({f"{F}shape": "deep folds"}, "shape", Kind.CAUTION, 60),
    ({f"{F}wound": "leg", WOUND: {"place": "shin", "over_bone": True, "duration_weeks": 3}},
     "wound_over_bone", Kind.CAUTION, 60),
    ({f"{F}wound": "foot", **GOOD_TOE}, "foot_wound", Kind.CAUTION, 60),
    ({WOUND: {"place": "heel"}, **GOOD_TOE}, "foot_wound", Kind.CAUTION, 60),
    ({f"{F}wound": "foot"}, "toe_for_foot_wound", Kind.FIRST, None),
    ({WOUND: {"place": "toe"}}, "toe_for_foot_wound", Kind.FIRST, None),
    ({f"{F}wound": None}, "screen_incomplete", Kind.FIRST, None),
    (DIABETES, "toe_needed", Kind.FIRST, None),
    ({f"{P}kidney_disease": True}, "toe_needed", Kind.FIRST, None),
    ({f"{P}rheumatoid_arthritis": True}, "toe_needed", Kind.FIRST, None),
    ({f"{F}claudication": True}, "toe_needed", Kind.FIRST, None),
    ({f"{F}claudication": True, **GOOD_TOE}, "claudication", Kind.CAP, 40),
    ({**DIABETES, **GOOD_TOE}, None, None, 60),
    ({**DIABETES, **NO_TOE}, "toe_needed", Kind.FIRST, None),
    ({**DIABETES, **NO_TOE, f"{A}tcpo2_mmhg": 45}, "oxygen_for_toe", Kind.CAP, 40),
    ({**DIABETES, f"{A}tcpo2_mmhg": 45}, "toe_needed", Kind.FIRST, None),
    ({**NO_TOE, f"{A}tcpo2_mmhg": 45}, None, None, 60),
    ({**NO_TOE, f"{F}wound": "foot", f"{A}tcpo2_mmhg": 45}, "oxygen_for_toe", Kind.CAP, 40),
    ({**NO_TOE, f"{F}absent_monofilament_sites": 1, f"{A}tcpo2_mmhg": 45}, "sensation_reduced",
     Kind.CAP, 40),
    ({f"{P}diabetes": None}, "not_asked", Kind.FIRST, None),
    ({f"{F}gangrene": True}, "gangrene", Kind.HARD_STOP, None),
    ({f"{F}rest_pain": True}, "rest_pain", Kind.HARD_STOP, None),
    ({f"{F}sepsis": True}, "sepsis", Kind.HARD_STOP, None),
    ({f"{F}acute_ischaemia": True}, "acute_ischaemia", Kind.HARD_STOP, None),
    ({f"{F}rest_pain": None}, "screen_incomplete", Kind.FIRST, None),
    ({f"{F}new_pain": True}, "new_pain_or_colour", Kind.SOFT_STOP, None),
    ({f"{F}colour_change": True}, "new_pain_or_colour", Kind.SOFT_STOP, None),
    ({f"{F}temperature_change": True}, "new_pain_or_colour", Kind.SOFT_STOP, None),
    ({f"{F}new_pain": True, "arms": {}}, "new_pain_or_colour", Kind.SOFT_STOP, None),
    ({f"{F}toes.colour": "white"}, "toes_bad", Kind.SOFT_STOP, None),
    ({f"{F}toes.colour": "bluer"}, "toes_bad", Kind.SOFT_STOP, None),
    ({f"{F}toes.colour": "paler"}, "toes_bad", Kind.SOFT_STOP, None),
    ({f"{F}toes.colour": "greyer"}, "toes_bad", Kind.SOFT_STOP, None),
    ({f"{F}toes.warmth": "cold"}, "toes_bad", Kind.SOFT_STOP, None),
    ({f"{F}toes.feeling": "no toe"}, "toes_bad", Kind.SOFT_STOP, None),
    ({f"{F}toes.movement": "no toe"}, "toes_bad", Kind.SOFT_STOP, None),
    ({f"{F}toes.colour": "bluer", f"{F}toes.warmth": "cold"}, "toes_failing", Kind.HARD_STOP,
     None),
    ({f"{F}toes.refill": "slower"}, "toes_doubtful", Kind.CAUTION, 60),
    ({f"{F}toes.warmth": "cool"}, "toes_doubtful", Kind.CAUTION, 60),
    ({f"{F}toes.feeling": "some toes"}, "toes_doubtful", Kind.CAUTION, 60),
    ({f"{F}toes.movement": "some toes"}, "toes_doubtful", Kind.CAUTION, 60),
    ({f"{F}toes.colour": "redder"}, "toes_doubtful", Kind.CAUTION, 60),
    ({f"{F}toes.colour": None}, "screen_incomplete", Kind.FIRST, None),
    ({f"{F}pain_now": 7}, "severe_pain", Kind.SOFT_STOP, None),
    ({f"{F}pain_now": 10}, "severe_pain", Kind.SOFT_STOP, None),
    ({f"{F}pain_now": 6}, "some_pain", Kind.CAUTION, 60),
    ({f"{F}pain_now": 4}, "some_pain", Kind.CAUTION, 60),
    ({f"{F}pain_now": 3}, None, None, 60),
    ({f"{A}waveform": "absent"}, "waveform_absent", Kind.SOFT_STOP, None),
    ({f"{A}waveform": "monophasic"}, "waveform_monophasic", Kind.CAP, 40),
    ({f"{A}waveform": "biphasic"}, None, None, 60),
    ({f"{A}waveform": None}, "not_asked_caps", Kind.CAP, 40),
    ({f"{A}lying_flat": False}, "not_lying_flat", Kind.FIRST, None),
    ({f"{A}lying_flat": None}, "lying_flat_not_said", Kind.FIRST, None),
    ({f"{A}rested_min": 9}, "short_rest", Kind.FLAG, 60),
    ({f"{A}rested_min": 10}, None, None, 60),
    ({f"{A}measured_on": None}, "arterial_date_missing", Kind.FIRST, None),
    ({"arms": {"left_mmhg": 130, "right_mmhg": 146}}, "arms_differ", Kind.FLAG, 60),
    ({"arms": {"left_mmhg": 130, "right_mmhg": 145}}, None, None, 60),
    ({"arms": {"left_mmhg": 130}}, "one_arm", Kind.FIRST, None),
    ({"arms": {"left_mmhg": 130, "unusable": "right"}}, "one_arm_only", Kind.FLAG, 60),
    ({"arms": {}}, "arterial_missing", Kind.FIRST, None),
    ({f"{A}posterior_tibial_mmhg": None}, "one_ankle_artery", Kind.CAP, 40),
    ({f"{A}posterior_tibial_mmhg": None, **GOOD_TOE}, None, None, 60),
    ({f"{A}dorsalis_pedis_mmhg": 52, f"{A}posterior_tibial_mmhg": 135}, "ankle_arteries_apart",
     Kind.CAP, 40),
    ({f"{A}dorsalis_pedis_mmhg": 105, f"{A}posterior_tibial_mmhg": 135}, None, None, 60),
    ({f"{A}dorsalis_pedis_mmhg": 104, f"{A}posterior_tibial_mmhg": 135}, "ankle_arteries_apart",
     Kind.CAP, 40),
    ({f"{A}dorsalis_pedis_mmhg": 52, f"{A}posterior_tibial_mmhg": 135, **GOOD_TOE}, None, None, 60),
    ({f"{A}dorsalis_pedis_mmhg": None, f"{A}posterior_tibial_mmhg": None, **GOOD_TOE},
     "ankle_missing", Kind.CAP, 40),
    ({f"{A}dorsalis_pedis_mmhg": None, f"{A}posterior_tibial_mmhg": None,
      WOUND: {"place": "toe"}}, "foot_wound_untested", Kind.FIRST, None),
    # 18 kPa are 135 mmHg at the ankle; 12 kPa 90 mmHg at the toe; 6 kPa 45 mmHg of oxygen.
    ({f"{A}dorsalis_pedis_mmhg": 21, f"{A}posterior_tibial_mmhg": 20}, "kilopascal", Kind.FIRST,
     None),
    ({f"{A}toe_mmhg": 12}, "kilopascal", Kind.FIRST, None),
    ({f"{A}tcpo2_mmhg": 6}, "kilopascal", Kind.FIRST, None),
    ({f"{LEG}tolerated_mmhg": 40}, "tolerated", Kind.FLAG, 60),
    ({f"{LEG}start": None}, "lower_start", Kind.CAUTION, 60),
    ({f"{LEG}purpose": "support"}, "purpose_allows", Kind.CAP, 30),
    ({f"{LEG}purpose": "palliative"}, "purpose_allows", Kind.CAP, 30),
    ({f"{A}toe_mmhg": 59, "arms": {"left_mmhg": 80, "right_mmhg": 80},
      f"{A}dorsalis_pedis_mmhg": 92, f"{A}posterior_tibial_mmhg": 92}, "toe_allows", Kind.CAP, 59),
    # Age of the test on 25 November 2026: 183 days, 92 where arteries are at risk, 365 at most.
    ({f"{A}measured_on": "2026-05-26"}, None, None, 60),
    ({f"{A}measured_on": "2026-05-25"}, "arterial_overdue", Kind.FIRST, None),
    ({f"{A}measured_on": "2026-08-25", **DIABETES, **GOOD_TOE}, None, None, 60),
    ({f"{A}measured_on": "2026-08-24", **DIABETES, **GOOD_TOE}, "arterial_overdue", Kind.FIRST,
     None),
    ({f"{A}measured_on": "2026-08-24", f"{P}kidney_disease": True, **GOOD_TOE},
     "arterial_overdue", Kind.FIRST, None),
    ({f"{A}measured_on": "2026-08-24", f"{P}rheumatoid_arthritis": True, **GOOD_TOE},
     "arterial_overdue", Kind.FIRST, None),
    ({f"{A}measured_on": "2026-08-24", f"{A}dorsalis_pedis_mmhg": 117,
      f"{A}posterior_tibial_mmhg": 117}, "arterial_overdue", Kind.FIRST, None),
    ({f"{A}measured_on": "2026-08-24", f"{F}wound": "leg"}, "arterial_overdue", Kind.FIRST, None),
    ({f"{A}measured_on": "2026-08-24", WOUND: {"place": "shin", "duration_weeks": 12}},
     "arterial_overdue", Kind.FIRST, None),
    ({f"{A}measured_on": "2026-08-24", WOUND: {"place": "shin", "duration_weeks": 11}}, None, None,
     60),
    ({f"{A}measured_on": "2026-11-18", f"{F}worse": True}, None, None, 60),
    ({f"{A}measured_on": "2026-11-17", f"{F}worse": True}, "arterial_overdue", Kind.FIRST, None),
    ({f"{A}measured_on": "2025-11-25", f"{LEG}tolerated_mmhg": 34}, "arterial_overdue_stable",
     Kind.CAP, 34),
    ({f"{A}measured_on": "2025-11-24", f"{LEG}tolerated_mmhg": 34}, "arterial_overdue", Kind.FIRST,
     None),
    ({f"{A}measured_on": "2025-11-25", f"{LEG}tolerated_mmhg": 34, f"{F}worse": None},
     "arterial_overdue", Kind.FIRST, None),
    ({f"{A}measured_on": "2016-11-25", f"{LEG}tolerated_mmhg": 60, **DIABETES, **GOOD_TOE},
     "arterial_overdue", Kind.FIRST, None),
]  # fmt: skip
OUTCOMES = {
    Kind.HARD_STOP: STOP, Kind.SOFT_STOP: STOP, Kind.FIRST: NOT_YET, Kind.CAP: REDUCED,
}  # fmt: skip


@pytest.mark.parametrize(("changes", "code", "kind", "maximum"), TABLE)
def test_every_row_of_the_table_fires(changes, code, kind, maximum) -> None:
    decision = right(case(**changes))
    fired = {reason.code: reason for reason in decision.reasons}
    assert decision.maximum_mmhg == maximum
    if code is None:
        assert {r.kind for r in decision.reasons} <= {Kind.FLAG, Kind.CAUTION}
        return
    assert code in fired
    assert fired[code].kind is kind
    if kind in OUTCOMES and code != "purpose_allows":
        assert decision.outcome is OUTCOMES[kind]
        assert code in decision.limiting


def test_no_rule_is_without_a_row() -> None:
    tested = {code for _, code, *_ in TABLE if code} | {code for *_, code in BOUNDARIES if code}
    tested |= {"tcpo2_hard", "tcpo2_stop", "policy_loosened"}  # above, and test_policy.py
    assert tested == set(RULES)


def test_a_healthy_complete_case_gets_full_compression() -> None:
    decision = right(case())
    assert decision.outcome is FULL
    assert decision.maximum_mmhg == 60
    assert decision.headline == "Full: aim 30–50, never above 60 mmHg at the gaiter"
    assert {reason.kind for reason in decision.reasons} <= {Kind.FLAG, Kind.CAUTION}


def test_only_reduced_and_full_may_be_compressed() -> None:
    assert [outcome for outcome in Outcome if outcome.may_be_compressed] == [REDUCED, FULL]


def test_why_a_toe_pressure_is_needed_stands_in_order() -> None:
    made = with_pressures(100, 142, **{f"{P}diabetes": True, f"{P}kidney_disease": True})
    text = next(r.text for r in right(made).reasons if r.code == "toe_needed")
    assert text.startswith(
        "Measure the toe pressure: the ABI (ABPI) is 1.42 and with diabetes and with kidney disease"
    )


def test_a_decision_needs_no_girth_no_bandager_and_no_stock() -> None:
    mapping = case_mapping(**{f"{F}rest_pain": True})
    leg = mapping["legs"]["right"]
    for name in ("girth_cm", "position_cm", "foot_length_cm", "purpose"):
        del leg[name]
    del mapping["bandager"]
    decision = right(SafetyCase.model_validate(mapping))
    assert decision.outcome is STOP
    assert decision.limiting == ("rest_pain",)
    leg["findings"]["rest_pain"] = False
    assert right(SafetyCase.model_validate(mapping)).headline == (
        "Full: never above 60 mmHg at the gaiter"
    )


def test_person_first_both_legs_with_heart_failure_class_3() -> None:
    leg = case_mapping()["legs"]["right"]
    both = case(**{f"{P}heart_failure_class": 3, "legs.left": leg})
    decision = decide(both, SHIPPED)
    assert {r.code for r in decision.person_reasons} >= {"heart_failure_class_3_both_legs"}
    for leg_decision in decision.legs.values():
        assert leg_decision.outcome is STOP
        assert leg_decision.overridable


def test_a_hard_stop_leaves_nothing_to_set_aside() -> None:
    both_kinds = case(**{f"{F}rest_pain": True, f"{F}stent": True})
    assert right(both_kinds).to_set_aside == ()
    assert [s.code for s in right(case(**{f"{F}stent": True})).to_set_aside] == ["stent"]


def test_every_stop_says_who_is_asked() -> None:
    for rule in RULES.values():
        assert (rule.refer is not None) is rule.stops, rule.code
        assert bool(rule.danger) is rule.stops, rule.code
    assert right(case(**{f"{F}sepsis": True})).refer == (Refer.EMERGENCY,)


def test_missing_red_flags_are_named_and_leave_nothing() -> None:
    decision = right(case(**{f"{F}gangrene": None, f"{F}clot.state": None}))
    assert decision.maximum_mmhg is None
    assert decision.provisional_mmhg is None
    text = next(r.text for r in decision.reasons if r.code == "screen_incomplete")
    assert "Black or dead tissue" in text
    assert "Deep vein clot" in text


PROVISIONAL = {f"{LEG}provisional": {"by": "Dr Invented", "words": "Until the Doppler is there."}}


@pytest.mark.parametrize(
    ("changes", "level"),
    [
        ({"arms": {}}, 20),
        ({f"{P}diabetes": None}, 20),
        ({f"{F}wound": "foot", "arms": {}}, None),
        ({f"{F}gangrene": None, "arms": {}}, None),
        ({f"{F}rest_pain": True, "arms": {}}, None),
        ({f"{A}toe_mmhg": 12}, None),
        ({"arms": {"left_mmhg": 60, "right_mmhg": 60}}, None),
        ({f"{P}can_report_pain": False, f"{P}can_be_taken_off": False}, None),
    ],
)
def test_the_provisional_level_is_chosen_never_taken(changes, level) -> None:
    """Up to 20 mmHg with the screen complete and no wound on the foot (Wounds UK)."""
    without = right(case(**changes))
    assert without.maximum_mmhg is None
    assert without.provisional_mmhg == level
    chosen = right(case(**changes, **PROVISIONAL))
    assert chosen.maximum_mmhg == level
    assert chosen.outcome is without.outcome
    if level:
        assert chosen.aim.high_mmhg <= level
        assert chosen.first_look_days == 2


def test_a_chosen_provisional_level_raises_nothing_where_nothing_is_missing() -> None:
    assert right(case(**PROVISIONAL)) == right(case())
    stopped = right(case(**PROVISIONAL, **{f"{F}gangrene": True}))
    assert stopped.maximum_mmhg is None


@pytest.mark.parametrize(
    ("changes", "aim", "low"),
    [
        ({}, (30, 50), False),
        ({f"{LEG}start": None}, (20, 30), True),
        ({f"{LEG}start": None, f"{LEG}tolerated_mmhg": 33}, (30, 50), False),
        ({f"{LEG}start": None, f"{LEG}tolerated_mmhg": 33, f"{F}skin_fragile": True}, (20, 30),
         True),
        ({f"{LEG}start": "low", f"{LEG}tolerated_mmhg": 33}, (20, 30), True),
        ({f"{LEG}start": None, f"{LEG}purpose": "palliative"}, (10, 20), False),
        ({f"{LEG}purpose": "mixed disease"}, (20, 30), False),
        ({f"{A}waveform": "monophasic"}, (20, 30), False),
        ({f"{LEG}purpose": "support"}, (10, 20), False),
    ],
)  # fmt: skip
def test_what_is_aimed_at(changes, aim, low) -> None:
    """Published ranges: 30-50 Zarchi & Jemec 2014, 20-30 and 18-35 reduced and maintenance."""
    decision = right(case(**changes))
    assert (decision.aim.low_mmhg, decision.aim.high_mmhg) == aim
    assert decision.aim.offered_low is low
    assert (Effect.START_LOW in decision.effects) or not low


def test_every_reduced_leg_is_looked_at_within_two_days() -> None:
    assert right(case()).first_look_days is None
    assert right(case(**{f"{A}waveform": "monophasic"})).first_look_days == 2
    assert right(case(**{f"{P}can_report_pain": False, f"{P}can_be_taken_off": True})
                 ).first_look_days == 2  # fmt: skip


@pytest.mark.parametrize(
    ("pressures", "bound"),
    [((130, 135, None), 105), ((130, 135, 90), 90), ((100, 130, None), 100),
     ((100, 131, None), None),
     ((100, 131, 90), 90), ((100, 140, 120), 110), ((100, 141, 120), 120),
     ((85, 68.5, None), 38.5)],
)  # fmt: skip
def test_what_the_lowest_arterial_pressure_allows_anywhere(pressures, bound) -> None:
    """Ankle less 30, or the toe; an ankle that no cuff closes counts for nothing (our choice)."""
    assert right(with_pressures(*pressures)).arterial_bound_mmhg == bound


def local(**values: float) -> Policy:
    """The shipped policy with a clinic's own thresholds."""
    entries = {
        name: {"value": number, "source": "invented", "strength": "local"}
        for name, number in values.items()
    }
    return overlaid(SHIPPED, {"name": "n", "version": "1", "values": entries}, sha256="x" * 64)


@pytest.mark.parametrize(("ankle", "outcome", "left"), [(60, STOP, None), (60.5, REDUCED, 0.5)])
def test_arteries_that_leave_nothing_stop(ankle, outcome, left) -> None:
    """Whatever a policy says, there is no bandage of 0 mmHg."""
    bare = local(ankle_stop_mmhg=40, ankle_margin_mmhg=60)
    decision = right(with_pressures(70, ankle), bare)
    assert (decision.outcome, decision.maximum_mmhg) == (outcome, left)


@pytest.mark.parametrize(("level", "offered"), [(0, None), (0.5, 0.5), (20, 20)])
def test_a_policy_without_a_provisional_level_offers_none(level, offered) -> None:
    decision = right(case(arms={}), local(untested_maximum_mmhg=level))
    assert decision.provisional_mmhg == offered


def test_what_leaves_the_full_maximum_limits_nothing() -> None:
    old = {f"{A}measured_on": "2025-11-25", f"{LEG}tolerated_mmhg": 60}
    decision = right(case(**old))
    assert (decision.outcome, decision.limiting) == (FULL, ())


def test_the_reasons_that_stop_are_the_stops() -> None:
    decision = right(case(**{f"{F}stent": True, f"{F}gangrene": True, f"{F}skin_fragile": True}))
    assert {r.code for r in decision.stops} == {"stent", "gangrene"}
    assert right(case()).stops == ()


def test_where_guidelines_disagree_it_is_said() -> None:
    for pressures in ((122, 61), (100, 79), (140, 112), (100, 121)):
        decision = right(with_pressures(*pressures))
        assert any(r.disagreement for r in decision.reasons if r.code.startswith("ankle_brachial"))


def test_left_and_right_are_alike() -> None:
    mapping = case_mapping(**{f"{F}skin_fragile": True})
    mirrored = copy.deepcopy(mapping)
    mirrored["legs"]["left"] = mirrored["legs"].pop("right")
    left = decide(Case.model_validate(mirrored), SHIPPED).legs[Side.LEFT]
    assert left == right(Case.model_validate(mapping))


def test_every_rule_has_a_source_and_a_strength() -> None:
    for code, rule in RULES.items():
        assert len(rule.source) > 3, code
        assert rule.strength, code
        assert rule.text.rstrip("{}limts").rstrip().endswith((".", ".{")), code
