"""A limb that is a tube: what closed forms are written for, so that examples can be checked."""

import numpy as np

from gaiter.core.landmark import Landmark
from gaiter.core.leg.surface import Surface

_LENGTH_CM, _RINGS, _ANGLES = 40.0, 81, 96
_LANDMARK_S_CM = {
    Landmark.METATARSAL_HEADS: 0.0,
    Landmark.INSTEP: 5.0,
    Landmark.HEEL_INSTEP: 8.0,
    Landmark.ANKLE: 12.0,
    Landmark.GAITER: 20.0,
    Landmark.CALF: 30.0,
    Landmark.BELOW_KNEE: _LENGTH_CM,
}


def round_limb(radius_cm: float) -> Surface:
    """A tube 40 cm long, its axis upwards, with the landmarks 0 to 40 cm up.

    Parameters
    ----------
    radius_cm : float
        Its radius, more than 0 [cm].

    Returns
    -------
    Surface
        81 rings of 96 angles.

    Examples
    --------
    A tape reads the circumference:

    >>> round(round_limb(4).girth_at_cm(Landmark.CALF), 2)  # 8 pi
    25.13
    """
    s_cm = np.linspace(0, _LENGTH_CM, _RINGS)
    angle = 2 * np.pi * np.arange(_ANGLES) / _ANGLES
    ring = radius_cm * np.stack([np.cos(angle), np.sin(angle)])
    return Surface(
        s_cm=s_cm,
        landmark_s_cm=_LANDMARK_S_CM,
        section_cm=np.tile(ring[:, None], (1, _RINGS, 1)),
        origin_cm=np.outer(s_cm, [0, 0, 1]),
        front=np.tile([1.0, 0, 0], (_RINGS, 1)),
    )
