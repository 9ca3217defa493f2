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
    assert stricter.changes == ("ankle stop mmhg: 60 to 70 mmHg (Heron Ford, version 3)",)
    assert stricter.loosened == ()
    made = with_pressures(100, 68)
    assert decide(made, policy).legs[Side.RIGHT].maximum_mmhg == 40
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
