"""The target range of pressure for one leg: what the purpose asks, as far as safety allows."""

from collections.abc import Mapping
from dataclasses import dataclass

from gaiter.core.landmark import Landmark
from gaiter.core.plan.maxima import Maxima
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

    Examples
    --------
    >>> Target(30, 40, {Landmark.GAITER: (30, 40)}, "invented").site_mmhg[Landmark.GAITER]
    (30, 40)
    """

    gaiter_low_mmhg: float
    gaiter_high_mmhg: float
    site_mmhg: Mapping[Landmark, tuple[float, float]]
    source: str


def target_range(aim: Aim, maxima: Maxima, policy: Policy) -> Target:
    """Target range at every site, from the decision's aim at the gaiter.

    What is aimed at, and under what maximum, the safety decision has settled; here it is only
    spread over the sites. No site's range reaches above its maximum.

    Parameters
    ----------
    aim : Aim
        Range at the gaiter, from the safety decision.
    maxima : Maxima
        Of every place.
    policy : Policy
        Local policy.

    Returns
    -------
    Target

    References
    ----------
    RAL-GZ 387 (hosiery profile, from memory) and Lee et al. 2006, EJVES 31:542 (below the knee):
    the shares of the gaiter's range in the shipped policy.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> aim = Aim(low_mmhg=30, high_mmhg=40, source="invented")
    >>> target = target_range(aim, Maxima(40, 40, 40, 80), shipped_policy())
    >>> target.site_mmhg[Landmark.GAITER]
    (30.0, 40.0)
    >>> all(high <= 40 for low, high in target.site_mmhg.values())
    True
    """
    low, high = aim.low_mmhg, aim.high_mmhg
    sites = {
        landmark: (low * share.low, min(high * share.high, maxima.of(landmark.label)))
        for landmark, share in policy.site_share.items()
    }
    sites[Landmark.GAITER] = (low, high)
    return Target(low, high, sites, aim.source)
