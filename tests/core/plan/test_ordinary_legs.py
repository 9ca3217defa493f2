"""Refusing everything is no pass: ordinary, completely asked venous legs have a plan that fits."""

from functools import cache

import numpy as np
import pytest

from benchmarks.ordinary_legs import cases
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Fit, LegPlan, Status, plan
from gaiter.core.safety import Outcome
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy

# The whole of sixty legs is benchmarks/ordinary_legs.py; these are the first few of them.
COUNT = 10


@cache
def legs() -> tuple[LegPlan, ...]:
    policy, catalogue = shipped_policy(), shipped_catalogue()
    return tuple(
        plan(case, policy, catalogue, samples=512).legs[Side.RIGHT]
        for case in cases(None, COUNT, 1, policy)
    )


def test_every_one_may_be_fully_compressed_and_nine_in_ten_have_a_plan() -> None:
    assert {leg.decision.outcome for leg in legs()} == {Outcome.FULL}
    planned = [leg.status is Status.PLANNED for leg in legs()]
    assert np.mean(planned) >= 0.9


def test_nothing_that_fits_has_any_place_above_its_maximum() -> None:
    """Every site by policy's chance, every bony place by its high side, with its pads."""
    allowed = shipped_policy()["chance_above_maximum"]
    seen = 0
    for leg in legs():
        assert leg.maxima is not None
        for system in leg.systems:
            if system.outcome is not Fit.FITS:
                continue
            seen += 1
            assert system.to_accept == ()
            assert system.rises == ()
            for site in system.sites:
                of_its_own = {
                    Landmark.ANKLE: leg.maxima.ankle_mmhg,
                    Landmark.METATARSAL_HEADS: leg.maxima.foot_mmhg,
                    Landmark.INSTEP: leg.maxima.foot_mmhg,
                }
                assert site.maximum_mmhg == of_its_own.get(site.landmark, leg.maxima.leg_mmhg)
                assert site.chance_above_maximum <= allowed
            for point in system.pressure_points:
                assert not point.exceeds
                if point.place not in ("instep", "metatarsal heads"):
                    assert point.high_mmhg <= point.maximum_mmhg == leg.maxima.bony_mmhg
    assert seen >= 2 * COUNT


def test_what_does_not_fit_says_why_with_numbers() -> None:
    for leg in legs():
        for system in leg.systems:
            if system.outcome is Fit.TO_ACCEPT:
                assert system.to_accept
                assert "its maximum is" in system.outcome_reason or system.rises


@pytest.mark.parametrize("name", ["foot_maximum_mmhg", "bony_place_maximum_mmhg"])
def test_a_stricter_policy_is_obeyed(name: str) -> None:
    """A clinic that allows half as much on foot or bone gets no plan that fits with more."""
    policy = shipped_policy()
    values = dict(policy.values)
    values[name] = values[name].model_copy(update={"value": values[name].value / 2})
    strict = policy.model_copy(update={"values": values})
    case = next(iter(cases(None, COUNT, 1, policy)))
    leg = plan(case, strict, shipped_catalogue(), samples=512).legs[Side.RIGHT]
    limit = values[name].value
    for system in leg.systems:
        if system.outcome is not Fit.FITS:
            continue
        if name == "foot_maximum_mmhg":
            foot = [s for s in system.sites if s.landmark in ("metatarsal_heads", "instep")]
            assert all(site.maximum_mmhg == limit for site in foot)
            assert all(site.chance_above_maximum <= 0.025 for site in foot)
        for point in system.pressure_points:
            if point.place not in ("instep", "metatarsal heads"):
                assert point.high_mmhg <= min(limit, point.maximum_mmhg) or "foot" in name
