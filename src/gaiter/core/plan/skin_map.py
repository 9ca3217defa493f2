"""Likely pressure on every part of the skin under a planned bandage."""

from dataclasses import dataclass

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.leg.surface import Surface
from gaiter.core.plan.document import SystemPlan
from gaiter.core.plan.laying import BandagedLeg
from gaiter.core.plan.rebuilt import laid_layers, padded_leg_of


@dataclass(frozen=True)
class SkinMap:
    """Pressure and fabric on the cells of a padded leg.

    Attributes
    ----------
    surface : Surface
        The leg outside its wool; its rings and angles are the axes of the maps.
    pressure_mmhg : ndarray, shape (rings, angles)
        What arrives under the pads [mmHg]; 0 where the fabric spans a hollow or skin is bare.
    thicknesses : ndarray, shape (rings, angles)
        Thicknesses of the pressing layers together.
    """

    surface: Surface
    pressure_mmhg: Array
    thicknesses: Array


def skin_map(bandaged_leg: BandagedLeg, system: SystemPlan, remainder: float) -> SkinMap:
    """Likely pressure of a system on every cell of the leg.

    Parameters
    ----------
    bandaged_leg : BandagedLeg
        The leg, as :func:`gaiter.core.plan.rebuilt.bandaged_leg_of` builds it.
    system : SystemPlan
        One of the systems of its plan.
    remainder : float
        Median of the theory remainder; the map is the theory times this.

    Returns
    -------
    SkinMap
    """
    padded_leg = padded_leg_of(bandaged_leg, system)
    tensions = [
        layer.tensions_n_per_cm for layer in system.layers if layer.tensions_n_per_cm is not None
    ]
    pressure = np.zeros(padded_leg.surface.section_cm.shape[1:])
    covered = np.zeros_like(pressure)
    for one, (foot, up) in zip(laid_layers(bandaged_leg, system), tensions, strict=True):
        foot_map, leg_map = one.part_maps
        pressure += remainder * (foot * foot_map + up * leg_map)
        covered += one.thicknesses
    pressure *= padded_leg.arrives
    return SkinMap(padded_leg.surface, pressure, covered)
