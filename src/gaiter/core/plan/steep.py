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
    """

    likely_mmhg: float
    two_more_mmhg: float
    hands_mmhg: float

    def too_steep(self, low_mmhg: float, high_mmhg: float, policy: Policy) -> bool:
        """Whether the hands' spread exceeds the range and the marks cannot help."""
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
