import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from gaiter.core import units
from tests.conftest import reference


def test_constants_agree_with_codata() -> None:
    """SciPy's constants are CODATA's; the pressure of a millimetre of mercury is theirs too."""
    assert constants.g == units.STANDARD_GRAVITY_M_PER_S2
    # SciPy's value is the torr (1/760 atm), 2 in 10^7 off the conventional millimetre of mercury.
    assert pytest.approx(constants.mmHg, rel=3e-7) == units.PASCAL_PER_MMHG
    assert pytest.approx(100 * constants.inch, rel=1e-15) == units.CM_PER_INCH


def test_laplace_constants_are_the_published_arithmetic() -> None:
    table = reference("laplace")
    # Six figures are printed.
    assert pytest.approx(table["constant_mmhg_cm2_per_n"], abs=1e-4) == units.LAPLACE_MMHG_CM2_PER_N
    for row in table["constants_mmhg_cm2_per_kgf"]:
        constant = 2 * math.pi * row["g"] * 1e4 / row["pascal_per_mmhg"]
        assert constant == pytest.approx(row["constant"], abs=0.01)
    exact = table["constants_mmhg_cm2_per_kgf"][0]["constant"]
    assert pytest.approx(exact, abs=0.001) == units.LAPLACE_MMHG_CM2_PER_KGF


def test_the_constant_in_print_is_a_rounding_by_less_than_a_quarter_per_cent() -> None:
    ratio = units.LAPLACE_PUBLISHED_MMHG_CM2_PER_KGF / units.LAPLACE_MMHG_CM2_PER_KGF
    assert ratio - 1 == pytest.approx(0.00181, abs=0.00001)


@given(st.floats(0.01, 1000))
def test_units_round_trip(value: float) -> None:
    assert units.newton_from_kgf(value) / units.newton_from_kgf(1) == pytest.approx(value)
    assert units.cm_from_inch(value) / units.CM_PER_INCH == pytest.approx(value)
