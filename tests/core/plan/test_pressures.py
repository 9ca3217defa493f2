"""What a plan says of pressure along the leg, where it rises, and how a site is written."""

import numpy as np
import pytest

from gaiter.core.landmark import Landmark
from gaiter.core.plan.pressures import Profile, Rise, SitePressure


def test_a_profile_is_the_median_and_the_band_of_nine_tenths() -> None:
    """Of 0, 1 ... 100 the 5th, 50th and 95th percentiles are 5, 50 and 95."""
    samples = np.arange(101.0)
    profile = Profile.of(np.array([1.0, 2.5]), np.stack([samples, 2 * samples]))
    assert profile.s_cm == (1.0, 2.5)
    assert profile.low_mmhg == pytest.approx((5.0, 10.0))
    assert profile.median_mmhg == pytest.approx((50.0, 100.0))
    assert profile.high_mmhg == pytest.approx((95.0, 190.0))


def test_a_rise_is_accepted_by_the_names_of_its_ends() -> None:
    rise = Rise(lower=Landmark.ANKLE, upper=Landmark.CALF, lower_mmhg=25, upper_mmhg=36, percent=44)
    assert rise.name == "rise from the ankle to the calf"


def test_a_site_from_before_rings_were_told_is_written_as_it_was() -> None:
    """Else the fingerprint of a plan that somebody kept would no longer hold."""
    before = {
        "landmark": "ankle", "girth_cm": 24.0, "thicknesses": 2.0, "ring_mean_mmhg": 40.0,
        "median_mmhg": 30.0, "low_mmhg": 20.0, "high_mmhg": 45.0, "target_low_mmhg": 24.0,
        "target_high_mmhg": 60.0, "chance_in_range": 0.8, "chance_above_maximum": 0.0,
        "maximum_mmhg": 60.0,
    }  # fmt: skip
    assert SitePressure.model_validate(before).model_dump(mode="json") == before
    now = {**before, "is_ring": True, "inner_mmhg": 15.0, "highest_mmhg": 60.0}
    assert SitePressure.model_validate(now).model_dump(mode="json") == now
