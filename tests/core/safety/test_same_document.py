"""The same case gives the same document, whatever order a set happens to have in a process."""

import os
import subprocess
import sys

from gaiter.core.landmark import Side
from gaiter.core.safety import decide
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case

SEVERAL = {
    "person.can_report_pain": False,
    "person.can_be_taken_off": False,
    "legs.right.arterial.dorsalis_pedis_mmhg": 96,
    "legs.right.arterial.posterior_tibial_mmhg": 96,
}
DECIDED = f"""
from gaiter.core.safety import decide
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case
for leg in decide(case(**{SEVERAL!r}), shipped_policy()).legs.values():
    print(leg.model_dump_json())
"""


def printed(seed: int) -> str:
    done = subprocess.run(
        [sys.executable, "-c", DECIDED], check=True, capture_output=True, text=True,
        env={**os.environ, "PYTHONHASHSEED": str(seed)},
    )  # fmt: skip
    return done.stdout


def test_a_decision_is_written_alike_in_every_process() -> None:
    """A plan once read as changed by hand, because its effects came out in another order."""
    effects = decide(case(**SEVERAL), shipped_policy()).legs[Side.RIGHT].effects
    assert len(effects) > 2
    assert len({printed(seed) for seed in range(1, 5)}) == 1
