"""The complete set of tape measurements that a leg surface is built from."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from gaiter.core.landmark import Landmark


@dataclass(frozen=True)
class LegMeasurements:
    """Girths and positions of one leg, complete, with what was estimated marked.

    Attributes
    ----------
    foot_length_cm : float
        Back of the heel to the longest toe [cm].
    girth_cm : Mapping[Landmark, float]
        What a tape reads at each of the seven landmarks [cm].
    position_cm : Mapping[Landmark, float]
        Height above the floor [cm]; for metatarsal heads and instep the distance from the
        back of the heel. The heel-instep girth has none.
    start : Landmark
        Most distal place that is there to be bandaged (instep after a forefoot amputation).
    estimated : tuple[str, ...]
        Names such as ``"girth_cm.gaiter"`` that were estimated, not measured.
    depth_over_width : Mapping[Landmark, float]
        Where a caliper was taken; without it the shape is the most probable one for the tape.

    Examples
    --------
    >>> measured = LegMeasurements(26.5, {Landmark.ANKLE: 22.5}, {Landmark.ANKLE: 12.0})
    >>> measured.girth_cm[Landmark.ANKLE]
    22.5
    """

    foot_length_cm: float
    girth_cm: Mapping[Landmark, float]
    position_cm: Mapping[Landmark, float]
    start: Landmark = Landmark.METATARSAL_HEADS
    estimated: tuple[str, ...] = ()
    depth_over_width: Mapping[Landmark, float] = field(default_factory=dict)
