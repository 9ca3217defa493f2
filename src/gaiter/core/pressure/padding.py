"""What a pad does over a place: its pressure, the girth it adds, the wool it takes."""

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.leg.surface import Surface, taped_girth_cm
from gaiter.core.pressure.discs import DISC_RADIUS_CM, disc

# A pad is laid in steps of this thickness [cm]; beyond the last, more padding is no answer.
PADDING_STEPS_CM = tuple(step / 10 for step in range(2, 21, 2))
# A pad is full over the disc that is judged and bevelled over this much more all round [cm]
# (common practice, no source).
BEVEL_CM = 1.5
PAD_REACH_CM = DISC_RADIUS_CM + BEVEL_CM


def padding_that_answers(
    surface: Surface, pressure: Array, s_cm: float, angle: float, maximum_mmhg: float
) -> float | None:
    """Least thickness of a pad that brings a place under its maximum [cm].

    See :func:`gaiter.core.pressure.discs.disc` for what a pad does.

    Parameters
    ----------
    surface : Surface
        The leg, wool included.
    pressure : ndarray, shape (rings, angles)
        Pressure map [mmHg].
    s_cm, angle : float
        Chart position [cm] and angle [rad] of the place.
    maximum_mmhg : float
        Its own maximum [mmHg].

    Returns
    -------
    float or None
        0 where nothing is needed; None where a pad alone is no answer.
    """
    for thickness in (0.0, *PADDING_STEPS_CM):
        if disc(surface, "", s_cm, angle, pad_cm=thickness).mean(pressure) <= maximum_mmhg:
            return thickness
    return None


def pad_on_cells_cm(surface: Surface, s_cm: float, angle: float, thickness_cm: float) -> Array:
    """Thickness of one bevelled pad on every cell [cm], shape (rings, angles)."""
    ring = int(np.argmin(np.abs(surface.s_cm - s_cm)))
    steps = surface.section_cm.shape[2]
    column = round(angle / (2 * np.pi) * steps) % steps
    off = np.linalg.norm(surface.points_cm - surface.points_cm[ring, column], axis=-1)
    share = np.clip((PAD_REACH_CM - off) / BEVEL_CM, 0, 1)
    thickness: Array = thickness_cm * share
    return thickness


def girth_over_pads_cm(surface: Surface, pads_cm: Array, s_cm: float) -> float:
    """How much more the tape reads over the pads at a chart position [cm].

    Parameters
    ----------
    surface : Surface
        The leg, wool included.
    pads_cm : ndarray, shape (rings, angles)
        Thickness of all pads on every cell [cm].
    s_cm : float
        Where the tape goes round [cm].

    Returns
    -------
    float
        0 where no pad is; for a pad all round exactly 2 pi times its thickness on a round leg.
    """
    ring = int(np.argmin(np.abs(surface.s_cm - s_cm)))
    pad = pads_cm[ring]
    if not pad.any():
        return 0.0
    section = surface.section_cm[:, ring]
    ahead = np.roll(section, -1, axis=1) - np.roll(section, 1, axis=1)
    outward = np.stack([ahead[1], -ahead[0]]) / np.hypot(*ahead)
    both = np.stack([section, section + pad * outward], axis=1)
    bare, padded = taped_girth_cm(both)
    return float(padded - bare)


def pad_wool_cm(thickness_cm: float, sheet_cm: float) -> float:
    """Length of wool that a pad is folded from [cm]; 0 where the wool has no thickness.

    The pad is as long as it reaches to both sides and takes the roll's width, sheet upon sheet.
    """
    if sheet_cm <= 0:
        return 0.0
    return float(np.ceil(thickness_cm / sheet_cm - 1e-9)) * 2 * PAD_REACH_CM
