import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaiter.core.leg.interpolation import monotone_c2

rising = st.lists(st.floats(0.5, 12), min_size=3, max_size=8)


@given(rising, st.data())
def test_monotone_between_neighbours_and_through_every_point(steps, data) -> None:
    x = np.cumsum(steps)
    y = np.array(data.draw(st.lists(st.floats(10, 60), min_size=len(x), max_size=len(x))))
    curve = monotone_c2(x, y)
    assert curve(x) == pytest.approx(y, abs=1e-9)
    for left, right, low, high in zip(x, x[1:], y, y[1:], strict=False):
        between = curve(np.linspace(left, right, 101))
        # A thousandth of a millimetre of overshoot is rounding.
        assert (np.diff(between) * np.sign(high - low) >= -1e-4).all()


@given(rising)
def test_second_derivative_has_no_jump(steps) -> None:
    x = np.cumsum(steps)
    curve = monotone_c2(x, np.linspace(20, 40, len(x)) + np.sin(x))
    second = curve.derivative(2)
    for knot in x[1:-1]:
        assert float(second(knot - 1e-9)) == pytest.approx(float(second(knot + 1e-9)), abs=1e-3)


def test_positions_must_increase() -> None:
    with pytest.raises(ValueError, match="positions must increase"):
        monotone_c2([0, 2, 1], [1, 2, 3])
