"""The maximum pressure of every named place on a leg: one function, and everything asks it.

=====================  =======================================================================
Place                  Its maximum is the least of
=====================  =======================================================================
gaiter and above       the leg's maximum
ankle, round the limb  the leg's maximum, times the ankle's share where nothing lowers it
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
        At the gaiter and every reading site above it.
    ankle_mmhg : float
        At the ankle, in the mean round the limb.
    foot_mmhg : float
        At the metatarsal heads and the instep.
    bony_mmhg : float
        At bony places.

    Examples
    --------
    >>> Maxima(leg_mmhg=40, ankle_mmhg=40, foot_mmhg=40, bony_mmhg=80).bony_mmhg
    80
    """

    leg_mmhg: float
    ankle_mmhg: float
    foot_mmhg: float
    bony_mmhg: float

    def of(self, place: str) -> float:
        """Maximum of a place by its name [mmHg].

        Parameters
        ----------
        place : str
            Label of a reading site, or name of a bony place.

        Returns
        -------
        float
            [mmHg].

        Examples
        --------
        >>> maxima = Maxima(leg_mmhg=60, ankle_mmhg=78, foot_mmhg=60, bony_mmhg=120)
        >>> [maxima.of(place) for place in ("gaiter", "ankle", "instep", "Achilles tendon")]
        [60, 78, 60, 120]
        """
        if place in _FOOT_NAMES:
            return self.foot_mmhg
        if place == Landmark.ANKLE.label:
            return self.ankle_mmhg
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

    Notes
    -----
    Twice the leg's maximum at bony places, at most 120 mmHg, and 60 mmHg on the foot are our
    choice: no published limit was found; a clinic's policy may hold others. Full compression ends
    at 60 mmHg where trials and classes read it, on the inner side at the gaiter (Partsch et al.
    2008, Dermatol Surg 34:600; Keller et al. 2009). Round the ankle a graduated bandage presses
    more than there, by the share of the hosiery profile that its range has too; its front and back
    have the maximum of bony places. Where anything lowers the leg's maximum – arteries, nerves,
    heart, a first bandage – that number holds at the ankle as it is.

    Examples
    --------
    What the arteries allow holds everywhere, bony places included.

    >>> from gaiter.files.policy_file import shipped_policy
    >>> place_maxima(40, 32, shipped_policy())
    Maxima(leg_mmhg=32, ankle_mmhg=32.0, foot_mmhg=32, bony_mmhg=32)
    """
    bound = float("inf") if arterial_bound_mmhg is None else arterial_bound_mmhg
    leg = min(maximum_mmhg, bound)
    lowered = leg < policy["full_maximum_mmhg"]
    share = 1.0 if lowered else policy.site_share[Landmark.ANKLE].high
    return Maxima(
        leg_mmhg=leg,
        ankle_mmhg=min(share * leg, bound),
        foot_mmhg=min(policy["foot_maximum_mmhg"], leg),
        bony_mmhg=min(policy["bony_place_maximum_mmhg"], policy["bony_place_factor"] * leg, bound),
    )


def maxima_of(decision: LegDecision, policy: Policy) -> Maxima:
    """Maximum of every place on a leg that may be compressed.

    Parameters
    ----------
    decision : LegDecision
        The safety decision.
    policy : Policy
        Local policy.

    Returns
    -------
    Maxima
        [mmHg].

    Raises
    ------
    ValueError
        If the decision allows no compression.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> decision = LegDecision.model_construct(maximum_mmhg=30.0, arterial_bound_mmhg=None)
    >>> maxima_of(decision, shipped_policy()).leg_mmhg
    30.0
    """
    if decision.maximum_mmhg is None:
        raise ValueError(f"no place has a maximum on a leg that is: {decision.headline}")
    return place_maxima(decision.maximum_mmhg, decision.arterial_bound_mmhg, policy)
