"""Where a sensor is read, and its error there."""

import pytest

from gaiter.core.landmark import LEG_SITES, Landmark
from gaiter.core.sensor_site import SENSOR_SD_MMHG, SENSOR_SITES
from gaiter.files.example_bench import example_bench


def test_every_site_of_a_plan_may_be_read_and_no_other() -> None:
    """Round the heel a girth is taken, and no sensor lies."""
    (system,) = example_bench().plan.legs["right"].systems
    assert set(SENSOR_SITES) == {site.landmark for site in system.sites}
    assert set(Landmark) - set(SENSOR_SITES) == {Landmark.HEEL_INSTEP}


def test_the_gaiter_comes_first_and_the_ankle_beside_it() -> None:
    assert list(SENSOR_SITES)[:3] == [Landmark.GAITER, Landmark.ANKLE, Landmark.CALF]


@pytest.mark.parametrize(
    ("site", "offset_sd", "leg_sd"),
    [
        (Landmark.GAITER, 0.0, 0.10),
        (Landmark.ANKLE, 0.20, 0.20),
        (Landmark.CALF, 0.08, 0.12),
        (Landmark.BELOW_KNEE, 0.10, 0.15),
    ],
)
def test_errors_of_a_site_are_those_of_the_model(site, offset_sd, leg_sd) -> None:
    """The parts of theory as the design of this program sets them; they add as squares."""
    one = SENSOR_SITES[site]
    assert (one.offset_sd, one.leg_sd) == (offset_sd, leg_sd)
    assert one.sd == pytest.approx((offset_sd**2 + leg_sd**2) ** 0.5)


def test_the_gaiter_is_the_surest_and_the_ankle_the_least_sure() -> None:
    up_the_leg = sorted(LEG_SITES, key=lambda site: SENSOR_SITES[site].sd)
    assert up_the_leg == [Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE, Landmark.ANKLE]
    assert SENSOR_SD_MMHG == 3


def test_whoever_puts_it_there_is_told_where() -> None:
    assert all(one.where for one in SENSOR_SITES.values())
