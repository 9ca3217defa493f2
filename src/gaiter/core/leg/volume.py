"""Limb volume, from girths and from the surface."""

import math
from collections.abc import Sequence

import numpy as np
from scipy.interpolate import CubicSpline

from gaiter.core.landmark import LEG_SITES, Landmark
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.leg.surface import Surface


def frustum_ml(lower_girth_cm: float, upper_girth_cm: float, height_cm: float) -> float:
    """Volume of a truncated cone [mL], h (C1^2 + C1 C2 + C2^2) / (12 pi).

    Parameters
    ----------
    lower_girth_cm, upper_girth_cm : float
        Girths at both ends [cm], above 0.
    height_cm : float
        Distance between them [cm], above 0.

    Returns
    -------
    float
        [mL].

    Raises
    ------
    ValueError
        If a girth or the height is not above 0 cm.

    References
    ----------
    Native Tree Society, table of worked frusta (70.13213 for the second example).

    Examples
    --------
    A cylinder of radius 3 cm and height 10 cm holds 90 pi mL.

    >>> round(frustum_ml(6 * math.pi, 6 * math.pi, 10.0), 3)
    282.743
    >>> round(frustum_ml(math.pi * 4.8, math.pi * 4.1, 4.5), 3)
    70.132
    """
    for name, value in (
        ("lower girth", lower_girth_cm),
        ("upper girth", upper_girth_cm),
        ("height", height_cm),
    ):
        if not value > 0:
            raise ValueError(f"{name} must be above 0 cm; received {value:g} cm: measure it again")
    squares = lower_girth_cm**2 + lower_girth_cm * upper_girth_cm + upper_girth_cm**2
    return height_cm * squares / (12 * math.pi)


def frusta_ml(girths_cm: Sequence[float], heights_cm: Sequence[float]) -> float:
    """Sum of frusta between girths taken at rising heights [mL].

    Parameters
    ----------
    girths_cm : sequence of float, shape (places,)
        Girths [cm], above 0.
    heights_cm : sequence of float, shape (places,)
        Their heights [cm], rising.

    Returns
    -------
    float
        [mL].

    Raises
    ------
    ValueError
        If a girth is not above 0 cm or a height does not rise.

    Examples
    --------
    Two cylinders of radius 3 cm, 5 cm high each: 90 pi mL.

    >>> round(frusta_ml([6 * math.pi] * 3, [10.0, 15.0, 20.0]), 3)
    282.743
    """
    return sum(
        frustum_ml(low, high, top - bottom)
        for low, high, bottom, top in zip(
            girths_cm, girths_cm[1:], heights_cm, heights_cm[1:], strict=False
        )
    )


def limb_volume_ml(measured: LegMeasurements) -> float:
    """Volume from ankle to below knee by frusta between the landmarks [mL].

    Parameters
    ----------
    measured : LegMeasurements
        Complete measurements [cm].

    Returns
    -------
    float
        [mL].

    References
    ----------
    Chromy, limb volume measurements, comparison of accuracy: frusta err by 2 to 8 %, depending
    on the operator.

    Examples
    --------
    A cylinder of radius 4 cm and 30 cm high, 480 pi mL:

    >>> places = (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE)
    >>> girths, heights = dict.fromkeys(places, 8 * math.pi), dict(zip(places, (10, 20, 30, 40)))
    >>> round(limb_volume_ml(LegMeasurements(26.5, girths, heights)), 1)
    1508.0
    """
    places = [place for place in LEG_SITES if place in measured.girth_cm]
    return frusta_ml(
        [measured.girth_cm[place] for place in places],
        [measured.position_cm[place] for place in places],
    )


def surface_volume_ml(surface: Surface, low: Landmark, high: Landmark) -> float:
    """Volume of the surface between two landmarks on the leg [mL], both at the ankle or above.

    There the sections are level, so their areas add up with the height.

    Parameters
    ----------
    surface : Surface
        The leg.
    low, high : Landmark
        From where to where, at the ankle or above.

    Returns
    -------
    float
        [mL].

    Examples
    --------
    10 cm of a tube of radius 4 cm, 160 pi mL less what 96 straight sides cut off:

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> round(surface_volume_ml(tube, Landmark.GAITER, Landmark.CALF))
    502
    """
    front, medial = surface.section_cm
    area = (front * np.roll(medial, -1, axis=1) - np.roll(front, -1, axis=1) * medial).sum(axis=1)
    filled = CubicSpline(surface.s_cm, area / 2).antiderivative()
    between = filled(surface.landmark_s_cm[high]) - filled(surface.landmark_s_cm[low])
    return float(between)


def excess_percent(affected_ml: float, reference_ml: float) -> float:
    """Excess of a swollen limb over the other [%]; only meaningful for one-sided swelling.

    Parameters
    ----------
    affected_ml : float
        Volume of the swollen limb [mL].
    reference_ml : float
        Volume of the other [mL], above 0.

    Returns
    -------
    float
        [%].

    Raises
    ------
    ValueError
        If the reference volume is not above 0 mL.

    References
    ----------
    EWMA Journal 2014/15: an excess is only for one-sided swelling, and is not to be exchanged for
    a change of absolute volume.

    Examples
    --------
    >>> excess_percent(2400.0, 2000.0)
    20.0
    """
    if not reference_ml > 0:
        raise ValueError(f"reference volume must be above 0 mL; received {reference_ml:g} mL")
    return 100 * (affected_ml - reference_ml) / reference_ml
