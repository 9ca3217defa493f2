"""Small parts of the skin at one site, and what the turns over them press."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaiter.core.arrays import Array

# 1 mmHg is 133.322 Pa and 1 N/cm2 is 10 kPa: tension [N/cm] times curvature [1/cm].
MMHG_PER_N_PER_CM2 = 1e4 / 133.322387415
# Width of what is judged, and of what a sensor reads [cm].
DISC_CM = 2.5


@dataclass(frozen=True)
class Over:
    """Turns of one layer over the patches of a site.

    Attributes
    ----------
    low_cm, high_cm : ndarray, shape (patches, turns)
        Where the edges of each turn lie, from the middle of the patch up the leg; NaN where it
        does not pass [cm].
    curvature : ndarray, shape (patches, turns)
        Of the fabric over the patch, 0 or more [1/cm].
    """

    low_cm: Array
    high_cm: Array
    curvature: Array


@dataclass(frozen=True)
class Patches:
    """One site.

    Attributes
    ----------
    weights : ndarray, shape (patches,)
        Share of the site that each has; sums to 1.
    half_cm : float
        Half of a patch's length up the leg [cm].
    layers : tuple[Over, ...]
        Pressing layers from the skin outwards.
    """

    weights: Array
    half_cm: float
    layers: tuple[Over, ...]

    def rigid_mmhg(
        self, tensions: Sequence[Array], offs_cm: Sequence[Array], shares: Sequence[float]
    ) -> float:
        """Mean pressure of the site on a rigid leg [mmHg].

        Parameters
        ----------
        tensions, offs_cm : sequence of ndarray, shape (turns,)
            By layer: tension [N/cm], and how far each turn lies up from its place [cm].
        shares : sequence of float
            What of its own pressure each layer brings.
        """
        total = 0.0
        for over, tension, off, share in zip(self.layers, tensions, offs_cm, shares, strict=True):
            top = np.minimum(over.high_cm + off, self.half_cm)
            bottom = np.maximum(over.low_cm + off, -self.half_cm)
            covered = np.nan_to_num(np.clip((top - bottom) / (2 * self.half_cm), 0, 1))
            pressed = (covered * over.curvature) @ tension
            total += share * float(self.weights @ pressed)
        return MMHG_PER_N_PER_CM2 * total
