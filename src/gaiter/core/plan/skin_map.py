"""Pressure on every part of the skin under a planned bandage."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.landmark import HABIT_HEIGHTS
from gaiter.core.leg.surface import Surface
from gaiter.core.plan.document import SystemPlan
from gaiter.core.plan.padded_leg import BandagedLeg
from gaiter.core.plan.rebuilt import laid_layers, padded_leg_of
from gaiter.core.spread.draws import LEAST_SHARE_OF_FURTHER_LAYER


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

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> cells = np.ones(tube.section_cm.shape[1:])
    >>> SkinMap(tube, 40 * cells, 2 * cells).pressure_mmhg.shape
    (81, 96)
    """

    surface: Surface
    pressure_mmhg: Array
    thicknesses: Array


def skin_map(
    bandaged_leg: BandagedLeg,
    system: SystemPlan,
    remainder: float,
    shares: Sequence[Array | float] | None = None,
) -> SkinMap:
    """Pressure of a system on every cell of the leg, laid exactly as planned.

    Parameters
    ----------
    bandaged_leg : BandagedLeg
        The leg, as :func:`gaiter.core.plan.rebuilt.bandaged_leg_of` builds it.
    system : SystemPlan
        One of the systems of its plan.
    remainder : float
        Median of the theory remainder; the map is the theory times this.
    shares : sequence of float or ndarray, shape (rings, 1), or None
        What each pressing layer adds of its own pressure; None: all of it, the plain sum.

    Returns
    -------
    SkinMap

    Examples
    --------
    Round the calf it is the plan's mean by theory, times the remainder:

    >>> from gaiter.core.pressure.surface_map import ring_mean_at
    >>> from gaiter.files.example_bench import example_bench
    >>> leg = example_bench().legs["right"]
    >>> system = leg.made["one_elastic"].plan
    >>> half = skin_map(leg.task.bandaged_leg, system, remainder=0.5)
    >>> calf = next(site for site in system.sites if site.landmark == "calf")
    >>> s_cm = half.surface.landmark_s_cm[calf.landmark]
    >>> mean_mmhg = ring_mean_at(half.surface, half.pressure_mmhg, s_cm)
    >>> round(mean_mmhg / calf.ring_mean_mmhg, 3)
    0.5
    """
    padded_leg = padded_leg_of(bandaged_leg, system)
    tensions = [
        layer.tensions_n_per_cm for layer in system.layers if layer.tensions_n_per_cm is not None
    ]
    laid = laid_layers(bandaged_leg, system)
    pressure = np.zeros(padded_leg.surface.section_cm.shape[1:])
    covered = np.zeros_like(pressure)
    shares = shares or [1.0] * len(laid)
    for one, (foot, up), share in zip(laid, tensions, shares, strict=True):
        foot_map, leg_map = one.part_maps
        pressure += remainder * share * (foot * foot_map + up * leg_map)
        covered += one.thicknesses
    pressure *= padded_leg.arrives
    return SkinMap(padded_leg.surface, pressure, covered)


def likely_skin_map(bandaged_leg: BandagedLeg, system: SystemPlan, remainder: float) -> SkinMap:
    """Likely pressure on every cell: each input that the spread draws from at its median.

    What is read off it at a site is the plan's likely pressure there within about 2 mmHg; it is
    one bandage, and the plan's number is the median of thousands.

    Parameters
    ----------
    bandaged_leg, system, remainder
        Those of :func:`skin_map`.

    Returns
    -------
    SkinMap

    References
    ----------
    Dale JJ et al. Phlebology 2004 (a further layer adds 50-60 % of its own pressure; the plain sum
    is the high end).

    Examples
    --------
    One stretched layer in hands without a habit adds all of its own:

    >>> from gaiter.files.example_bench import example_bench
    >>> leg = example_bench().legs["right"]
    >>> given = leg.task.bandaged_leg, leg.made["one_elastic"].plan, 0.92
    >>> likely, planned = likely_skin_map(*given), skin_map(*given)
    >>> bool((likely.pressure_mmhg == planned.pressure_mmhg).all())
    True
    """
    places = padded_leg_of(bandaged_leg, system).surface
    return skin_map(bandaged_leg, system, remainder, _median_shares(places, system))


def _median_shares(surface: Surface, system: SystemPlan) -> list[Array]:
    """What each pressing layer likely adds of its planned pressure, shape (rings, 1) each.

    As :mod:`gaiter.core.spread.draws` has it: a further layer adds evenly between the published
    least share and all of its own; a layer that does not stretch pulls evenly between nothing and
    the most that is named for it; the person's habit goes with the height.
    """
    known = [surface.landmark_s_cm[height] for height in HABIT_HEIGHTS]
    hands = system.basis.hands if system.basis else ()
    shares = []
    for number, layer in enumerate(layer for layer in system.layers if layer.presses):
        share = (1 + LEAST_SHARE_OF_FURTHER_LAYER) / 2 if number else 1.0
        log_habit = np.zeros_like(surface.s_cm)
        if layer.fabric is None:
            share /= 2
        elif hands:
            habit = hands[min(number, len(hands) - 1)].habit
            log_habit = np.interp(surface.s_cm, known, habit)
        shares.append(share * np.exp(log_habit)[:, None])
    return shares
