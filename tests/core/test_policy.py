import pytest
from pydantic import ValidationError

from gaiter.core.case import Purpose, Training
from gaiter.core.landmark import Side
from gaiter.core.policy import BOUNDS, Policy, overlaid
from gaiter.core.safety import decide
from tests.strategies import case, with_pressures

CLINIC = {"name": "Heron Ford", "version": "3"}


def value(number: float) -> dict:
    return {"value": number, "source": "clinic meeting (invented)", "strength": "local"}


def test_the_shipped_policy_is_complete(policy: Policy) -> None:
    assert set(policy.values) == set(BOUNDS)
    assert set(policy.targets) == set(Purpose)
    assert set(policy.hands) == set(Training)
    for name, entry in policy.values.items():
        assert entry.source, name
        assert entry.strength, name
    assert len(policy.sha256) == 64


def test_absolute_and_ischaemia_thresholds_are_kept_apart(policy: Policy) -> None:
    """No compression source uses below 50 mmHg at the ankle; compression sources use 60."""
    assert policy["ankle_stop_mmhg"] == 60


def test_a_clinic_changes_a_value_and_every_decision_says_so(policy: Policy) -> None:
    stricter = overlaid(
        policy, {**CLINIC, "values": {"ankle_stop_mmhg": value(70)}}, sha256="x" * 64
    )
    assert stricter["ankle_stop_mmhg"] == 70
    [change] = stricter.changes
    assert change.text == "ankle stop mmhg: 60 to 70 mmHg (Heron Ford, version 3)"
    assert stricter.loosened == ()
    made = with_pressures(100, 68)
    assert decide(made, policy).legs[Side.RIGHT].maximum_mmhg == 38  # ankle 68 less 30
    assert decide(made, stricter).legs[Side.RIGHT].maximum_mmhg is None


def test_guarding_less_is_said_loudly(policy: Policy) -> None:
    looser = overlaid(policy, {**CLINIC, "values": {"ankle_stop_mmhg": value(50)}}, sha256="x" * 64)
    assert looser.loosened
    reasons = decide(case(), looser).person_reasons
    assert any("guards less here" in reason.text for reason in reasons)


@pytest.mark.parametrize(
    ("clinic", "message"),
    [
        ({"values": {"ankle_stop_mmhg": value(10)}}, "must be 40 to 100 mmHg; received 10"),
        ({"values": {"ankle_stopp": value(60)}}, "values.ankle_stopp is unknown"),
        ({"values": {"ankle_stop_mmhg": {"value": 60}}}, "source"),
        ({"colour": "red"}, "colour"),
        (
            {
                "targets": {
                    "oedema": {"gaiter_low_mmhg": 50, "gaiter_high_mmhg": 30, "source": "none"}
                }
            },
            "gaiter_low_mmhg must be below gaiter_high_mmhg; received 50 and 30",
        ),
    ],
)
def test_refusals(policy: Policy, clinic: dict, message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        overlaid(policy, {**CLINIC, **clinic}, sha256="x" * 64)


def target(low: float, high: float, **more: float) -> dict:
    return {"gaiter_low_mmhg": low, "gaiter_high_mmhg": high, "source": "invented", **more}


@pytest.mark.parametrize(
    ("section", "looser"),
    [
        ({"targets": {"oedema": target(30, 55)}}, True),
        ({"targets": {"oedema": target(35, 50)}}, True),
        ({"targets": {"oedema": target(30, 45)}}, False),
        ({"targets": {"support": target(10, 20)}}, True),
        ({"targets": {"support": target(10, 20, never_above_mmhg=40)}}, True),
        ({"targets": {"support": target(10, 20, never_above_mmhg=25)}}, False),
        ({"hands": {"trained": {"tension_cv": 0.1, "source": "invented"}}}, True),
        ({"hands": {"trained": {"tension_cv": 0.3, "source": "invented"}}}, False),
        ({"site_share": {"ankle": {"low": 0.8, "high": 1.5, "source": "invented"}}}, True),
        ({"site_share": {"ankle": {"low": 0.9, "high": 1.3, "source": "invented"}}}, True),
        ({"site_share": {"ankle": {"low": 0.8, "high": 1.1, "source": "invented"}}}, False),
    ],
)
def test_ranges_and_hands_that_guard_less_are_named(policy: Policy, section, looser) -> None:
    """A range that reaches higher, or hands taken to be steadier, press harder."""
    changed = overlaid(policy, {**CLINIC, **section}, sha256="x" * 64)
    assert len(changed.changes) == 1
    assert bool(changed.loosened) is looser


@pytest.mark.parametrize("name", sorted(BOUNDS))
def test_every_threshold_that_guards_less_is_named(policy: Policy, name: str) -> None:
    bound, shipped = BOUNDS[name], policy[name]
    for number in (bound.low, bound.high):
        if number == shipped:
            continue
        changed = overlaid(policy, {**CLINIC, "values": {name: value(number)}}, sha256="x" * 64)
        lower = number < shipped
        looser = {"lower": lower, "higher": not lower, "": False}[bound.looser]
        assert bool(changed.loosened) is looser, number
