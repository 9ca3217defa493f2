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


@pytest.mark.parametrize(
    ("ankle", "arm", "low", "high"),
    [
        (119, 200, 0.595, 0.60),
        (113, 125, 0.90, 0.904),
        (163, 125, 1.30, 1.304),
        (90, 100, 0.9, 0.9),
    ],
)
def test_the_worse_of_raw_and_rounded_holds(ankle, arm, low, high) -> None:
    numbers = arterial_numbers(
        Arms(left_mmhg=arm, right_mmhg=arm), Arterial(posterior_tibial_mmhg=ankle)
    )
    assert numbers.worst_low_index == pytest.approx(low, abs=1e-9)
    assert numbers.worst_high_index == pytest.approx(high, abs=1e-9)


# 1 kPa is 7.50062 mmHg (NIST SP 811): arm 130; what looks like kilopascals and what does not.
@pytest.mark.parametrize(
    ("place", "value", "looks"),
    [("ankle", 20, True), ("ankle", 24, True), ("ankle", 25, False), ("ankle", 60, False),
     ("toe", 5, False), ("toe", 6, True), ("toe", 12, True), ("toe", 24, True), ("toe", 25, False),
     ("oxygen", 1, False), ("oxygen", 2, True), ("oxygen", 12, True), ("oxygen", 13, False),
     ("oxygen", 1.3, False), ("oxygen", 1.4, True), ("oxygen", 12.6, True),
     ("oxygen", 12.7, False), ("ankle", 24.2, True), ("ankle", 24.3, False)],
)  # fmt: skip
def test_what_looks_like_kilopascals(place: str, value: float, looks: bool) -> None:
    test = {"ankle": "posterior_tibial_mmhg", "toe": "toe_mmhg", "oxygen": "tcpo2_mmhg"}[place]
    numbers = arterial_numbers(Arms(left_mmhg=130, right_mmhg=120), Arterial(**{test: value}))
    assert numbers.in_kilopascal(place) is looks


def test_numbers_in_words_say_what_was_not_measured() -> None:
    numbers = arterial_numbers(Arms(left_mmhg=120, right_mmhg=118), Arterial(toe_mmhg=90))
    assert dict(numbers.in_words()) == {
        "ABI (ABPI)": "not measured", "toe index": "0.75", "arm": "120 mmHg",
        "ankle": "not measured", "toe": "90 mmHg", "oxygen at the skin": "not measured",
    }  # fmt: skip
