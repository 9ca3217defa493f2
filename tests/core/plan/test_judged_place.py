"""A place beside its maximum: hand-made pressures, worked out by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from gaiter.core.plan.pads import OVERSTATED_PLACES, _judged, worst_of


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
