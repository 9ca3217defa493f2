"""The target range of pressure for one leg: what the purpose asks, as far as safety allows."""

from collections.abc import Mapping
from dataclasses import dataclass

from gaiter.core.landmark import Landmark
from gaiter.core.policy import Policy
from gaiter.core.safety import Aim

# Reading sites at which the target range is judged; the foot's are shown, not judged, because
# its girths and thicknesses vary with the figure-of-eight from turn to turn.


@dataclass(frozen=True)
class Target:
    """A target range at the gaiter and what it means at every site.

    Attributes
    ----------
    gaiter_low_mmhg, gaiter_high_mmhg : float
        The range at the gaiter [mmHg].
    site_mmhg : Mapping[Landmark, tuple[float, float]]
        Low and high at each reading site [mmHg].
    source : str
        Why this range.
    """

    gaiter_low_mmhg: float
    gaiter_high_mmhg: float
    site_mmhg: Mapping[Landmark, tuple[float, float]]
    source: str


def target_range(aim: Aim, maximum_mmhg: float, policy: Policy) -> Target:
    """Target range at every site, from the decision's aim at the gaiter.

    What is aimed at, and under what maximum, the safety decision has settled; here it is only
    spread over the sites. No site's range reaches above the maximum.

    Parameters
    ----------
    aim : Aim
        Range at the gaiter, from the safety decision.
    maximum_mmhg : float
        Maximum at the gaiter [mmHg].
    policy : Policy
        Local policy.

    Returns
    -------
    Target
    """
    low, high = aim.low_mmhg, aim.high_mmhg
    sites = {
        landmark: (low * share.low, min(high * share.high, maximum_mmhg))
        for landmark, share in policy.site_share.items()
    }
    sites[Landmark.GAITER] = (low, high)
    return Target(low, high, sites, aim.source)
