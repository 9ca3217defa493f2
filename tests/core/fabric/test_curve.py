import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaiter.core.fabric import Catalogue, StretchCurve

CURVE = StretchCurve(usual_stretch=0.5, usual_tension_n_per_cm=1.0, locking_stretch=2.0)


def test_zero_at_zero_and_known_at_usual_stretch() -> None:
    assert float(CURVE.tension_n_per_cm(0.0)) == 0
    assert float(CURVE.tension_n_per_cm(0.5)) == pytest.approx(1.0)


def test_grows_and_stiffens(catalogue: Catalogue) -> None:
    for material in catalogue.materials.values():
        if not material.stretches:
            continue
        stretch = np.linspace(0, 0.99 * (material.locking_stretch or 0), 200)
        tension = material.curve.tension_n_per_cm(stretch)
        assert (np.diff(tension) > 0).all(), material.key
        assert (np.diff(tension, 2) > -1e-9).all(), material.key


@given(st.floats(0.01, 1.9))
def test_slope_is_the_derivative(stretch: float) -> None:
    step = 1e-6
    numeric = (CURVE.tension_n_per_cm(stretch + step) - CURVE.tension_n_per_cm(stretch)) / step
    assert float(CURVE.slope_n_per_cm(stretch)) == pytest.approx(float(numeric), rel=1e-3)


@given(st.floats(0, 1.95))
def test_stretch_for_inverts_tension(stretch: float) -> None:
    tension = CURVE.tension_n_per_cm(stretch)
    assert float(CURVE.stretch_for(tension)) == pytest.approx(stretch, abs=1e-9)


def test_unloading_lies_below_loading_and_meets_it_at_both_ends() -> None:
    stretch = np.linspace(0, 0.8, 41)
    loading, back = CURVE.tension_n_per_cm(stretch), CURVE.unloading_n_per_cm(stretch, 0.8)
    assert (back <= loading + 1e-12).all()
    assert back[[0, -1]] == pytest.approx(loading[[0, -1]])
    # The declared loss half-way back.
    assert back[20] / loading[20] == pytest.approx(1 - CURVE.hysteresis)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: CURVE.tension_n_per_cm(2.0), "below 200%, where this fabric locks"),
        (lambda: CURVE.tension_n_per_cm(-0.1), "stretch must be 0.*received -10%"),
        (lambda: CURVE.stretch_for(-1.0), "tension must be 0 N/cm or more; received -1"),
        (lambda: CURVE.unloading_n_per_cm(0.9, 0.5), "at most 50%; received 90%"),
        (lambda: StretchCurve(0.5, 1.0, 0.4), "below the locking stretch 40%; received 50%"),
        (lambda: StretchCurve(0.5, 0.0, 2.0), "above 0 N/cm; received 0"),
        (lambda: StretchCurve(0.5, 1.0, 2.0, 1.0), "hysteresis must be 0 up to below 1"),
    ],
)
def test_refusals(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
