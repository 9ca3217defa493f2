"""The shipped examples: invented, and planned as their description says."""

from pathlib import Path

import pytest

from gaiter.core.plan import Status, plan
from gaiter.exchange.case_file import read_case
from gaiter.exchange.catalogue_file import shipped_catalogue
from gaiter.exchange.policy_file import shipped_policy

EXAMPLES = Path(__file__).parents[1] / "examples"

# File, status of the right leg, maximum at the gaiter [mmHg], a reason that must be there.
EXPECTED = {
    "inner-ankle-ulcer.toml": (Status.PLANNED, 60, None),
    "mixed-disease.toml": (Status.PLANNED, 40, "ankle_brachial_reduced"),
    "suspected-clot.toml": (Status.STOPPED, None, "clot_suspected"),
    "stiff-arteries.toml": (Status.PLANNED, 20, "toe_needed"),
}


@pytest.mark.parametrize(
    "path",
    sorted([*EXAMPLES.glob("*.toml"), *EXAMPLES.glob("anthropometry/*.toml")]),
    ids=lambda path: path.name,
)
def test_examples_are_invented_and_planned(path: Path) -> None:
    case = read_case(path)
    assert case.invented
    made = plan(case, shipped_policy(), shipped_catalogue(), samples=256)
    (leg,) = made.legs.values()
    status, maximum, code = EXPECTED.get(path.name, (Status.PLANNED, 60, None))
    assert leg.status is status
    assert leg.decision.maximum_mmhg == maximum
    if code:
        assert code in {reason.code for reason in leg.decision.reasons}
    for system in leg.systems:
        assert not [gap for gap in system.gaps if gap.fault]
