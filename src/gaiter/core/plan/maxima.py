"""The maximum pressure of every named place on a leg: one function, and everything asks it.

=====================  =======================================================================
Place                  Its maximum is the least of
=====================  =======================================================================
ankle and above        the leg's maximum
metatarsals, instep    the leg's maximum, policy's number for the foot
bony place             policy's factor times the leg's maximum, policy's number for bony places
every place            what the lowest measured arterial pressure allows, where it was measured
=====================  =======================================================================
"""

from dataclasses import dataclass

from gaiter.core.landmark import FOOT_SITES, Landmark
from gaiter.core.policy import Policy
from gaiter.core.safety import LegDecision

# Reading sites on the foot: guarded always; no published range was found to aim at there.
_FOOT_NAMES = frozenset(site.label for site in FOOT_SITES)
_SITE_NAMES = frozenset(landmark.label for landmark in Landmark)


@dataclass(frozen=True)
class Maxima:
    """Maximum pressure of each kind of place on one leg [mmHg].

    Attributes
    ----------
    leg_mmhg : float
        At the gaiter and every other reading site from the ankle up.
    foot_mmhg : float
        At the metatarsal heads and the instep.
    bony_mmhg : float
        At bony places.
    """

    leg_mmhg: float
    foot_mmhg: float
    bony_mmhg: float

    def of(self, place: str) -> float:
        """Maximum of a place by its name [mmHg].

        Parameters
        ----------
        place : str
            Label of a reading site, or name of a bony place.

        Examples
        --------
        >>> maxima = Maxima(leg_mmhg=40, foot_mmhg=40, bony_mmhg=80)
        >>> maxima.of("gaiter"), maxima.of("instep"), maxima.of("Achilles tendon")
        (40, 40, 80)
        """
        if place in _FOOT_NAMES:
            return self.foot_mmhg
        return self.leg_mmhg if place in _SITE_NAMES else self.bony_mmhg


def place_maxima(maximum_mmhg: float, arterial_bound_mmhg: float | None, policy: Policy) -> Maxima:
    """Maximum of every place on a leg.

    Parameters
    ----------
    maximum_mmhg : float
        Maximum at the gaiter, from the safety decision [mmHg].
    arterial_bound_mmhg : float or None
        What the lowest measured arterial pressure allows anywhere [mmHg]; None: not measured.
    policy : Policy
        Local policy.

    Returns
    -------
    Maxima
    """
    bound = float("inf") if arterial_bound_mmhg is None else arterial_bound_mmhg
    leg = min(maximum_mmhg, bound)
    return Maxima(
        leg_mmhg=leg,
        foot_mmhg=min(policy["foot_maximum_mmhg"], leg),
        bony_mmhg=min(policy["bony_place_maximum_mmhg"], policy["bony_place_factor"] * leg, bound),
    )


def maxima_of(decision: LegDecision, policy: Policy) -> Maxima:
    """Maximum of every place on a leg that may be compressed.

    Raises
    ------
    ValueError
        If the decision allows no compression.
    """
    if decision.maximum_mmhg is None:
        raise ValueError(f"no place has a maximum on a leg that is: {decision.headline}")
    return place_maxima(decision.maximum_mmhg, decision.arterial_bound_mmhg, policy)
