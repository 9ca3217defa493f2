"""What a layer's stretch pulls and presses, and whose tension the hands choose."""

from types import SimpleNamespace

import numpy as np
import pytest

from gaiter.core.plan.layers import DesignedLayer, PressingLayer, tension_n_per_cm
from gaiter.core.plan.systems import LayerRecipe
from tests.core.plan.hand_made import ELASTIC, FOOT, STRETCH, tension


@pytest.mark.parametrize(
    ("material", "told_to_hold", "only_holds", "rests"),
    [
        (ELASTIC, False, False, False),
        (ELASTIC, True, True, True),
        # Zinc paste has no stretch to choose, whatever it is laid for.
        ("zinc_paste", False, False, True),
        ("zinc_paste", True, False, True),
    ],
)
def test_hands_choose_the_tension_of_what_stretches_to_press(
    catalogue, material, told_to_hold, only_holds, rests
) -> None:
    recipe = LayerRecipe(material, only_holds=told_to_hold)
    layer = PressingLayer(recipe, catalogue[material])
    assert (layer.only_holds, layer.rests) == (only_holds, rests)


def test_foot_and_leg_each_have_the_tension_of_their_stretch(catalogue) -> None:
    """The curve by hand: 97.61 N/m at a stretch of 50 %, locking at 218 %."""
    layer = DesignedLayer(None, catalogue[ELASTIC], STRETCH, FOOT)
    assert layer.tensions_n_per_cm == pytest.approx((tension(FOOT), tension(STRETCH)), rel=1e-4)
    assert not layer.rests


def test_what_does_not_stretch_pulls_what_its_source_names(catalogue) -> None:
    """20 mmHg at two thicknesses on 23 cm: 20 x 23 / (2 x 471.278) N/cm at any stretch."""
    for stretch in (0.0, 0.5):
        found = tension_n_per_cm(catalogue["zinc_paste"], stretch)
        assert found == pytest.approx(20 * 23 / (2 * 471.278), rel=1e-4)


def test_a_layer_presses_what_foot_and_leg_press_together(catalogue) -> None:
    """Tension times pressure per tension, summed: 10 and 50 mmHg cm/N, 4 and 0."""
    maps = (np.array([[10.0, 4.0]]), np.array([[50.0, 0.0]]))
    layer = DesignedLayer(SimpleNamespace(part_maps=maps), catalogue[ELASTIC], STRETCH, FOOT)
    foot, up = tension(FOOT), tension(STRETCH)
    np.testing.assert_allclose(
        layer.pressure_map_mmhg, [[10 * foot + 50 * up, 4 * foot]], rtol=1e-4
    )
