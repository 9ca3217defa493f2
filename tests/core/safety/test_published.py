"""Published positions as cases: nobody is compressed harder than a source that speaks of them."""

import pytest

from gaiter.core.landmark import Side
from gaiter.core.safety import Effect, decide
from gaiter.files.policy_file import shipped_policy
from tests.conftest import reference
from tests.strategies import case

ROWS = [
    pytest.param(row, id=f"{table['source']}: {row['says']}")
    for table in reference("compression_positions")["sources"]
    for row in table["rows"]
]


@pytest.mark.parametrize("row", ROWS)
def test_every_published_position_is_kept(row) -> None:
    decision = decide(case(**row["case"]), shipped_policy()).legs[Side.RIGHT]
    maximum = decision.maximum_mmhg or 0
    if "at_most_mmhg" in row:
        assert maximum <= row["at_most_mmhg"]
    # Refusing everything is no pass: where a source compresses, so do we.
    assert maximum >= row.get("at_least_mmhg", 0)
    if row.get("inelastic"):
        assert Effect.INELASTIC in decision.effects


def test_the_level_before_the_arteries_are_tested_is_the_published_one() -> None:
    """Up to 20 mmHg (Wounds UK, immediate and necessary care), chosen by a named person."""
    untested = decide(case(arms={}), shipped_policy()).legs[Side.RIGHT]
    assert untested.provisional_mmhg == 20
