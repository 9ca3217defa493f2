"""The shape that a tape cannot tell: how round each section is and where the bony places stand.

Proportions and sizes here are one body model: from memory of anatomy, no published table was
found (they are editable; the spread carries what they leave open).

Angles round the leg (degrees), looking down on a right leg; a left leg is its mirror image::

                 front / dorsum  0
                       |
        lateral -90 ---+--- +90 medial (inner side)
                       |
                 back / sole  180
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

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
    BonyPlace("inner ankle bone", 100, _L.ANKLE, -4.0, 12, 1.3, 0.8),
    BonyPlace("outer ankle bone", -109, _L.ANKLE, -4.8, 12, 1.3, 0.8),
    BonyPlace("shin edge", 14, _L.CALF, -3.0, 10, 8.0, 0.25),
    BonyPlace("Achilles tendon", 180, _L.ANKLE, 0.0, 17, 2.5, 0.45),
    BonyPlace("first metatarsal head", 86, _L.METATARSAL_HEADS, 0.0, 13, 1.0, 0.3),
    BonyPlace("fifth metatarsal head", -89, _L.METATARSAL_HEADS, 0.0, 13, 1.0, 0.25),
    BonyPlace("base of the fifth metatarsal", -100, _L.INSTEP, 0.0, 14, 1.2, 0.25),
    BonyPlace("front ankle tendon", 8, _L.ANKLE, -3.0, 9, 2.0, 0.15),
    BonyPlace("heel", 180, _L.HEEL_INSTEP, 0.0, 20, 1.5, 0.0),
    BonyPlace("fibular neck", -105, _L.BELOW_KNEE, 1.5, 14, 1.5, 0.3),
)


@dataclass(frozen=True)
class BodyModel:
    """Section proportions and the constants of the guide line.

    Attributes
    ----------
    depth_to_width : Mapping[Landmark, float]
        Front-to-back over side-to-side; for the foot dorsum-to-sole over side-to-side.
    guide_clearance_cm : float
        Distance of the guide line in front of the skin [cm].
    fan_cm_per_radian : float
        Chart length per radian of bend, so that the heel is not crowded [cm].
    achilles_share, heel_radius_share, heel_plane_share : float
        Of the foot length: how far forward the Achilles tendon stands at the ankle, the radius
        of the heel's rounding, and the point of it that the heel-instep plane passes.
    heel_exponent : float
        Superellipse exponent of the heel's rounding.
    bony_places : tuple[BonyPlace, ...]
        Bumps and places.

    Notes
    -----
    From memory of anatomy; no published table was found.

    Examples
    --------
    >>> DEFAULT_BODY_MODEL.depth_to_width[Landmark.CALF]
    1.05
    """

    depth_to_width: Mapping[Landmark, float] = field(
        default_factory=lambda: MappingProxyType(
            {
                _L.METATARSAL_HEADS: 0.55,
                _L.INSTEP: 0.85,
                _L.ANKLE: 1.25,
                _L.GAITER: 1.15,
                _L.CALF: 1.05,
                _L.BELOW_KNEE: 1.15,
            }
        )
    )
    guide_clearance_cm: float = 2.5
    fan_cm_per_radian: float = 6.5
    achilles_share: float = 0.023
    ankle_depth_share: float = 0.37
    instep_height_share: float = 0.29
    least_room_cm: float = 1.0
    heel_plane_share: float = 0.045
    bony_places: tuple[BonyPlace, ...] = BONY_PLACES


DEFAULT_BODY_MODEL = BodyModel()
