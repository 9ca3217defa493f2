"""A prescriber's override: soft stops one by one, with what each asks first, capped, in sight."""

import pytest

from gaiter.core.landmark import Side
from gaiter.core.safety import RULES, Effect, Outcome, RuleKind, decide
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case, with_pressures

SHIPPED = shipped_policy()
BREATHLESS = {
    "code": "breathless_lying",
    "aim_low_mmhg": 15,
    "aim_high_mmhg": 25,
    "maximum_mmhg": 30,
    "reason": "specialist agreed",
    "words": "Cardiology saw her today; lungs clear.",
    "by": "Dr Invented",
}
VASCULAR = {
    **BREATHLESS, "code": "ankle_brachial_stop", "aim_low_mmhg": 20, "aim_high_mmhg": 30,
    "maximum_mmhg": 40, "vascular_by": "Dr Invented Vascular", "vascular_on": "2026-11-20",
}  # fmt: skip


def decided(made):
    return decide(made, SHIPPED).legs[Side.RIGHT]


def breathless(*overrides, **changes):
    return decided(
        case(**{"person.breathless_lying": True, "legs.right.overrides": overrides, **changes})
    )


def test_a_soft_stop_is_set_aside_and_stays_in_sight() -> None:
    stopped = breathless()
    assert stopped.outcome is Outcome.STOP
    assert [(s.code, s.missing) for s in stopped.to_set_aside] == [("breathless_lying", ())]
    made = breathless(BREATHLESS)
    assert (made.outcome, made.maximum_mmhg) == (Outcome.REDUCED, 30)
    assert made.headline == "Reduced: aim 15–25, never above 30 mmHg at the gaiter"
    aside = next(r for r in made.reasons if r.code == "breathless_lying")
    assert aside.kind is RuleKind.CAUTION
    assert aside.text.startswith("Set aside by Dr Invented: Breathless")
    assert "Cardiology saw her today" in next(r.text for r in made.reasons if r.code == "override")


def test_what_the_prescriber_aims_at_is_what_is_aimed_at() -> None:
    """20-30 written down plans 20-30, not the strongest range under 30."""
    made = breathless({**BREATHLESS, "aim_low_mmhg": 20, "aim_high_mmhg": 30, "maximum_mmhg": 40})
    assert (made.aim.low_mmhg, made.aim.high_mmhg) == (20, 30)
    assert made.maximum_mmhg == 40


def test_each_stop_is_set_aside_by_itself() -> None:
    made = breathless(BREATHLESS, **{"legs.right.findings.stent": True})
    assert made.outcome is Outcome.STOP
    assert made.limiting == ("stent",)
    assert [s.code for s in made.to_set_aside] == ["stent"]
    both = breathless(
        BREATHLESS, {**BREATHLESS, "code": "stent", "aim_low_mmhg": 12, "maximum_mmhg": 26},
        **{"legs.right.findings.stent": True},
    )  # fmt: skip
    assert (both.outcome, both.maximum_mmhg) == (Outcome.REDUCED, 26)
    assert both.aim.words == "12–25"  # the one with the lower maximum


def test_a_hard_stop_stays() -> None:
    made = breathless(
        BREATHLESS, {**BREATHLESS, "code": "gangrene"}, **{"legs.right.findings.gangrene": True}
    )
    assert made.outcome is Outcome.STOP
    assert made.maximum_mmhg is None


def test_it_never_allows_more_than_the_reduced_maximum() -> None:
    made = breathless({**BREATHLESS, "maximum_mmhg": 55})
    assert made.maximum_mmhg == SHIPPED["reduced_maximum_mmhg"]


def test_an_override_of_what_did_not_fire_changes_nothing() -> None:
    assert decided(case(**{"legs.right.overrides": (BREATHLESS,)})) == decided(case())


@pytest.mark.parametrize("field", list(BREATHLESS))
def test_nothing_of_it_may_be_left_out(field: str) -> None:
    with pytest.raises(ValueError, match=field):
        breathless({k: v for k, v in BREATHLESS.items() if k != field})


@pytest.mark.parametrize(
    "numbers", [(30, 25, 40), (20, 45, 40), (25, 25, 40)], ids=["turned", "above", "nothing"]
)
def test_aim_and_maximum_must_rise(numbers) -> None:
    low, high, most = numbers
    written = {"aim_low_mmhg": low, "aim_high_mmhg": high, "maximum_mmhg": most}
    with pytest.raises(ValueError, match="must rise in this order"):
        breathless({**BREATHLESS, **written})


def narrow(toe, override, **changes):
    """Index 0.55: arm 140, ankle 77 mmHg."""
    return decided(with_pressures(140, 77, toe, **{"legs.right.overrides": override, **changes}))


def test_between_half_and_six_tenths_only_a_named_vascular_decision_opens_it() -> None:
    """Index 0.51-0.59 (SVS, Mosti against Rabe): least of 40, ankle less 30, and the toe."""
    unnamed = {k: v for k, v in VASCULAR.items() if not k.startswith("vascular")}
    stop = narrow(60, (unnamed,)).to_set_aside[0]
    assert stop.missing == ("the vascular specialist who decided, by name, and the day",)
    assert narrow(60, (unnamed,)).outcome is Outcome.STOP
    assert narrow(60, ({**unnamed, "vascular_by": "Dr V"},)).outcome is Outcome.STOP
    tomorrow = narrow(60, ({**VASCULAR, "vascular_on": "2026-11-26"},))
    assert "not to come" in tomorrow.to_set_aside[0].missing[0]
    assert "toe pressure" in narrow(None, (VASCULAR,)).to_set_aside[0].missing[0]
    today = narrow(60, ({**VASCULAR, "vascular_on": "2026-11-25"},))
    assert today.outcome is Outcome.REDUCED
    made = narrow(60, (VASCULAR,))
    assert made.outcome is Outcome.REDUCED
    assert made.maximum_mmhg == 40  # ankle 77 - 30 = 47, toe 60
    assert Effect.INELASTIC_ONLY in made.effects
    assert made.first_look_days == 2


def test_the_toes_own_pressure_bounds_it() -> None:
    both = (VASCULAR, {**VASCULAR, "code": "toe_pressure_low"})
    assert narrow(35, both).maximum_mmhg == 35
    assert narrow(29, both).outcome is Outcome.STOP
    low_ankle = decided(
        with_pressures(115, 65, 60, **{"legs.right.overrides": (VASCULAR,)})
    )  # 0.565; 65 - 30 = 35
    assert low_ankle.maximum_mmhg == 35


def test_new_pain_asks_for_arteries_measured_today() -> None:
    pain = {**BREATHLESS, "code": "new_pain_or_colour"}
    found = {"legs.right.findings.new_pain": True, "legs.right.overrides": (pain,)}
    old = decided(case(**found))
    assert old.to_set_aside[0].missing == ("the arteries measured today",)
    assert old.outcome is Outcome.STOP
    today = {"legs.right.arterial.measured_on": "2026-11-25"}
    assert decided(case(**found, **today)).outcome is Outcome.REDUCED
    untested = decided(case(**found, **today, arms={}))
    assert untested.outcome is Outcome.STOP


def test_only_stops_ask_for_something_before_they_are_set_aside() -> None:
    asking = {
        rule.code for rule in RULES.values() if rule.before_set_aside.__name__ != "_nothing_missing"
    }
    assert asking == {"ankle_brachial_stop", "new_pain_or_colour"}
