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

    Raises
    ------
    ValueError
        If a girth or the height is not above 0 cm.

    Examples
    --------
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
    """Sum of frusta between girths taken at rising heights [mL]."""
    return sum(
        frustum_ml(low, high, top - bottom)
        for low, high, bottom, top in zip(
            girths_cm, girths_cm[1:], heights_cm, heights_cm[1:], strict=False
        )
    )


def limb_volume_ml(measured: LegMeasurements) -> float:
    """Volume from ankle to below knee by frusta between the landmarks [mL]."""
    places = [place for place in LEG_SITES if place in measured.girth_cm]
    return frusta_ml(
        [measured.girth_cm[place] for place in places],
        [measured.position_cm[place] for place in places],
    )


def surface_volume_ml(surface: Surface, low: Landmark, high: Landmark) -> float:
    """Volume of the surface between two landmarks on the leg [mL], both at the ankle or above.

    There the sections are level, so their areas add up with the height.
    """
    front, medial = surface.section_cm
    area = (front * np.roll(medial, -1, axis=1) - np.roll(front, -1, axis=1) * medial).sum(axis=1)
    filled = CubicSpline(surface.s_cm, area / 2).antiderivative()
    between = filled(surface.landmark_s_cm[high]) - filled(surface.landmark_s_cm[low])
    return float(between)


def excess_percent(affected_ml: float, reference_ml: float) -> float:
    """Excess of a swollen limb over the other [%]; only meaningful for one-sided swelling."""
    if not reference_ml > 0:
        raise ValueError(f"reference volume must be above 0 mL; received {reference_ml:g} mL")
    return 100 * (affected_ml - reference_ml) / reference_ml
