"""What is true of a leg in a clinic, whatever the world, and what a world has to tell."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from benchmarks.worlds.constants import Constants
from benchmarks.worlds.hands import Planned
from benchmarks.worlds.patches import Patches
from gaiter.core.landmark import Landmark

SITES = (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE)
SOFT_AT_MMHG = 40.0
# Mean and SD of a beta (2, 3), with which legs differ.
_BETA, _BETA_MEAN, _BETA_SD = (2.0, 3.0), 0.4, 0.2


@dataclass(frozen=True)
class TrueLeg:
    """What no tape tells of a leg in a clinic.

    Attributes
    ----------
    factor : float
        Clinic level times leg: what multiplies the pressure of a rigid leg.
    inner_share : mapping
        By site: curvature at the inner side over that of a circle of the girth.
    softness : mapping
        By site: what 40 mmHg flattens.
    wool_cm : float
        Thickness of one planned layer of wool as it lies [cm].
    along_per_cm : float
        Lengthwise curvature at the ankle [1/cm].
    further_share : float
        What a further layer adds of its own pressure.
    seat : float
        Error of a sensor's seat on this leg, as a share.
    """

    factor: float
    inner_share: Mapping[Landmark, float]
    softness: Mapping[Landmark, float]
    wool_cm: float
    along_per_cm: float = 0.0
    further_share: float = 1.0
    seat: float = 0.0

    def soft_mmhg(self, site: Landmark, rigid_mmhg: float) -> float:
        """Pressure when the skin gives: P (1 + softness P / 40) = factor times rigid [mmHg]."""
        rigid = self.factor * rigid_mmhg
        soft = self.softness[site] / SOFT_AT_MMHG
        # Written so that no softness divides by nothing.
        return float(2 * rigid / (1 + np.sqrt(1 + 4 * soft * rigid)))


@dataclass(frozen=True)
class Common:
    """Draws of a leg that every world shares, in the order in which they are drawn."""

    leg: float
    softness: Mapping[Landmark, float]


def common(rng: np.random.Generator, constants: Constants, *, typical: bool) -> Common:
    """Leg and softness; ``typical`` draws them all the same and then takes the mean."""
    leg = 1 + constants.leg_sd * (rng.beta(*_BETA) - _BETA_MEAN) / _BETA_SD
    softer = rng.uniform(*constants.softer)
    if typical:
        leg, softer = 1.0, sum(constants.softer) / 2
    return Common(leg, {site: softer * soft for site, soft in constants.softness.items()})


def last_draws(
    rng: np.random.Generator, constants: Constants, *, typical: bool
) -> Mapping[str, float]:
    """Wool, further layers and the sensor's seat."""
    wool, further = rng.beta(*_BETA), rng.triangular(*constants.further_layer)
    seat = constants.sensor_seat_sd * rng.standard_normal()
    if typical:
        wool, further = _BETA_MEAN, sum(constants.further_layer) / 3
    return {
        "wool_cm": constants.wool_low_cm + constants.wool_range_cm * wool,
        "further_share": further,
        "seat": seat,
    }


def factor_of(level: float, leg: float, gaiter_share: float, constants: Constants) -> float:
    """What multiplies a rigid leg so that a mean gaiter at 40 mmHg reads the clinic's level."""
    return level * leg / gaiter_share * (1 + constants.softness[Landmark.GAITER])


@dataclass(frozen=True)
class Lying:
    """What a world is told of one plan on one leg.

    Attributes
    ----------
    layers : tuple[Planned, ...]
        Pressing layers from the skin outwards.
    s_cm : mapping
        Chart position of the judged sites [cm].
    girth_cm : mapping
        True girth at them, over the wool as it lies [cm].
    wool_cm : mapping
        Thickness of all padding at them as it lies [cm].
    below_cm : mapping
        How far below its landmark a site lies, near the end of the bandage [cm].
    """

    layers: tuple[Planned, ...]
    s_cm: Mapping[Landmark, float]
    girth_cm: Mapping[Landmark, float]
    wool_cm: Mapping[Landmark, float] = field(default_factory=dict)
    below_cm: Mapping[Landmark, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Under:
    """Patches of every site: as it is judged, and where a sensor lies on the inner side."""

    judged: Mapping[Landmark, Patches]
    read: Mapping[Landmark, Patches]


class World(Protocol):
    """One world."""

    def leg(
        self, rng: np.random.Generator, constants: Constants, level: float, *, typical: bool
    ) -> TrueLeg:
        """A leg of a clinic of this level; a typical one differs from others in nothing."""

    def under(self, leg: TrueLeg, lying: Lying) -> Under:
        """Where the planned turns lie and what they press."""
