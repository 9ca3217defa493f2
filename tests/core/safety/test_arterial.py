from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaiter.core.case import Arms, Arterial
from gaiter.core.safety.arterial import arterial_numbers, rounded_index
from tests.conftest import reference

RATIOS = reference("abi")["ratios"]
pressures = st.integers(20, 300)


@pytest.mark.parametrize(("ankle", "arm", "index"), RATIOS)
def test_published_ratios(ankle: float, arm: float, index: float) -> None:
    assert rounded_index(ankle, arm) == index


@given(pressures, st.integers(60, 260))
def test_second_oracle_rounds_half_up_in_whole_numbers(ankle: int, arm: int) -> None:
    hundredths = Fraction(100 * ankle, arm)
    expected = (hundredths + Fraction(1, 2)).__floor__()
    assert round(100 * rounded_index(ankle, arm)) == expected


def test_higher_arm_and_better_ankle_artery() -> None:
    numbers = arterial_numbers(
        Arms(left_mmhg=132, right_mmhg=140),
        Arterial(dorsalis_pedis_mmhg=118, posterior_tibial_mmhg=124, toe_mmhg=66),
    )
    assert numbers.ankle_brachial == 0.89
    assert numbers.toe_brachial == 0.47
    assert numbers.arm_difference_mmhg == 8


def test_worse_leg_of_the_published_vectors() -> None:
    numbers = arterial_numbers(
        Arms(left_mmhg=112, right_mmhg=120),
        Arterial(dorsalis_pedis_mmhg=70, posterior_tibial_mmhg=58),
    )
    assert numbers.ankle_brachial == 0.58


def test_what_was_not_measured_stays_unknown() -> None:
    numbers = arterial_numbers(Arms(right_mmhg=120), Arterial())
    assert numbers.ankle_brachial is None
    assert numbers.toe_brachial is None
    assert numbers.arm_difference_mmhg is None
