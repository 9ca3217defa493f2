"""What a pad does over a place: its pressure, the girth it adds, the wool it takes."""

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.leg.surface import Surface, taped_girth_cm
from gaiter.core.pressure.discs import DISC_RADIUS_CM, disc

# A pad is laid in steps of this thickness [cm]; beyond the last, more padding is no answer.
PADDING_STEPS_CM = tuple(step / 10 for step in range(2, 22, 2))
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

    Examples
    --------
    50 mmHg on a radius of 4 cm; 50 / (1 + 0.8 / 4) is 41.7 mmHg.

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> padding_that_answers(tube, np.full((81, 96), 50.0), 30.0, np.pi / 2, 42.0)
    0.8
    """
    for thickness in (0.0, *PADDING_STEPS_CM):
        if disc(surface, "", s_cm, angle, pad_cm=thickness).mean(pressure) <= maximum_mmhg:
            return thickness
    return None


def pad_on_cells_cm(surface: Surface, s_cm: float, angle: float, thickness_cm: float) -> Array:
    """Thickness of one bevelled pad on every cell [cm].

    Parameters
    ----------
    surface : Surface
        The leg, wool included.
    s_cm, angle : float
        Chart position [cm] and angle [rad] of the pad's middle.
    thickness_cm : float
        Full thickness [cm], 0 or more.

    Returns
    -------
    ndarray, shape (rings, angles)
        Thickness [cm].

    Notes
    -----
    Full over the disc that is judged and bevelled over 1.5 cm: common practice, no source.

    Examples
    --------
    2 cm up the leg the bevel has (2.75 - 2) / 1.5 of the thickness left.

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> pad = pad_on_cells_cm(tube, 20.0, np.pi / 2, 1.0)
    >>> float(pad[40, 24]), float(pad[44, 24].round(6)), float(pad[50, 24])
    (1.0, 0.5, 0.0)
    """
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

    Examples
    --------
    Half a centimetre all round adds pi centimetres:

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> round(girth_over_pads_cm(tube, np.full((81, 96), 0.5), 20.0), 2)
    3.14
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
    """Length of wool that a pad is folded from [cm].

    The pad is as long as it reaches to both sides and takes the roll's width, sheet upon sheet.

    Parameters
    ----------
    thickness_cm : float
        Of the pad [cm], 0 or more.
    sheet_cm : float
        Of one sheet of the wool [cm].

    Returns
    -------
    float
        [cm]; 0 where the wool has no thickness.

    Examples
    --------
    Three sheets of 2 x 2.75 cm:

    >>> pad_wool_cm(0.7, 0.3)
    16.5
    """
    if sheet_cm <= 0:
        return 0.0
    return float(np.ceil(thickness_cm / sheet_cm - 1e-9)) * 2 * PAD_REACH_CM
