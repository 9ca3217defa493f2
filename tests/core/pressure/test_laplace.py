import math

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaiter.core.pressure.laplace import (
    DALE_2004_SHARE,
    LayerAddition,
    cylinder,
    layered_mmhg,
    ring_mean_mmhg,
    thicknesses_from_overlap,
)
from gaiter.core.units import newton_from_kgf
from tests.conftest import reference

LAPLACE, THICKNESS = reference("laplace"), reference("alkhaburi2012")
tensions, girths = st.floats(0.05, 3), st.floats(15, 60)
thickness_counts = st.floats(1, 6)


@pytest.mark.parametrize("row", LAPLACE["rows"])
def test_check_values_of_the_cylinder(row: list[float]) -> None:
    tension_kgf, n, girth, width, exact, printed = row
    per_cm = newton_from_kgf(tension_kgf) / width
    assert ring_mean_mmhg(per_cm, girth, n) == pytest.approx(exact, abs=LAPLACE["tolerance_mmhg"])
    with_4630 = tension_kgf * n * 4630 / (girth * width)
    assert with_4630 == pytest.approx(printed, abs=LAPLACE["tolerance_mmhg"])


@given(tensions, girths, thickness_counts)
def test_second_oracle_in_high_precision(tension: float, girth: float, n: float) -> None:
    """The hoop balance worked in pascal and metres with 30 digits."""
    with mpmath.workdps(30):
        radius_m = mpmath.mpf(girth) / 100 / (2 * mpmath.pi)
        pascal = mpmath.mpf(tension) * 100 * mpmath.mpf(n) / radius_m
        expected = pascal / mpmath.mpf("133.322387415")
    assert ring_mean_mmhg(tension, girth, n) == pytest.approx(float(expected), rel=1e-12)


@given(tensions, girths, thickness_counts)
def test_proportions(tension: float, girth: float, n: float) -> None:
    once = ring_mean_mmhg(tension, girth, n)
    assert ring_mean_mmhg(2 * tension, girth, n) == pytest.approx(2 * once)
    assert ring_mean_mmhg(tension, girth, 2 * n) == pytest.approx(2 * once)
    assert ring_mean_mmhg(tension, 2 * girth, n) == pytest.approx(once / 2)


@pytest.mark.parametrize("row", THICKNESS["rows"])
def test_published_thickness_models(row: list[float]) -> None:
    tension, width, girth, thickness_mm, n, plain, growing, thick = row
    layers = [tension / width] * n
    for rule, expected in (
        (LayerAddition.PLAIN_SUM_THOMAS_2003, plain),
        (LayerAddition.GROWING_RADII_AL_KHABURI_2011, growing),
        (LayerAddition.THICK_WALL_AL_KHABURI_2012, thick),
    ):
        found = layered_mmhg(layers, girth, thickness_mm / 10, rule)
        assert found == pytest.approx(expected, abs=THICKNESS["tolerance_mmhg"])


def test_share_of_a_further_layer() -> None:
    """Dale et al. 2004: each further component added 50-60 % of its own pressure."""
    rule = LayerAddition.SHARE_OF_FURTHER_DALE_2004
    one = ring_mean_mmhg(1.0, 30.0)
    assert layered_mmhg([1.0, 1.0], 30.0, 0.1, rule) == pytest.approx(one * (1 + DALE_2004_SHARE))
    assert 0.5 <= DALE_2004_SHARE <= 0.6


@pytest.mark.parametrize(
    ("overlap", "expected"), [(0.5, 2.0), (2 / 3, 3.0), (1 / 3, 1.5), (0.75, 4.0), (0.0, 1.0)]
)
def test_overlap_gives_thicknesses(overlap: float, expected: float) -> None:
    assert thicknesses_from_overlap(overlap) == pytest.approx(expected)


@given(tensions, girths, thickness_counts)
def test_any_three_give_the_fourth(tension: float, girth: float, n: float) -> None:
    whole = cylinder(tension_n_per_cm=tension, girth_cm=girth, thicknesses=n)
    p = whole.pressure_mmhg
    assert cylinder(girth_cm=girth, thicknesses=n, pressure_mmhg=p).tension_n_per_cm == (
        pytest.approx(tension)
    )
    assert cylinder(tension_n_per_cm=tension, thicknesses=n, pressure_mmhg=p).girth_cm == (
        pytest.approx(girth)
    )
    assert cylinder(tension_n_per_cm=tension, girth_cm=girth, pressure_mmhg=p).thicknesses == (
        pytest.approx(n)
    )


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: ring_mean_mmhg(-1, 25), "tension must be 0 N/cm or more; received -1"),
        (lambda: ring_mean_mmhg(1, 0), "girth must be above 0 cm; received 0 cm"),
        (lambda: ring_mean_mmhg(math.nan, 25), "tension must be 0 N/cm or more; received nan"),
        (lambda: thicknesses_from_overlap(1.0), "overlap must be 0 up to below 1.*received 1"),
        (lambda: cylinder(girth_cm=25.0), "exactly three.*received 1: missing tension"),
        (
            lambda: cylinder(
                tension_n_per_cm=1.0, girth_cm=25.0, thicknesses=2.0, pressure_mmhg=40.0
            ),
            "exactly three.*received 4: leave one out",
        ),
        (
            lambda: cylinder(girth_cm=25.0, thicknesses=-2.0, pressure_mmhg=40.0),
            "thicknesses must be above 0; received -2",
        ),
    ],
)
def test_refusals(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()


@pytest.mark.parametrize("girth", [0.5, 1.0])
def test_a_thin_girth_is_a_girth(girth: float) -> None:
    """A thumb-thick model of 1 cm: 471.278 mmHg per N/cm."""
    assert ring_mean_mmhg(1.0, girth) == pytest.approx(471.278 / girth, rel=1e-5)


@pytest.mark.parametrize("value", [0.0, -1.0, math.inf])
def test_what_is_given_lies_above_nothing(value: float) -> None:
    with pytest.raises(ValueError, match="tension must be above 0; received"):
        cylinder(tension_n_per_cm=value, girth_cm=25.0, thicknesses=2.0)
    with pytest.raises(ValueError, match="or more; received|girth must be above 0"):
        ring_mean_mmhg(1.0, -1.0 if value == 0 else value)


def test_nothing_laid_presses_nothing() -> None:
    assert ring_mean_mmhg(0.0, 25.0) == 0
    assert ring_mean_mmhg(1.0, 25.0, 0.0) == 0
    for rule in LayerAddition:
        assert layered_mmhg([], 25.0, 0.1, rule) == 0
