"""Building up with wool: a thin ankle, and an inverted bottle towards a cone."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from gaiter.core.arrays import Array
from gaiter.core.case import Leg, LegShape
from gaiter.core.landmark import Landmark
from gaiter.core.leg.surface import Surface
from gaiter.core.words import NOTHING, Said

# A padded ankle is brought to this girth before compression (from memory, not verified).
LEAST_ANKLE_CM = 18.0
# Wool is not built up beyond this; a leg that needs more is refused in words, not buried [cm].
LARGEST_BUILD_CM = 2.0
_SMOOTHING_CM = 1.5
_THIN_ANKLE = (
    "Build up with wool round the ankle, about {turns} turns, until the tape reads {girth:g} cm at "
    "the ankle; measure again."
)
_CONE = (
    "Build up with wool between ankle and calf, about {turns} turns, until ankle and calf are "
    "joined by a straight line, a cone; measure again."
)


class Build(StrEnum):
    """What the wool is built up to."""

    EVEN = "even"
    THIN_ANKLE = "thin ankle"
    CONE = "cone"


@dataclass(frozen=True)
class WoolBuild:
    """Extra wool over an even layer.

    Attributes
    ----------
    kind : Build
        Why.
    extra_cm : ndarray, shape (rings,)
        Extra thickness on each ring [cm].
    text : Said
        What the bandager does, nothing for an even layer.
    turns : int
        Extra turns.
    short_cm : float
        How much girth is still missing where the build ends at its largest [cm].

    Examples
    --------
    >>> WoolBuild(Build.EVEN, np.zeros(81), Said(""), 0, 0.0).turns
    0
    """

    kind: Build
    extra_cm: Array
    text: Said
    turns: int
    short_cm: float


def build_for(leg: Leg, bare: Surface, even_cm: float) -> Build:
    """Which build a leg needs: a cone for an inverted bottle or a column, a girth for a thin ankle.

    A leg that is a cone already takes no wool for it.

    Parameters
    ----------
    leg : Leg
        Its findings tell the shape.
    bare : Surface
        The leg without padding.
    even_cm : float
        Thickness of the even wool [cm], 0 or more.

    Returns
    -------
    Build

    Notes
    -----
    An ankle under 18 cm over the even wool is thin: from memory, not verified.

    Examples
    --------
    An ordinary leg with an ankle of 5 pi = 15.7 cm:

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(2.5)
    >>> leg = Leg(
    ...     purpose="venous ulcer",
    ...     girth_cm={"metatarsal_heads": 23.5, "ankle": 15.7, "calf": 37, "below_knee": 34},
    ...     position_cm={"ankle": 12, "calf": 31, "below_knee": 39},
    ... )
    >>> build_for(leg, tube, 0.1).value, build_for(leg, tube, 0.5).value
    ('thin ankle', 'even')
    """
    ankle = bare.girth_at_cm(Landmark.ANKLE) + 2 * np.pi * even_cm
    if leg.findings.shape in (LegShape.INVERTED_BOTTLE, LegShape.COLUMN):
        return Build.CONE
    return Build.THIN_ANKLE if ankle < LEAST_ANKLE_CM else Build.EVEN


def wool_build(
    kind: Build, bare: Surface, even_cm: float, layer_cm: float, width_cm: float
) -> WoolBuild:
    """Extra wool over an even layer.

    Parameters
    ----------
    kind : Build
        What to build up to.
    bare : Surface
        The leg without padding.
    even_cm, layer_cm : float
        Thickness of the even wool, and of one more layer of it, half overlapping [cm].
    width_cm : float
        Width of the wool [cm].

    Returns
    -------
    WoolBuild

    Notes
    -----
    The girth built up to (18 cm) is from memory, the largest build (2 cm) our choice.

    Examples
    --------
    From a girth of 5 pi to one of 18 cm, (18 - 5 pi) / (2 pi) is missing:

    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(2.5)
    >>> built = wool_build(Build.THIN_ANKLE, tube, 0.0, layer_cm=0.2, width_cm=10.0)
    >>> round(float(built.extra_cm.max()), 3)
    0.365
    """
    nothing = np.zeros_like(bare.s_cm)
    if kind is Build.EVEN or layer_cm <= 0:
        return WoolBuild(Build.EVEN, nothing, NOTHING, 0, 0.0)
    girth = bare.girth_cm + 2 * np.pi * even_cm
    places = bare.landmark_s_cm
    on_leg = bare.s_cm >= places[Landmark.ANKLE] - 2
    wanted = np.full_like(girth, LEAST_ANKLE_CM)
    ends = [places[Landmark.ANKLE], places[Landmark.CALF]]
    if kind is Build.CONE:
        ankle, calf = (float(np.interp(s, bare.s_cm, girth)) for s in ends)
        wanted = np.interp(bare.s_cm, ends, [max(ankle, LEAST_ANKLE_CM), calf])
        on_leg &= bare.s_cm <= places[Landmark.CALF]
    missing = np.where(on_leg, np.maximum(wanted - girth, 0), 0) / (2 * np.pi)
    step = bare.s_cm[1] - bare.s_cm[0]
    # Widened before it is smoothed, so that smoothing takes nothing off where wool is needed.
    widened = maximum_filter1d(
        np.minimum(missing, LARGEST_BUILD_CM), round(4 * _SMOOTHING_CM / step)
    )
    extra = gaussian_filter1d(widened, _SMOOTHING_CM / step)
    layers = int(np.ceil(extra.max() / layer_cm - 1e-9))
    if layers == 0:
        return WoolBuild(Build.EVEN, nothing, NOTHING, 0, 0.0)
    built = bare.s_cm[extra > 0.05]
    height = float(built[-1] - built[0]) if len(built) else width_cm
    turns = layers * max(1, round(height / (width_cm / 2)))
    text = Said(_CONE, {"turns": turns}, "build_up")
    if kind is Build.THIN_ANKLE:
        text = Said(_THIN_ANKLE, {"turns": turns, "girth": LEAST_ANKLE_CM}, "build_up")
    short = float(2 * np.pi * max(missing.max() - LARGEST_BUILD_CM, 0))
    return WoolBuild(kind, extra, text, turns, short)
