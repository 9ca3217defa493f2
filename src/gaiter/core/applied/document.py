"""What was applied, as a document, ``gaiter.applied/1``: pressure as applied beside the plan."""

from datetime import date
from enum import StrEnum
from typing import Literal

from pydantic import Field

from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan.pressures import Profile
from gaiter.core.record import Record
from gaiter.core.words import Sentence

# Version of what is taken from a document about hands and sensor (``hand_readings`` and
# ``bandage_reading``): raised when either takes something else from the same document. That the
# sensor's sites stand apart did not raise it: what is kept of a sensor shows that by itself, and
# what is kept of hands is the same as before.
TAKEN_VERSION = 1


class Advice(StrEnum):
    """What to do with a bandage that lies."""

    GOOD = "good"
    READ_MORE = "read more"
    READ_AGAIN = "read again"
    REDO = "redo"
    TAKE_OFF = "take off now"


class AppliedSpacing(Record):
    """Mark spacing of one layer at one height: planned, and as it was laid."""

    place: Landmark
    planned_cm: float
    read_cm: float | None = Field(description="null: not read here")
    likely_cm: float
    low_cm: float = Field(description="5th percentile")
    high_cm: float = Field(description="95th percentile")
    tension_percent: float = Field(description="Likely tension over planned, 0 as planned")
    read_log_tension: float | None = Field(description="Log of tension as read over planned")
    read_log_error: float | None = Field(description="Its reading error")


class AppliedLayer(Record):
    """One stretching layer as it was laid."""

    number: int
    material: str
    title: str
    planned_overlap: float
    overlap: float = Field(description="As read, drawn towards the plan by the reading's error")
    spacings: tuple[AppliedSpacing, ...]


class AppliedSite(Record):
    """Pressure at one reading site: planned, and as applied."""

    landmark: Landmark
    planned_mmhg: float
    read_mmhg: float | None = Field(description="By a sensor; null: none there")
    theory_mmhg: float = Field(description="From the marks as read, without any remainder")
    theory_log_sd: float = Field(description="Spread of its logarithm")
    beside_gaiter_log_sd: float | None = Field(
        None, description="Spread of its ratio to the gaiter's; null: made before it was kept"
    )
    median_mmhg: float
    low_mmhg: float = Field(description="5th percentile")
    high_mmhg: float = Field(description="95th percentile")
    target_low_mmhg: float | None
    target_high_mmhg: float | None
    chance_in_range: float | None
    chance_above_maximum: float
    guarded: bool = Field(description="Held under the maximum")

    @property
    def off_mmhg(self) -> float:
        """Pressure as applied over the planned one [mmHg].

        Returns
        -------
        float
            [mmHg]; negative where it is lower.

        Examples
        --------
        >>> AppliedSite.model_construct(median_mmhg=36.0, planned_mmhg=40.0).off_mmhg
        -4.0
        """
        return self.median_mmhg - self.planned_mmhg


class Redo(Record):
    """Where to begin again."""

    layer: int
    title: str
    from_turn: int
    mark_spacing_cm: float = Field(description="What to stretch the marks to")


class Applied(Record):
    """The whole document."""

    document: Literal["gaiter.applied/1"] = Field("gaiter.applied/1", alias="schema")
    gaiter: str = Field("", description="Version of the program; empty: made before it was kept")
    case: str | None
    invented: bool
    today: date
    side: Side
    system: str
    title: str
    maximum_mmhg: float
    advice: Advice
    reasons: tuple[Sentence, ...]
    redo: Redo | None = None
    questions: tuple[Sentence, ...] = Field((), description="Readings that contradict each other")
    confirmed: bool = Field(False, description="All of it was read a second time")
    layers: tuple[AppliedLayer, ...]
    sites: tuple[AppliedSite, ...]
    chance_every_site_in_range: float
    profile: Profile
    spacings_read: int
    sensor_values_read: int
    remainder_median: float = Field(description="Of measured over theory, after any sensor value")
    remainder_planned: float
    cautions: tuple[Sentence, ...] = ()
    bandage: str = Field(
        "", description="Identity of the bandage; empty: not written by `gaiter applied`, or before"
    )
