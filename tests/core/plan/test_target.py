import pytest

from gaiter.core.case import Purpose
from gaiter.core.landmark import LEG_SITES, Landmark
from gaiter.core.plan.maxima import place_maxima
from gaiter.core.plan.target import target_range
from gaiter.core.policy import Policy
from gaiter.core.safety import Aim, aim_under


def test_the_range_is_the_decisions_aim(policy: Policy) -> None:
    """An override that aims at 22 to 28 plans 22 to 28, whatever the purpose asks."""
    target = target_range(
        Aim(low_mmhg=22, high_mmhg=28, source="set by P"), place_maxima(40, None, policy), policy
    )
    assert (target.gaiter_low_mmhg, target.gaiter_high_mmhg) == (22, 28)
    assert target.site_mmhg[Landmark.GAITER] == (22, 28)
    # Shares of the policy: ankle 0.8 and 1.3, calf 0.5 and 1.0 of the gaiter's.
    assert target.site_mmhg[Landmark.ANKLE] == pytest.approx((17.6, 36.4))
    assert target.site_mmhg[Landmark.CALF] == pytest.approx((11, 28))
    assert target.source == "set by P"


@pytest.mark.parametrize("purpose", list(Purpose))
@pytest.mark.parametrize("maximum", [20, 30, 40, 60])
def test_graduated_and_no_sites_range_reaches_above_the_maximum(
    policy: Policy, purpose: Purpose, maximum: float
) -> None:
    aim = aim_under(purpose, maximum, policy)
    assert aim is not None
    maxima = place_maxima(maximum, None, policy)
    target = target_range(aim, maxima, policy)
    highs = [target.site_mmhg[site][1] for site in LEG_SITES]
    assert highs == sorted(highs, reverse=True)
    assert all(high <= maxima.of(site.label) for site, (_, high) in target.site_mmhg.items())
