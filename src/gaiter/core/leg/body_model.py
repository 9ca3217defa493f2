"""Where the bony places stand, and the constants of the guide line.

The shape of the leg is learnt (:mod:`gaiter.core.leg.anatomy`); the bodies it was learnt from have
smooth ankle bones, which are put on here. Places and sizes are from memory of anatomy: no published
table was found (they are editable; the spread carries what they leave open).

Angles round the leg (degrees), looking down on a right leg; a left leg is its mirror image::

                 front / dorsum  0
                       |
        lateral -90 ---+--- +90 medial (inner side)
                       |
                 back / sole  180
"""

from dataclasses import dataclass

from gaiter.core.landmark import Landmark


@dataclass(frozen=True)
class BonyPlace:
    """A bump on the surface, Gaussian in both directions, and a place where pressure is judged.

    Attributes
    ----------
    name : str
        Name for a reader.
    angle_deg : float
        Where it stands round the leg [degrees].
    landmark, offset_cm : Landmark, float
        It stands at the landmark plus this distance along the leg [cm], proximal positive.
    half_angle_deg, half_length_cm : float
        Standard deviations of the bump round [degrees] and along [cm] the leg.
    height_cm : float
        Height over the smooth section [cm]; 0 marks a place that the section already shows.

    Examples
    --------
    >>> [place.name for place in BONY_PLACES if place.landmark is Landmark.BELOW_KNEE]
    ['fibular neck']
    """

    name: str
    angle_deg: float
    landmark: Landmark
    offset_cm: float
    half_angle_deg: float
    half_length_cm: float
    height_cm: float


_L = Landmark
BONY_PLACES = (
    BonyPlace("inner ankle bone", 100, _L.ANKLE, -4.0, 12, 1.3, 0.5),
    BonyPlace("outer ankle bone", -109, _L.ANKLE, -4.8, 12, 1.3, 0.5),
    BonyPlace("shin edge", 14, _L.CALF, -3.0, 10, 8.0, 0.0),
    BonyPlace("Achilles tendon", 180, _L.ANKLE, 0.0, 17, 2.5, 0.0),
    BonyPlace("first metatarsal head", 86, _L.METATARSAL_HEADS, 0.0, 13, 1.0, 0.0),
    BonyPlace("fifth metatarsal head", -89, _L.METATARSAL_HEADS, 0.0, 13, 1.0, 0.0),
    BonyPlace("base of the fifth metatarsal", -100, _L.INSTEP, 0.0, 14, 1.2, 0.0),
    BonyPlace("front ankle tendon", 8, _L.ANKLE, -3.0, 9, 2.0, 0.0),
    BonyPlace("heel", 180, _L.HEEL_INSTEP, 0.0, 20, 1.5, 0.0),
    BonyPlace("fibular neck", -105, _L.BELOW_KNEE, 1.5, 14, 1.5, 0.3),
)


@dataclass(frozen=True)
class BodyModel:
    """The constants of the guide line, and the bony places.

    Attributes
    ----------
    bend_cm : float
        Size of the guide's bend, forward and upward [cm].
    fan_cm_per_radian : float
        Chart length per radian of bend, so that the heel is not crowded [cm].
    heel_plane_share : float
        The point of the heel's rounding that the heel-instep plane passes, of the foot's length.
    bony_places : tuple[BonyPlace, ...]
        Bumps and places.

    Notes
    -----
    Our choice.

    Examples
    --------
    >>> DEFAULT_BODY_MODEL.heel_plane_share
    0.045
    """

    bend_cm: float = 1.0
    fan_cm_per_radian: float = 6.5
    heel_plane_share: float = 0.045
    bony_places: tuple[BonyPlace, ...] = BONY_PLACES


DEFAULT_BODY_MODEL = BodyModel()
