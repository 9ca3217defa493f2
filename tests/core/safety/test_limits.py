"""Just inside and just outside of every limit: exactly the rules that should fire."""

import pytest

from gaiter.core.landmark import Side
from gaiter.core.policy import Policy, overlaid
from gaiter.core.safety import Outcome, decide
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case, with_pressures

SHIPPED = shipped_policy()
LEG = "legs.right."
F, P, A = f"{LEG}findings.", "person.", f"{LEG}arterial."
GOOD_TOE = {f"{A}toe_mmhg": 110}


def fired(made, policy: Policy = SHIPPED) -> dict[str, str]:
    reasons = decide(made, policy).legs[Side.RIGHT].reasons
    return {reason.code: reason.text for reason in reasons}


def test_a_healthy_leg_fires_nothing() -> None:
    assert fired(case()) == {}


# Nothing at all is said of these: each lies just on the safe side of a limit.
SAFE = [
    {f"{F}pain_now": 3},
    {f"{A}rested_min": 10},
    {"arms": {"left_mmhg": 130, "right_mmhg": 145}},
    {f"{P}weight_gain_kg": 1.9},
    {f"{A}measured_on": "2026-05-26"},
    {f"{A}waveform": "biphasic"},
    {f"{A}dorsalis_pedis_mmhg": 105, f"{A}posterior_tibial_mmhg": 135},
    {f"{F}absent_monofilament_sites": 0, **GOOD_TOE},
    {f"{A}tcpo2_mmhg": 30},
    {f"{P}age_years": 18},
    {"arms": {"left_mmhg": 130, "right_mmhg": 128, "unusable": "left"}},
]


@pytest.mark.parametrize("changes", SAFE)
def test_just_inside_a_limit_nothing_is_said(changes) -> None:
    assert fired(case(**changes)) == {}


# Exactly these rules fire, and no milder or graver one beside them.
EXACT = [
    ({f"{F}toes.colour": "white"}, {"toes_bad"}),
    ({f"{F}toes.colour": "white", f"{F}toes.warmth": "cold"}, {"toes_failing"}),
    ({f"{F}pain_now": 4}, {"some_pain"}),
    ({f"{F}pain_now": 6}, {"some_pain"}),
    ({f"{F}pain_now": 7}, {"severe_pain"}),
    ({f"{F}absent_monofilament_sites": 2, **GOOD_TOE}, {"sensation_lost"}),
    ({f"{F}absent_monofilament_sites": 1, **GOOD_TOE}, {"sensation_reduced"}),
    ({f"{F}absent_monofilament_sites": 1}, {"sensation_needs_toe"}),
    ({f"{P}weight_gain_kg": 2.0}, {"weight_gain"}),
    ({f"{A}rested_min": 9.5}, {"short_rest"}),
    ({"arms": {"left_mmhg": 130, "right_mmhg": 145.5}}, {"arms_differ"}),
    ({"arms": {"unusable": "left"}}, {"arterial_missing"}),
    ({f"{A}dorsalis_pedis_mmhg": None}, {"one_ankle_artery"}),
    # A sign counts for 28 days before 25 November 2026.
    ({f"{F}clot.signs.whole_leg_swollen": True, f"{F}clot.signs.tender_deep_veins": True,
      f"{F}clot.old_signs.whole_leg_swollen": "2026-10-28"}, {"clot_likely"}),
    ({f"{F}clot.signs.whole_leg_swollen": True, f"{F}clot.signs.tender_deep_veins": True,
      f"{F}clot.old_signs.whole_leg_swollen": "2026-10-27"},
     {"clot_score_incomplete", "clot_signs", "clot_signs_old"}),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "codes"), EXACT)
def test_exactly_these_rules_fire(changes, codes) -> None:
    assert set(fired(case(**changes))) == codes


@pytest.mark.parametrize(
    ("pressures", "codes"),
    [((100, 91, None), set()), ((200, 181, None), set()), ((200, 180, None), {
        "ankle_brachial_refer"}), ((89, 100, None), {"arm_low"}), ((90, 100, None), set()),
     ((60, 90, 80), {"arm_implausible"}), ((61, 90, 80), {"arm_low"}),
     ((80, 120, 90), {"arm_low"}), ((80, 120.4, 90), {"arm_low", "arm_and_ankle_exchanged"}),
     ((90, 140, 90), set())],
)  # fmt: skip
def test_arms_and_ankles_just_at_their_limits(pressures, codes) -> None:
    """0.90 refers and 0.905 does not; 60 and 90 mmHg at the arm; 1.50 beside a low arm."""
    assert set(fired(with_pressures(*pressures))) == codes


def test_one_absent_site_asks_for_more_than_fifty_at_the_toe() -> None:
    at_limit = {f"{F}absent_monofilament_sites": 1, f"{A}toe_mmhg": 50}
    low_arm = {"arms": {"left_mmhg": 70, "right_mmhg": 70}, f"{A}dorsalis_pedis_mmhg": 90,
               f"{A}posterior_tibial_mmhg": 90}  # fmt: skip
    assert "sensation_needs_toe" in fired(case(**at_limit, **low_arm))
    assert "sensation_reduced" in fired(case(**{**at_limit, f"{A}toe_mmhg": 51}, **low_arm))


@pytest.mark.parametrize(("grade", "words"), [(1, "class I:"), (2, "class II:")])
def test_the_class_is_named(grade: int, words: str) -> None:
    assert words in fired(case(**{f"{P}heart_failure_class": grade}))["heart_failure_class_1_2"]


@pytest.mark.parametrize(
    ("missing", "named"),
    [("posterior_tibial_mmhg", "the posterior tibial artery"),
     ("dorsalis_pedis_mmhg", "the dorsalis pedis artery")],
)  # fmt: skip
def test_the_artery_that_was_not_measured_is_named(missing: str, named: str) -> None:
    assert named in fired(case(**{f"{A}{missing}": None}))["one_ankle_artery"]


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({f"{A}measured_on": "2025-11-25"}, "no level that a stable leg tolerated"),
        ({f"{A}measured_on": "2025-11-24"}, "after 365 days no level is kept"),
        ({f"{A}measured_on": "2026-11-01", f"{F}worse": True}, "worse since the last visit"),
        ({f"{A}measured_on": "2025-11-24", f"{F}worse": True}, "worse since the last visit"),
    ],
)
def test_an_overdue_test_says_why_nothing_goes_on(changes, why: str) -> None:
    assert why in fired(case(**changes))["arterial_overdue"]


def test_a_purpose_that_may_have_all_is_not_capped() -> None:
    entry = {"value": 30, "source": "invented", "strength": "local"}
    clinic = {"name": "n", "version": "1", "values": {"full_maximum_mmhg": entry}}
    mild = overlaid(SHIPPED, clinic, sha256="x" * 64)
    made = case(**{f"{LEG}purpose": "support"})
    assert "purpose_allows" not in fired(made, mild)
    assert decide(made, mild).legs[Side.RIGHT].outcome is Outcome.FULL
