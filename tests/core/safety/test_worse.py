"""A worse pressure or one more finding never allows more."""

from hypothesis import given
from hypothesis import strategies as st

from gaiter.core.safety import RuleKind
from tests.core.safety.test_decision import LEG, TABLE, A, F, right
from tests.strategies import case, with_pressures


@given(st.integers(61, 200), st.integers(20, 300), st.none() | st.integers(5, 200))
def test_worse_pressures_never_raise_the_maximum(arm: int, ankle: int, toe: int | None) -> None:
    index = ankle / arm
    worse_ankle = max(20, ankle - 20)
    here = right(with_pressures(arm, ankle, toe)).maximum_mmhg or 0
    # Above the stiff limit a lower ankle pressure can make the index readable again; beside a
    # toe above the ankle one of the two is wrong.
    if index <= 1.3:
        assert (right(with_pressures(arm, worse_ankle, toe)).maximum_mmhg or 0) <= here
    # Above what healthy adults have, or above the ankle, a lower toe can be believed again.
    if toe is not None and toe / arm <= 1.37 and toe <= ankle:
        worse_toe = max(5, toe - 20)
        assert (right(with_pressures(arm, ankle, worse_toe)).maximum_mmhg or 0) <= here


ROWS = [row[0] for row in TABLE if row[2] not in (None, RuleKind.FLAG)]
# Rows that give more than was known, not something worse.
_KNOWN_MORE = (f"{A}toe_mmhg", f"{LEG}tolerated_mmhg", f"{F}clot.old_signs.whole_leg_swollen")


@given(st.sampled_from(ROWS), st.sampled_from(ROWS))
def test_adding_a_finding_never_raises_the_maximum(changes, other) -> None:
    if set(changes) & set(other) or set(changes) & set(_KNOWN_MORE):
        return  # a later entry replaces the earlier one: those pairs say nothing
    alone = right(case(**other)).maximum_mmhg or 0
    together = right(case(**{**other, **changes})).maximum_mmhg or 0
    assert together <= alone
