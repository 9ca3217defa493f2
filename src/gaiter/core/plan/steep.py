"""Whether a fabric is too steep for the hands: a little more on the marks, much more pressure.

Hands stray by so much on the marks, whatever the fabric; what that is in mmHg its curve decides.
Published spreads are of tension, of mixed fabrics; they are taken to be those of a usual elastic
bandage at usual stretch (our choice, no source).
"""

from dataclasses import dataclass

import numpy as np

from gaiter.core.landmark import Landmark
from gaiter.core.plan.design import Design
from gaiter.core.plan.search import STRETCH_STEP
from gaiter.core.policy import Policy

# d ln t / de of the generic long-stretch bandage at its usual stretch of 50 %, locking at 218 %:
# 1 / 0.5 + 1 / (2.18 - 0.5).
USUAL_STEEPNESS = 2.6
_NINETY_PERCENT = 2 * 1.645


@dataclass(frozen=True)
class Steepness:
    """What a little more on the marks does at the gaiter.

    Attributes
    ----------
    likely_mmhg, two_more_mmhg : float
        Likely pressure as planned, and with marks 2 mm farther apart [mmHg].
    hands_mmhg : float
        Width of the 90 % band that the hands alone make [mmHg].

    Examples
    --------
    >>> Steepness(likely_mmhg=40.0, two_more_mmhg=41.0, hands_mmhg=12.0).hands_mmhg
    12.0
    """

    likely_mmhg: float
    two_more_mmhg: float
    hands_mmhg: float

    def too_steep(self, low_mmhg: float, high_mmhg: float, policy: Policy) -> bool:
        """Whether the hands' spread exceeds the range and the marks cannot help.

        Parameters
        ----------
        low_mmhg, high_mmhg : float
            The range aimed at [mmHg].
        policy : Policy
            Share of the range that 2 mm of the marks may make.

        Returns
        -------
        bool

        Examples
        --------
        >>> from gaiter.files.policy_file import shipped_policy
        >>> Steepness(40.0, 55.0, 30.0).too_steep(30, 40, shipped_policy())
        True
        >>> Steepness(40.0, 55.0, 8.0).too_steep(30, 40, shipped_policy())
        False
        """
        width = high_mmhg - low_mmhg
        step = self.two_more_mmhg - self.likely_mmhg
        return self.hands_mmhg > width and step > policy["steep_share_of_range"] * width


def steepness_of(design: Design) -> Steepness:
    """Steepness of the steepest layer of a design that is set by its marks.

    Parameters
    ----------
    design : Design
        As planned.

    Returns
    -------
    Steepness

    Notes
    -----
    Published spreads are of tension; that they are those of a usual elastic bandage at usual
    stretch is our choice, no source.

    Examples
    --------
    2 mm on marks of the generic elastic bandage, from 50 to 52 %, is a tension of 1.053 times.

    >>> from gaiter.core.bandage.pattern import Pattern
    >>> from gaiter.core.bandage.wool import Build, WoolBuild
    >>> from gaiter.core.plan.design import Aim
    >>> from gaiter.core.plan.layers import FixedLayer, PressingLayer
    >>> from gaiter.core.plan.laying import Geometry
    >>> from gaiter.core.plan.padded_leg import PaddedLeg, Sampling
    >>> from gaiter.core.plan.maxima import Maxima
    >>> from gaiter.core.plan.search import fixed_design
    >>> from gaiter.core.plan.systems import LayerRecipe
    >>> from gaiter.core.plan.target import Target
    >>> from gaiter.core.spread.draws import Hands, SpreadInputs
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> leg = PaddedLeg(tube, WoolBuild(Build.EVEN, 0 * tube.s_cm, "", 0, 0.0), ())
    >>> elastic = shipped_catalogue()["long_stretch_elastic"]
    >>> layer = PressingLayer(LayerRecipe(elastic.key), elastic)
    >>> chosen = FixedLayer(Geometry(Pattern.SPIRAL, 0.5, 10.0), 0.5, 0.5)
    >>> target = Target(30, 50, dict.fromkeys(Landmark, (30, 50)), "invented")
    >>> aim = Aim(target, Maxima(60, 60, 60, 120), allowed_chance_above=0.025)
    >>> sampling = Sampling(SpreadInputs((Hands.of_spread(0.18),), 1.0, 0.35), 256, seed=1)
    >>> design = fixed_design(leg, [layer], [chosen], aim, sampling)
    >>> steepness = steepness_of(design)
    >>> round(steepness.two_more_mmhg / steepness.likely_mmhg, 3)
    1.053
    """
    site = design.padded_leg.sites[Landmark.GAITER]
    likely = design.median_mmhg(Landmark.GAITER)
    shares = np.array([site.mean(layer.pressure_map_mmhg) for layer in design.layers])
    shares = likely * shares / shares.sum()
    found = Steepness(likely, likely, 0.0)
    for number, (layer, part) in enumerate(zip(design.layers, shares, strict=True)):
        if layer.rests:
            continue
        curve, e = layer.material.curve, layer.stretch
        tension = float(curve.tension_n_per_cm(e))
        # 2 mm of marks 10 cm apart at rest is a stretch of 2 %; the loading curve ends at locking.
        above = min(e + STRETCH_STEP, (e + curve.locking_stretch) / 2)
        more = part * (float(curve.tension_n_per_cm(above)) / tension - 1)
        hands = design.sampling.inputs.hands_of(number)
        sd_stretch = np.hypot(hands.bias_sd, hands.scatter_sd) / USUAL_STEEPNESS
        spread = _NINETY_PERCENT * sd_stretch * part * float(curve.slope_n_per_cm(e)) / tension
        if likely + more > found.two_more_mmhg:
            found = Steepness(likely, likely + float(more), float(spread))
    return found
