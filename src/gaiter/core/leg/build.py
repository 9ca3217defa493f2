"""Builds the surface of a leg from tape measurements.

The shape of every section is the most probable one for the tape; its size is given by the girth,
which is exact everywhere a tape was laid. Between the landmarks the girth follows the shape too.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.optimize import brentq

from gaiter.core.arrays import Array
from gaiter.core.landmark import LEG_SITES, Landmark
from gaiter.core.leg.anatomy import WAY_UP, Anatomy, Shape, anatomy, way_up
from gaiter.core.leg.body_model import DEFAULT_BODY_MODEL, BodyModel
from gaiter.core.leg.guide import Guide
from gaiter.core.leg.interpolation import monotone_c2
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.leg.surface import Surface, taped_girth_cm
from gaiter.core.words import Said

# On the way up the leg: where the sole stops saying how high a section stands, and its front
# begins to.
_SOLE_LEADS, _FRONT_LEADS = 0.6, 2.8
# A girth of these counts even where it was estimated, by published proportions.
_ALWAYS = (*WAY_UP, Landmark.HEEL_INSTEP)
RINGS, ANGLES = 300, 96
# A step from ring to ring that brings the skin forward by less of the way than this folds it.
_LEAST_ADVANCE = 0.02


class LegShapeError(ValueError):
    """The measurements do not make a leg that this model can show.

    Attributes
    ----------
    landmark : Landmark
        Nearest place.
    said : Said
        The text, for any language.

    Examples
    --------
    >>> LegShapeError(Landmark.ANKLE).landmark.value
    'ankle'
    """

    def __init__(self, landmark: Landmark) -> None:
        self.landmark = landmark
        self.said = Said(
            "with these measurements the skin near the {place} would fold over itself: measure "
            "girth, height and foot length again, or plan this part by hand",
            {"place": Said(landmark.label)},
            "leg_shape",
        )
        super().__init__(self.said.text)


def leg_surface(
    measured: LegMeasurements,
    *,
    body: BodyModel = DEFAULT_BODY_MODEL,
    learnt: Anatomy | None = None,
    rings: int = RINGS,
    angles: int = ANGLES,
) -> Surface:
    """Surface of the leg with the measured girths at the measured places.

    Parameters
    ----------
    measured : LegMeasurements
        Complete measurements [cm].
    body : BodyModel
        The guide line and the bony places.
    learnt : Anatomy or None
        Shapes of legs; None for those that are shipped.
    rings, angles : int
        Size of the grid.

    Returns
    -------
    Surface

    Raises
    ------
    LegShapeError
        If the skin would fold over itself.

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
    shape = (learnt or anatomy()).most_probable(measured)
    guide = guide_of(measured, body)
    landmark_s = landmark_positions(measured, body, guide)
    s = np.linspace(landmark_s[Landmark.METATARSAL_HEADS], landmark_s[Landmark.BELOW_KNEE], rings)
    r = np.asarray(way_up(landmark_s)(s))
    unit, front_end, back_end = shape.sections(r, angles)
    section = np.stack([unit.real, unit.imag])
    girth = _girth_along(measured, shape, landmark_s, s)
    section *= (girth / taped_girth_cm(section))[:, None]
    section += _bumps(s, section, landmark_s, body)
    section *= (girth / taped_girth_cm(section))[:, None]
    section -= section.mean(axis=2)[:, :, None]

    psi, guide_x, guide_z = guide.planes(s)
    front = np.stack([np.sin(psi), 0 * psi, np.cos(psi)], axis=-1)
    on_guide = np.stack([guide_x, 0 * psi, guide_z], axis=-1)
    foot, height = measured.foot_length_cm, measured.position_cm[Landmark.ANKLE]
    # Two places for the middle of a section: as its back or sole says, and as its front does.
    by_end = [
        ((end * [foot, foot, height] - on_guide) * front).sum(axis=1) - section[0, :, column]
        for end, column in ((back_end, angles // 2), (front_end, 0))
    ]
    medial = [
        foot * end[:, 1] - section[1, :, column]
        for end, column in ((back_end, angles // 2), (front_end, 0))
    ]
    # The sole stands on the floor; from the heel up the front leads, where the planes stand so
    # close that a depth a little off would dent the skin.
    leads = np.clip((r - _SOLE_LEADS) / (_FRONT_LEADS - _SOLE_LEADS), 0, 1)
    leads = leads**3 * (10 - 15 * leads + 6 * leads**2)
    origin = on_guide + (by_end[0] + leads * (by_end[1] - by_end[0]))[:, None] * front
    origin[:, 1] = (medial[0] + medial[1]) / 2
    surface = Surface(s, landmark_s, section, origin, front, measured.start, body=body)
    _refuse_folds(surface)
    return surface


def girths_at(
    measured: LegMeasurements, heights_cm: Sequence[float], body: BodyModel = DEFAULT_BODY_MODEL
) -> Array:
    """Girths of the most probable shape at heights above the ankle [cm].

    Parameters
    ----------
    measured : LegMeasurements
        With girths and places of the landmarks of ``WAY_UP`` at least.
    heights_cm : sequence of float
        Heights above the floor [cm], from the ankle to below the knee.
    body : BodyModel
        The guide line.

    Returns
    -------
    ndarray, shape (places,)

    Examples
    --------
    What the tape read at the ankle, and something between that and the calf's at 20 cm:

    >>> from gaiter.core.landmark import Landmark as L
    >>> girth = dict(zip(L, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
    >>> place = dict(zip([m for m in L if m is not L.HEEL_INSTEP],
    ...                  (19.5, 14.5, 12.0, 19.5, 31.0, 39.0)))
    >>> ankle, between = girths_at(LegMeasurements(26.5, girth, place), [12.0, 20.0])
    >>> round(float(ankle), 6), bool(22.5 < between < 37)
    (22.5, True)
    """
    shape = anatomy().most_probable(measured)
    guide = guide_of(measured, body)
    landmark_s = landmark_positions(measured, body, guide)
    s = np.array([guide.s_in_leg_cm(height) for height in heights_cm])
    return _girth_along(measured, shape, landmark_s, s)


def guide_of(measured: LegMeasurements, body: BodyModel = DEFAULT_BODY_MODEL) -> Guide:
    """The guide line in front of the skin of a leg.

    Planes are upright at the instep and level at the ankle. Its bend is small and as far from
    the front of the ankle as that allows, so that the planes lie no closer on the skin than need
    be; and the same on every leg, so that a place between the two is cut alike on all.

    Parameters
    ----------
    measured : LegMeasurements
        Complete.
    body : BodyModel
        Its constants.

    Returns
    -------
    Guide

    Examples
    --------
    1 cm behind an instep 14.5 cm before the heel, and 1 cm under an ankle 12 cm high:

    >>> from gaiter.core.landmark import Landmark as L
    >>> place = {L.METATARSAL_HEADS: 19.5, L.INSTEP: 14.5, L.ANKLE: 12.0}
    >>> guide = guide_of(LegMeasurements(26.5, {}, place))
    >>> guide.upright_x_cm, guide.level_z_cm, guide.room_cm
    (13.5, 11.0, 1.0)
    """
    place = measured.position_cm
    return Guide.round_the_ankle(
        start_x_cm=place[Landmark.METATARSAL_HEADS],
        instep_x_cm=place[Landmark.INSTEP],
        ankle_z_cm=place[Landmark.ANKLE],
        upright_x_cm=place[Landmark.INSTEP] - body.bend_cm,
        level_z_cm=place[Landmark.ANKLE] - body.bend_cm,
        fan_cm_per_radian=body.fan_cm_per_radian,
    )


def landmark_positions(
    measured: LegMeasurements, body: BodyModel, guide: Guide
) -> dict[Landmark, float]:
    """Chart position of every landmark [cm]; the heel-instep plane passes the heel's rounding.

    Parameters
    ----------
    measured : LegMeasurements
        Complete.
    body : BodyModel
        Where the heel is rounded.
    guide : Guide
        The leg's guide line.

    Returns
    -------
    dict[Landmark, float]

    Examples
    --------
    In foot and leg the chart's centimetres are those of the tape:

    >>> from gaiter.core.landmark import Landmark as L
    >>> place = {L.METATARSAL_HEADS: 19.5, L.INSTEP: 14.5, L.ANKLE: 12.0, L.CALF: 31.0}
    >>> measured = LegMeasurements(26.5, {}, place)
    >>> found = landmark_positions(measured, DEFAULT_BODY_MODEL, guide_of(measured))
    >>> found[L.INSTEP], round(found[L.CALF] - found[L.ANKLE], 6)
    (5.0, 19.0)
    """
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


def _girth_along(
    measured: LegMeasurements, shape: Shape, landmark_s: Mapping[Landmark, float], s: Array
) -> Array:
    """Girths of the shape, corrected smoothly so that they are the tape's where it was laid [cm].

    An estimated girth is the shape's own and corrects nothing.
    """
    laid = [
        landmark
        for landmark in Landmark
        if landmark in measured.girth_cm
        and (landmark in _ALWAYS or f"girth_cm.{landmark}" not in measured.estimated)
    ]
    knots = np.array([landmark_s[landmark] for landmark in laid])
    r_of = way_up(landmark_s)
    girths = np.array([measured.girth_cm[landmark] for landmark in laid])
    correction = np.log(girths / shape.girth_over_ankle(np.asarray(r_of(knots))))
    along = shape.girth_over_ankle(np.asarray(r_of(s)))
    girth: Array = along * np.exp(monotone_c2(knots, correction)(s))
    return girth


def _bumps(s: Array, section: Array, places: Mapping[Landmark, float], body: BodyModel) -> Array:
    """Displacement of each section along its own normal by the bony places [cm]."""
    angle = 2 * np.pi * np.arange(section.shape[2]) / section.shape[2]
    height = np.zeros(section.shape[1:])
    for place in body.bony_places:
        if place.height_cm == 0:
            continue
        off = (angle - np.deg2rad(place.angle_deg) + np.pi) % (2 * np.pi) - np.pi
        round_it = np.exp(-0.5 * (off / np.deg2rad(place.half_angle_deg)) ** 2)
        centre = places[place.landmark] + place.offset_cm
        along = np.exp(-0.5 * ((s - centre) / place.half_length_cm) ** 2)
        height += place.height_cm * along[:, None] * round_it
    along_front, along_medial = np.roll(section, -1, axis=2) - np.roll(section, 1, axis=2)
    normal = np.stack([along_medial, -along_front])
    return height * normal / np.hypot(along_front, along_medial)


def _refuse_folds(surface: Surface) -> None:
    """Every point goes on, from ring to ring, along the normals of its plane."""
    level = np.stack(
        [-surface.front[:, 2], np.zeros(len(surface.s_cm)), surface.front[:, 0]], axis=-1
    )
    steps = np.diff(surface.points_cm, axis=0)
    advance = np.minimum(
        np.einsum("rac,rc->ra", steps, level[:-1]), np.einsum("rac,rc->ra", steps, level[1:])
    ).min(axis=1)
    least = _LEAST_ADVANCE * (surface.s_cm[1] - surface.s_cm[0])
    worst = int(np.argmin(advance))
    if advance[worst] < least:
        at = surface.s_cm[worst]
        places = surface.landmark_s_cm
        raise LegShapeError(min(places, key=lambda landmark: abs(places[landmark] - at)))
