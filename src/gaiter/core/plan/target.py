"""The target range of pressure for one leg: what the purpose asks, as far as safety allows."""

from collections.abc import Mapping
from dataclasses import dataclass

from gaiter.core.case import Purpose
from gaiter.core.landmark import Landmark
from gaiter.core.policy import Policy

# Reading sites at which the target range is judged; the foot's are shown, not judged, because
# its girths and thicknesses vary with the figure-of-eight from turn to turn.
JUDGED_SITES = (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE)


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


def target_range(purpose: Purpose, maximum_mmhg: float, policy: Policy) -> Target | None:
    """Target range for a purpose under a maximum; None where no range of the policy fits.

    Where the purpose's own range reaches above the maximum, the strongest range of the policy
    that does not is taken: a leg is treated as hard as is safe, never harder. No site's range
    reaches above the maximum either.

    Parameters
    ----------
    purpose : Purpose
        What the bandage is for.
    maximum_mmhg : float
        Maximum at the gaiter [mmHg].
    policy : Policy
        Local policy.

    Returns
    -------
    Target or None
    """
    wanted = policy.targets[purpose]
    source = wanted.source
    if wanted.gaiter_high_mmhg > maximum_mmhg:
        milder = [
            (name, target)
            for name, target in policy.targets.items()
            if target.gaiter_high_mmhg <= min(maximum_mmhg, wanted.gaiter_high_mmhg)
        ]
        if not milder:
            return None
        name, target = max(milder, key=lambda item: item[1].gaiter_low_mmhg)
        source = (
            f"{purpose} asks for {wanted.gaiter_low_mmhg:g}–{wanted.gaiter_high_mmhg:g} mmHg; "
            f"under a maximum of {maximum_mmhg:g} mmHg the range for {name} is taken "
            f"({target.source})"
        )
        wanted = target
    low, high = wanted.gaiter_low_mmhg, wanted.gaiter_high_mmhg
    sites = {
        landmark: (low * share.low, min(high * share.high, maximum_mmhg))
        for landmark, share in policy.site_share.items()
    }
    sites[Landmark.GAITER] = (low, high)
    return Target(low, high, sites, source)
