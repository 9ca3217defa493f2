"""The tube of the examples is one: radius, length and curvature as in the closed form."""

import numpy as np
import pytest

from gaiter.core.landmark import Landmark
from gaiter.core.leg.tube import round_limb


@pytest.mark.parametrize("radius_cm", [2.5, 4.0])
def test_a_round_limb_has_one_girth_one_area_and_one_curvature(radius_cm: float) -> None:
    tube = round_limb(radius_cm)
    # A polygon of 96 corners is 0.02 % shorter than its circle.
    assert tube.girth_cm == pytest.approx(2 * np.pi * radius_cm, rel=3e-4)
    assert np.hypot(*tube.section_cm) == pytest.approx(radius_cm)
    assert tube.landmark_s_cm[Landmark.BELOW_KNEE] - tube.start_s_cm == 40.0
    assert list(tube.landmark_s_cm) == list(Landmark)
