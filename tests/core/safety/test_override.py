"""A prescriber's override: soft stops only, capped, and never silent."""

import pytest

from gaiter.core.landmark import Side
from gaiter.core.policy import Policy
from gaiter.core.safety import Kind, Outcome, decide
from tests.strategies import case

OVERRIDE = {
    "codes": ["breathless_lying"],
    "maximum_mmhg": 30,
    "reason": "specialist agreed",
    "words": "Cardiology saw her today; lungs clear.",
    "by": "Dr Invented",
}


def leg(policy: Policy, findings=None, override=OVERRIDE, breathless=True):
    changes = {"person.breathless_lying": breathless, "legs.right.override": override}
    changes |= {f"legs.right.findings.{name}": value for name, value in (findings or {}).items()}
    return decide(case(**changes), policy).legs[Side.RIGHT]


def test_a_soft_stop_is_set_aside_and_stays_in_sight(policy: Policy) -> None:
    stopped = leg(policy, override=None)
    assert stopped.outcome is Outcome.STOP
    assert stopped.overridable
    made = leg(policy)
    assert (made.outcome, made.maximum_mmhg) == (Outcome.REDUCED, 30)
    aside = next(r for r in made.reasons if r.code == "breathless_lying")
    assert aside.kind is Kind.CAUTION
    assert aside.text.startswith("Set aside by Dr Invented: Breathless")
    assert "Cardiology saw her today" in next(r.text for r in made.reasons if r.code == "override")


def test_a_hard_stop_stays(policy: Policy) -> None:
    made = leg(policy, {"gangrene": True}, {**OVERRIDE, "codes": ["gangrene", "breathless_lying"]})
    assert made.outcome is Outcome.STOP
    assert made.maximum_mmhg is None


def test_it_never_allows_more_than_the_reduced_maximum(policy: Policy) -> None:
    made = leg(policy, override={**OVERRIDE, "maximum_mmhg": 50})
    assert made.maximum_mmhg == policy["reduced_maximum_mmhg"]


def test_an_override_of_what_did_not_fire_changes_nothing(policy: Policy) -> None:
    assert leg(policy, breathless=False) == leg(policy, override=None, breathless=False)


@pytest.mark.parametrize("field", list(OVERRIDE))
def test_nothing_of_it_may_be_left_out(field: str, policy: Policy) -> None:
    with pytest.raises(ValueError, match=field):
        leg(policy, override={k: v for k, v in OVERRIDE.items() if k != field})
