"""Names in words for places on the leg."""

import numpy as np

from gaiter.core.arrays import Array, Mask
from gaiter.core.case.findings import WoundPlace
from gaiter.core.landmark import Landmark
from gaiter.core.leg.surface import Surface, points_at

# Zones up the leg by the landmark that ends them, and the sides round it by their middle angle.
_ZONES = (
    (Landmark.INSTEP, "forefoot"),
    (Landmark.HEEL_INSTEP, "midfoot"),
    (Landmark.ANKLE, "ankle"),
    (Landmark.GAITER, "gaiter area"),
    (Landmark.CALF, "calf"),
    (Landmark.BELOW_KNEE, "leg below the knee"),
)
_FOOT = ("forefoot", "midfoot")
_SIDES = ("inner side", "outer side")
# On the skin, where a centimetre of the chart is two to three.
_HEEL, _HEEL_REACH_CM = Landmark.HEEL_INSTEP, 4.5
_BEHIND_ANKLE_BONES_DEG = (105, 160)


def place_names() -> tuple[str, ...]:
    """Every name that a place on the leg may have.

    Returns
    -------
    tuple[str, ...]

    Examples
    --------
    >>> "back of the calf" in place_names(), "sole of the calf" in place_names()
    (True, False)
    """
    return (
        "heel",
        *(f"hollow behind the {side} ankle bone" for side in ("inner", "outer")),
        *(
            f"{side} of the {zone}"
            for _end, zone in _ZONES
            for side in (*(("top", "sole") if zone in _FOOT else ("front", "back")), *_SIDES)
        ),
    )


def place_name(surface: Surface, cells: Mask) -> str:
    """Name of the middle of some cells, such as ``"inner side of the calf"``.

    Parameters
    ----------
    surface : Surface
        The leg.
    cells : ndarray of bool, shape (rings, angles)
        At least one cell.

    Returns
    -------
    str

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> marked = np.zeros((81, 96), bool)
    >>> marked[45:50, 20:28] = True
    >>> place_name(tube, marked)
    'inner side of the calf'
    """
    ring, column = np.nonzero(cells)
    middle = np.exp(1j * surface.angle[column]).mean()
    return name_at(surface, float(surface.s_cm[ring].mean()), float(np.angle(middle)))


def name_at(surface: Surface, s_cm: float, angle: float) -> str:
    """Name of a place on the leg.

    Parameters
    ----------
    surface : Surface
        The leg.
    s_cm : float
        Chart position [cm].
    angle : float
        Angle round the leg [rad], 0 at the front, growing to the inner side.

    Returns
    -------
    str

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> name_at(tube, 25.0, 0.0), name_at(tube, 8.0, np.pi)
    ('front of the calf', 'heel')
    """
    places = surface.landmark_s_cm
    degrees = (np.rad2deg(angle) + 180) % 360 - 180
    off_heel_cm = abs(_up_the_back_cm(surface, s_cm) - _up_the_back_cm(surface, places[_HEEL]))
    zone = next((name for end, name in _ZONES if s_cm < places[end]), _ZONES[-1][1])
    if abs(degrees) > 135 and off_heel_cm < _HEEL_REACH_CM:
        return "heel"
    near, far = _BEHIND_ANKLE_BONES_DEG
    if zone == "ankle" and near < abs(degrees) < far:
        return f"hollow behind the {'inner' if degrees > 0 else 'outer'} ankle bone"
    if abs(degrees) <= 45:
        return f"top of the {zone}" if zone in _FOOT else f"front of the {zone}"
    if abs(degrees) > 135:
        return f"sole of the {zone}" if zone in _FOOT else f"back of the {zone}"
    return f"{'inner' if degrees > 0 else 'outer'} side of the {zone}"


def _up_the_back_cm(surface: Surface, s_cm: float) -> float:
    """Way on the skin along sole and back, from the metatarsal heads [cm]."""
    back = surface.points_cm[:, surface.section_cm.shape[2] // 2]
    way = np.cumsum(np.linalg.norm(np.diff(back, axis=0, prepend=back[:1]), axis=1))
    return float(np.interp(s_cm, surface.s_cm, way))


# Where a wound's name stands on the chart: landmark, distance up the leg [cm], degrees round it.
_WOUNDS = {
    WoundPlace.INNER_ANKLE: (Landmark.ANKLE, -2.0, 100),
    WoundPlace.OUTER_ANKLE: (Landmark.ANKLE, -2.0, -105),
    WoundPlace.GAITER: (Landmark.GAITER, 0.0, 90),
    WoundPlace.SHIN: (Landmark.GAITER, 2.0, 10),
    WoundPlace.CALF: (Landmark.CALF, -4.0, 180),
    WoundPlace.ACHILLES: (Landmark.ANKLE, 0.0, 180),
    WoundPlace.HEEL: (Landmark.HEEL_INSTEP, 0.0, 180),
    WoundPlace.TOP_OF_FOOT: (Landmark.INSTEP, 0.0, 0),
    WoundPlace.SOLE: (Landmark.INSTEP, 0.0, 180),
    WoundPlace.TOE: (Landmark.METATARSAL_HEADS, 0.0, 0),
}


def wound_on_chart(surface: Surface, place: WoundPlace) -> tuple[float, float]:
    """Chart position and angle that stand for a wound's place.

    Parameters
    ----------
    surface : Surface
        The leg.
    place : WoundPlace
        Its name.

    Returns
    -------
    s_cm : float
        [cm].
    angle : float
        [rad].

    Notes
    -----
    Places stand by our choice near the landmark of their name.

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> s_cm, angle = wound_on_chart(tube, WoundPlace.GAITER)
    >>> s_cm, round(float(np.rad2deg(angle)), 6)
    (20.0, 90.0)
    """
    landmark, offset_cm, degrees = _WOUNDS[place]
    return surface.landmark_s_cm[landmark] + offset_cm, float(np.deg2rad(degrees))


def wound_at(surface: Surface, place: WoundPlace) -> Array:
    """Point on the surface that stands for a wound's place [cm].

    Parameters
    ----------
    surface : Surface
        The leg.
    place : WoundPlace
        Its name.

    Returns
    -------
    ndarray, shape (3,)
        Forward, medial, up [cm].

    Examples
    --------
    >>> from gaiter.core.leg.tube import round_limb
    >>> tube = round_limb(4)
    >>> wound_at(tube, WoundPlace.GAITER).round(6).tolist()
    [0.0, 4.0, 20.0]
    """
    s, angle = wound_on_chart(surface, place)
    return points_at(surface, np.array([s]), np.array([angle]))[0]
