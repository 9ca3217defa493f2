"""A place beside its maximum: hand-made pressures, worked out by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from gaiter.core.landmark import LEG_SITES
from gaiter.core.plan.pads import OVERSTATED_PLACES, _judged, rises_of, worst_of


def judged(name: str, pressures: list[float], maximum_mmhg: float):
    aim = SimpleNamespace(
        maxima=SimpleNamespace(of=lambda _name: maximum_mmhg), allowed_chance_above=0.025
    )
    return _judged(name, np.array(pressures), aim)


# 1000 bandages: so many at 70 mmHg, the others at 50, under a maximum of 60.
@pytest.mark.parametrize(("above", "exceeds"), [(25, False), (26, True)])
def test_the_foot_is_judged_by_the_chance_that_policy_allows(above: int, exceeds: bool) -> None:
    assert judged("instep", [70.0] * above + [50.0] * (1000 - above), 60).exceeds is exceeds


@pytest.mark.parametrize(("above", "exceeds"), [(40, False), (60, True)])
def test_a_bony_place_is_judged_by_its_95th_percentile(above: int, exceeds: bool) -> None:
    assert judged("tibial crest", [130.0] * above + [90.0] * (1000 - above), 120).exceeds is exceeds


def test_what_exceeds_is_worse_than_what_stands_higher() -> None:
    """The instep exceeds by its chance while a bony place stands nearer to its own maximum."""
    foot = judged("instep", [61.0] * 30 + [30.0] * 970, 60)
    bony = judged("tibial crest", [119.0] * 1000, 120)
    assert foot.exceeds
    assert worst_of([foot, bony]) is foot


def test_the_places_that_the_surface_overstates_are_these_three() -> None:
    assert set(OVERSTATED_PLACES) == {"front ankle tendon", "Achilles tendon", "instep"}


def test_a_pressure_at_the_maximum_is_not_above_it() -> None:
    assert judged("instep", [60.0] * 1000, 60).chance_above == 0
    assert judged("instep", [60.0] * 999 + [60.1], 60).chance_above == 0.001
    at_it = judged("tibial crest", [120.0] * 1000, 120)
    assert (at_it.exceeds, at_it.chance_above) == (False, 0)


def test_the_leg_too_is_judged_by_the_chance_and_bone_is_not() -> None:
    """3 % above, while the 95th percentile stands within the maximum."""
    pressures = [70.0] * 30 + [50.0] * 970
    found = {name: judged(name, pressures, 60).exceeds for name in ("instep", "calf", "heel")}
    assert found == {"instep": True, "calf": True, "heel": False}


@pytest.mark.parametrize(
    ("means", "allowed", "rise"),
    [
        # A quarter, 32 to 40 mmHg, is not more than a quarter.
        ((32.0, 40.0), 0.25, None),
        ((32.0, 40.0), 0.24, ("gaiter", 25.0)),
        # Twice the pressure, however little there is; nothing rises from nothing.
        ((0.5, 1.0), 0.05, ("gaiter", 100.0)),
        ((0.0, 30.0), 0.05, None),
        # The highest counts, also where the next is nearly as high, and of equals the first.
        ((25.0, 35.0, 34.95), 0.05, ("gaiter", 40.0)),
        ((25.0, 35.0, 35.0), 0.05, ("gaiter", 40.0)),
        ((25.0, 34.95, 35.0), 0.05, ("calf", 40.0)),
    ],
)
def test_a_rise_is_told_from_the_lowest_to_the_highest_above_what_is_allowed(
    means, allowed, rise
) -> None:
    found = rises_of(dict(zip(LEG_SITES, means, strict=False)), allowed)
    if rise is None:
        assert found == ()
    else:
        (only,) = found
        assert (only.lower.value, only.upper.value) == ("ankle", rise[0])
        assert only.percent == pytest.approx(rise[1])
