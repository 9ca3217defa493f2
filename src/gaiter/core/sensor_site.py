"""Where a sensor is read under a bandage, and how surely it tells of the pressure there.

A reading has the sensor's own error, and an error of its place: how a clinic's readings there lie
off those at the gaiter (learnt from the clinic's, see ``core/applied/calibration``), and how this
leg's own curvature there differs from the modelled surface. The gaiter is what the others are
held against. The flat inner ankle curves least, so little leg more or less moves it most: one
reading there never outweighs one at the gaiter.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot
from types import MappingProxyType

from gaiter.core.landmark import Landmark

# Sensors of the trade read to 3 mmHg: Hafner et al. 2000, doi 10.1046/j.1524-4725.2000.99257.x.
SENSOR_SD_MMHG = 3.0


@dataclass(frozen=True)
class SensorSite:
    """One place where a sensor is read.

    Attributes
    ----------
    offset_sd : float
        How far a clinic's readings here may lie off those at the gaiter, as the SD of a
        logarithm, before any is known.
    leg_sd : float
        How far one leg's curvature here strays from the modelled one, likewise.
    where : str
        Where the sensor lies, for whoever puts it there.

    Examples
    --------
    >>> round(SensorSite(0.3, 0.4, "anywhere").sd, 6)
    0.5
    """

    offset_sd: float
    leg_sd: float
    where: str

    @property
    def sd(self) -> float:
        """Both together: the site's share of error while the clinic's offset is not known.

        Returns
        -------
        float
            Of the logarithm.

        Examples
        --------
        >>> round(SENSOR_SITES[Landmark.ANKLE].sd, 3)
        0.283
        """
        return hypot(self.offset_sd, self.leg_sd)


# Spreads are our choice, but in this order: depth over width, which tells most of a curvature,
# differs more between legs at the ankle than at the calf and least at the gaiter. The foot, where
# nothing was compared, is taken as the ankle.
SENSOR_SITES: Mapping[Landmark, SensorSite] = MappingProxyType(
    {
        Landmark.GAITER: SensorSite(0.0, 0.10, "inner side, where the calf muscle turns to tendon"),
        Landmark.ANKLE: SensorSite(
            0.20, 0.20, "flat inner side at the smallest girth, off bone and tendon"
        ),
        Landmark.CALF: SensorSite(0.08, 0.12, "inner side at the largest girth"),
        Landmark.BELOW_KNEE: SensorSite(0.10, 0.15, "inner side, where the bandage ends"),
        Landmark.INSTEP: SensorSite(
            0.20, 0.20, "half-way from the inner edge to the top of the foot"
        ),
        Landmark.METATARSAL_HEADS: SensorSite(
            0.20, 0.20, "half-way from the inner edge to the top of the foot"
        ),
    }
)
"""Every place where a sensor may be read, the most telling first."""
