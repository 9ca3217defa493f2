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


LEG_SITES = (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE)
"""From the ankle up: where a target range is judged and means round the limb are compared."""

FOOT_SITES = (Landmark.METATARSAL_HEADS, Landmark.INSTEP)
"""Of the foot: guarded by a maximum of their own, and where a bandage may start."""

HABIT_HEIGHTS = (Landmark.ANKLE, Landmark.CALF, Landmark.BELOW_KNEE)
"""Heights at which mark spacings are read, and hands are known."""

ENDS = (Landmark.BELOW_KNEE, Landmark.CALF)
"""Where a bandage may end."""


class Side(StrEnum):
    """Which limb of the person."""

    RIGHT = "right"
    LEFT = "left"
