import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaiter.core.pressure.laplace import ring_mean_mmhg
from gaiter.core.pressure.standing import LayerAtSite, standing_rise_mmhg


@given(st.floats(0.2, 0.9), st.floats(20, 40), st.floats(0.1, 1.5))
def test_a_linear_fabric_on_a_cylinder_has_a_closed_form(stretch, girth, rise) -> None:
    """A fabric with t = e, stretched from girth to girth + rise without slipping."""
    resting = ring_mean_mmhg(stretch, girth, 2)
    layer = LayerAtSite(resting, stretch, 1.0, stretch)
    longer = (1 + stretch) * (girth + rise) / girth - 1
    expected = ring_mean_mmhg(longer, girth + rise, 2) - resting
    assert standing_rise_mmhg([layer], girth, rise) == pytest.approx(expected, abs=1e-6)


def test_a_stiff_layer_rises_more_than_an_elastic_one_at_equal_pressure() -> None:
    """Single layer: lower extensibility, higher stiffness (trial on 8 volunteers, Phlebology)."""
    elastic = LayerAtSite(40.0, 1.0, 2.6, 0.5)
    stiff = LayerAtSite(40.0, 1.0, 8.0, 0.75)
    assert standing_rise_mmhg([stiff], 28, 0.75) > 3 * standing_rise_mmhg([elastic], 28, 0.75)


def test_no_rise_no_change() -> None:
    assert standing_rise_mmhg([LayerAtSite(40.0, 1.0, 5.0, 0.5)], 28, 0.0) == 0
