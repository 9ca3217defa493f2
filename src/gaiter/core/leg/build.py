"""Builds the surface of a leg from tape measurements.

Each section keeps the depth that the side outline gives it; its width is solved so that the tape
reads the measured girth, bumps included. (Scaling whole sections would dent the front of the
ankle.)
"""

from collections.abc import Mapping

import numpy as np
from scipy.interpolate import make_interp_spline
from scipy.ndimage import gaussian_filter1d
from scipy.optimize import brentq

from gaiter.core.arrays import Array
from gaiter.core.landmark import LEG_SITES, Landmark
from gaiter.core.leg.body_model import DEFAULT_BODY_MODEL, BodyModel
from gaiter.core.leg.guide import Guide
from gaiter.core.leg.interpolation import monotone_c2
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.leg.outline import distance_behind, heel_profile
from gaiter.core.leg.surface import Surface, taped_girth_cm
from gaiter.core.words import Said

RINGS, ANGLES = 300, 96
# Girth is solved to this on every ring [cm]; a tape is read to 0.1 cm.
_GIRTH_TOLERANCE_CM = 0.002
_GIRTH_TRIALS = 12
# The side outline is sampled this far past both ends, so that smoothing has no edge [cm].
_MARGIN_CM = 6.0
_OUTLINE_SAMPLES = 500
_DEPTH_SMOOTHING_CM = 0.8
# A section flatter than this is no leg: the girth has been used up by the depth.
_LEAST_HALF_WIDTH_CM = 1.0
# Growth of a girth for growth of half its width, on the ellipses of a leg; only sets how fast
# the width is found.
_GIRTH_PER_HALF_WIDTH = 3.0


class LegShapeError(ValueError):
    """The measurements do not make a leg that this model can show.

    Attributes
    ----------
    landmark : Landmark
        Nearest place.
    girth_cm, least_cm : float
        What was received, and the least that goes round the depth [cm].
    said : Said
        The text, for any language.

    Examples
    --------
    >>> LegShapeError(Landmark.ANKLE, 14.0, 16.5).least_cm
    16.5
    """

    def __init__(self, landmark: Landmark, girth_cm: float, least_cm: float) -> None:
        self.landmark, self.girth_cm, self.least_cm = landmark, girth_cm, least_cm
        self.said = Said(
            "girth near the {place} must be at least {least:.1f} cm to go round the depth of this "
            "leg; received {girth:.1f} cm: measure girth, height and foot length again, or plan "
            "this part by hand",
            {"place": Said(landmark.label), "least": least_cm, "girth": girth_cm},
            "leg_shape",
        )
        super().__init__(self.said.text)


def leg_surface(
    measured: LegMeasurements,
    *,
    body: BodyModel = DEFAULT_BODY_MODEL,
    rings: int = RINGS,
    angles: int = ANGLES,
) -> Surface:
    """Surface of the leg with the measured girths at the measured places.

    Parameters
    ----------
    measured : LegMeasurements
        Complete measurements [cm].
    body : BodyModel
        Section proportions and bony places.
    rings, angles : int
        Size of the grid.

    Returns
    -------
    Surface

    Raises
    ------
    LegShapeError
        If a girth cannot go round the depth that the side outline asks for.

    Examples
    --------
    >>> from gaiter.core.landmark import Landmark as L
    >>> girth = dict(zip(L, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
    >>> place = dict(zip([m for m in L if m is not L.HEEL_INSTEP],
    ...                  (19.5, 14.5, 12.0, 19.5, 31.0, 39.0)))
    >>> surface = leg_surface(LegMeasurements(26.5, girth, place))
    >>> round(surface.girth_at_cm(L.GAITER), 1)
    27.0
    """
    half_depths = _half_depths(measured, body)
    guide = _guide(measured, body, half_depths)
    landmark_s = _landmark_positions(measured, body, guide)
    there = [landmark for landmark in Landmark if landmark in measured.girth_cm]
    knots = np.array([landmark_s[landmark] for landmark in there])
    girth_along = monotone_c2(knots, [measured.girth_cm[landmark] for landmark in there])
    front_gap_at_toes = guide.level_z_cm - 2 * half_depths[Landmark.METATARSAL_HEADS]
    front_gap = monotone_c2(
        knots, [front_gap_at_toes] + [body.guide_clearance_cm] * (len(knots) - 1)
    )
    # Outside the ends the outline repeats its end value, so that smoothing has no edge.
    dense = np.linspace(knots[0] - _MARGIN_CM, knots[-1] + _MARGIN_CM, _OUTLINE_SAMPLES)
    inside = np.clip(dense, knots[0], knots[-1])
    depth = _depth(measured, body, guide, landmark_s, half_depths, front_gap(inside), inside)
    depth = gaussian_filter1d(depth, _DEPTH_SMOOTHING_CM / (dense[1] - dense[0]))

    s = np.linspace(knots[0], knots[-1], rings)
    psi, guide_x, guide_z = guide.planes(s)
    half_depth = make_interp_spline(dense, depth, 5)(s) / 2
    girth = np.asarray(girth_along(s))
    _refuse_flat_sections(s, landmark_s, girth, half_depth)
    half_width = _ellipse_half_width(girth, half_depth)
    angle = np.linspace(0, 2 * np.pi, angles, endpoint=False)
    section = np.stack([half_depth[:, None] * np.cos(angle), half_width[:, None] * np.sin(angle)])
    section += _bumps(s, angle, section, landmark_s, body)
    section = _with_girth(section, girth)

    front = np.stack([np.sin(psi), 0 * psi, np.cos(psi)], axis=-1)
    centre_gap = np.asarray(front_gap(s)) + half_depth
    origin = np.stack([guide_x, 0 * psi, guide_z], axis=-1) - centre_gap[:, None] * front
    return Surface(s, landmark_s, section, origin, front, measured.start, body=body)


def _half_depths(measured: LegMeasurements, body: BodyModel) -> dict[Landmark, float]:
    """Half the front-to-back depth at each landmark with a known proportion [cm]."""
    return {
        landmark: ratio * measured.girth_cm[landmark] / float(_ellipse_girth(ratio, 1.0))
        for landmark, ratio in body.depth_to_width.items()
    }


def _guide(
    measured: LegMeasurements, body: BodyModel, half_depths: Mapping[Landmark, float]
) -> Guide:
    achilles_x = body.achilles_share * measured.foot_length_cm
    return Guide.round_the_ankle(
        start_x_cm=measured.position_cm[Landmark.METATARSAL_HEADS],
        instep_x_cm=measured.position_cm[Landmark.INSTEP],
        ankle_z_cm=measured.position_cm[Landmark.ANKLE],
        upright_x_cm=achilles_x + 2 * half_depths[Landmark.ANKLE] + body.guide_clearance_cm,
        level_z_cm=2 * half_depths[Landmark.INSTEP] + body.guide_clearance_cm,
        fan_cm_per_radian=body.fan_cm_per_radian,
    )


def _landmark_positions(
    measured: LegMeasurements, body: BodyModel, guide: Guide
) -> dict[Landmark, float]:
    """Chart position of every landmark [cm]; the heel-instep plane passes the heel's rounding."""
    instep = guide.s_in_foot_cm(measured.position_cm[Landmark.INSTEP])
    ankle = guide.s_in_leg_cm(measured.position_cm[Landmark.ANKLE])
    on_heel = body.heel_plane_share * measured.foot_length_cm

    def off_plane(s: float) -> float:
        psi, x, z = (float(value[0]) for value in guide.planes(np.array([s])))
        return -(on_heel - x) * np.cos(psi) + (on_heel - z) * np.sin(psi)

    positions = {
        Landmark.METATARSAL_HEADS: 0.0,
        Landmark.INSTEP: instep,
        Landmark.HEEL_INSTEP: float(brentq(off_plane, instep, ankle)),
    }
    for landmark in LEG_SITES:
        if landmark in measured.position_cm:
            positions[landmark] = guide.s_in_leg_cm(measured.position_cm[landmark])
    return positions


def _depth(
    measured: LegMeasurements,
    body: BodyModel,
    guide: Guide,
    landmark_s: Mapping[Landmark, float],
    half_depths: Mapping[Landmark, float],
    front_gap: Array,
    s: Array,
) -> Array:
    """Depth along the leg: side outline up to the ankle, proportions above it, smoothed."""
    foot = measured.foot_length_cm
    profile = heel_profile(
        body.heel_radius_share * foot,
        body.heel_exponent,
        body.achilles_share * foot,
        measured.position_cm[Landmark.ANKLE],
    )
    low = s <= landmark_s[Landmark.ANKLE]
    depth = np.empty_like(s)
    depth[low] = distance_behind(*guide.planes(s[low]), profile) - front_gap[low]
    proportioned = [landmark for landmark in LEG_SITES if landmark in half_depths]
    above = monotone_c2(
        [landmark_s[landmark] for landmark in proportioned],
        [2 * half_depths[landmark] for landmark in proportioned],
    )
    depth[~low] = above(s[~low])
    return depth


def _ellipse_girth(half_depth: Array | float, half_width: Array | float) -> Array:
    """Girth of an ellipse by Ramanujan's second approximation (1914), exact to 1 in 10^4 here."""
    a, b = np.asarray(half_depth, float), np.asarray(half_width, float)
    h = ((a - b) / (a + b)) ** 2
    girth: Array = np.pi * (a + b) * (1 + 3 * h / (10 + np.sqrt(4 - 3 * h)))
    return girth


def _ellipse_half_width(girth: Array, half_depth: Array) -> Array:
    """Half width of the ellipse with this girth and depth, by bisection [cm]."""
    low, high = np.full_like(girth, 1e-3), girth / 2
    for _turn in range(40):
        middle = (low + high) / 2
        too_wide = _ellipse_girth(half_depth, middle) > girth
        high = np.where(too_wide, middle, high)
        low = np.where(too_wide, low, middle)
    return (low + high) / 2


def _bumps(
    s: Array,
    angle: Array,
    section: Array,
    places: Mapping[Landmark, float],
    body: BodyModel,
) -> Array:
    """Displacement of each section along its own normal by the bony places [cm]."""
    height = np.zeros(section.shape[1:])
    for place in body.bony_places:
        if place.height_cm == 0:
            continue
        off = (angle - np.deg2rad(place.angle_deg) + np.pi) % (2 * np.pi) - np.pi
        round_it = np.exp(-0.5 * (off / np.deg2rad(place.half_angle_deg)) ** 2)
        centre = places[place.landmark] + place.offset_cm
        along = np.exp(-0.5 * ((s - centre) / place.half_length_cm) ** 2)
        height += place.height_cm * along[:, None] * round_it
    half_depth, half_width = section[0, :, :1], section[1].max(axis=1)[:, None]
    normal = np.stack([half_width * np.cos(angle), half_depth * np.sin(angle)])
    return height * normal / np.hypot(*normal)


def _with_girth(section: Array, girth: Array) -> Array:
    """The sections scaled in width until the tape reads the girth."""
    scale = np.ones_like(girth)
    half_width = np.abs(section[1]).max(axis=1)
    stretched = section.copy()
    for _turn in range(_GIRTH_TRIALS):
        miss = girth - taped_girth_cm(stretched)
        if np.abs(miss).max() < _GIRTH_TOLERANCE_CM:
            break
        scale += miss / (_GIRTH_PER_HALF_WIDTH * half_width)
        stretched[1] = section[1] * scale[:, None]
    return stretched


def _refuse_flat_sections(
    s: Array, landmark_s: Mapping[Landmark, float], girth: Array, half_depth: Array
) -> None:
    least = _ellipse_girth(half_depth, _LEAST_HALF_WIDTH_CM)
    worst = int(np.argmin(girth - least))
    if girth[worst] < least[worst]:
        near = min(landmark_s, key=lambda landmark: abs(landmark_s[landmark] - s[worst]))
        raise LegShapeError(near, float(girth[worst]), float(least[worst]))
