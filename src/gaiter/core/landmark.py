"""Named places where a girth of the leg is taken, and the two sides.

The order of :class:`Landmark` is distal to proximal; code may rely on it.
"""

from enum import StrEnum


class Landmark(StrEnum):
    """A named place where a girth is taken."""

    METATARSAL_HEADS = "metatarsal_heads"
    INSTEP = "instep"
    HEEL_INSTEP = "heel_instep"
    ANKLE = "ankle"
    GAITER = "gaiter"
    CALF = "calf"
    BELOW_KNEE = "below_knee"

    @property
    def label(self) -> str:
        """The landmark's name as printed for a reader.

        >>> Landmark.BELOW_KNEE.label
        'below knee'
        """
        return "heel–instep" if self is Landmark.HEEL_INSTEP else self.value.replace("_", " ")


FOOT_SITES = (Landmark.METATARSAL_HEADS, Landmark.INSTEP)
"""Landmarks of the foot where a bandage may start and a pressure is read."""

LEG_SITES = tuple(Landmark)[list(Landmark).index(Landmark.ANKLE) :]
"""Every landmark from the ankle up: the sections are level there, and heights rise."""

JUDGED_SITES = (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE)
"""Where the target range is judged; each but the gaiter has its share of it in the policy.

The foot's sites are shown, not judged: girths and thicknesses vary there with the figure-of-eight
from turn to turn.
"""


class Side(StrEnum):
    """Which limb of the person."""

    RIGHT = "right"
    LEFT = "left"
