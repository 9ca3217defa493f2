"""A case in, a decision or a plan out: what is asked for reaches the core."""

from pathlib import Path

import pytest

from gaiter.api import PlannedCase
from gaiter.api.planning import plan, safety
from gaiter.core.errors import InputError
from gaiter.core.plan import DEFAULT_SEED, SAMPLES
from gaiter.core.safety import Outcome
from tests.strategies import case_mapping

L = "legs.right."
ARMS = {"arms.left_mmhg": 120, "arms.right_mmhg": 120}


def with_ankle(mmhg: float) -> dict:
    both = {f"{L}arterial.{name}_mmhg": mmhg for name in ("dorsalis_pedis", "posterior_tibial")}
    return case_mapping(**ARMS, **both)


@pytest.mark.parametrize(
    ("ankle_mmhg", "outcome", "maximum_mmhg"),
    [
        # 60/120 = 0.50: SVS/AVF 2014 blocks at 0.50 and below.
        (60, Outcome.STOP, None),
        # 95/120 = 0.79 of 0.60 to 0.80: reduced, 40 mmHg (Mosti et al. 2012, J Vasc Surg 55:122).
        (95, Outcome.REDUCED, 40),
        # 120/120: full, below 60 mmHg (Partsch et al. 2008).
        (120, Outcome.FULL, 60),
    ],
)
def test_safety_follows_published_bands_of_the_index(ankle_mmhg, outcome, maximum_mmhg) -> None:
    leg = safety(with_ankle(ankle_mmhg)).legs["right"]
    assert (leg.outcome, leg.maximum_mmhg) == (outcome, maximum_mmhg)


def test_safety_asks_for_what_a_plan_could_not_do_without() -> None:
    """No girth is needed for the decision; for a plan it is."""
    bare = {"schema": "gaiter.case/1", "today": "2026-11-25", "legs": {"left": {}}}
    assert safety(bare).legs["left"].outcome is Outcome.NOT_YET
    with pytest.raises(InputError, match="legs.left.girth_cm: required and missing"):
        plan(bare)


@pytest.mark.parametrize("call", [plan, safety])
def test_a_policy_reaches_the_decision(call, tmp_path: Path) -> None:
    """An ankle of 95 mmHg stops where the clinic asks for more than 100."""
    local = tmp_path / "policy.toml"
    local.write_text(
        'name = "Heron Ford (invented)"\nversion = "1"\n[values]\n'
        'ankle_stop_mmhg = { value = 100, source = "the clinic", strength = "our choice" }\n'
    )
    found = call(with_ankle(95), policy=local)
    leg = found.legs["right"]
    decision = leg.document.decision if isinstance(found, PlannedCase) else leg
    assert decision.outcome is Outcome.STOP
    assert "ankle_pressure" in decision.limiting


def test_a_plan_has_the_systems_seed_and_samples_that_were_asked_for() -> None:
    made = plan(case_mapping(), systems=iter(["wool_short_stretch"]), seed=7, samples=64)
    assert (made.document.seed, made.document.samples) == (7, 64)
    assert list(made.legs["right"].systems) == ["wool_short_stretch"]
    # The range of a venous ulcer, 30 to 50 mmHg (Zarchi & Jemec 2014, JAMA Dermatol 150:730).
    target = made.document.legs["right"].target
    assert (target.gaiter_low_mmhg, target.gaiter_high_mmhg) == (30, 50)


def test_no_system_asked_for_is_not_every_system() -> None:
    made = plan(case_mapping(), systems=[])
    assert made.legs["right"].status == "cannot be reached"
    assert (made.document.seed, made.document.samples) == (DEFAULT_SEED, SAMPLES)
