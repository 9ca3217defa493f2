"""The person, the arms, the stock and the hands."""

import math
from collections.abc import Collection, Iterable, Mapping
from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from gaiter.core.case.fields import answered, measured
from gaiter.core.errors import InputError
from gaiter.core.landmark import HABIT_HEIGHTS, LEG_SITES, Landmark
from gaiter.core.record import Record
from gaiter.core.words import Said

# Heights at which a person's habit with a bandage is known: just above the ankle, at the calf and
# below the knee, where mark spacings are read.

OFFSET_SITES = tuple(site for site in LEG_SITES if site is not Landmark.GAITER)
"""Where a clinic's sensor has an offset against the gaiter."""


class Allergen(StrEnum):
    """Substances in materials that people with leg ulcers are often allergic to."""

    LATEX = "latex"
    RUBBER_ACCELERATORS = "rubber accelerators"
    COLOPHONY = "colophony"
    WOOL_ALCOHOLS = "wool alcohols"
    PRESERVATIVES = "preservatives"
    DYES = "dyes"
    ADHESIVE = "adhesive"
    ZINC_PASTE = "zinc paste"


class Mobility(StrEnum):
    """How the person gets about; it decides how well the calf pump works."""

    WALKS = "walks"
    WALKS_WITH_AID = "walks with aid"
    CHAIR = "chair"
    BED = "bed"


class Footwear(StrEnum):
    """What goes over the bandage."""

    ORDINARY_SHOE = "ordinary shoe"
    WIDE_SHOE = "wide shoe"
    CAM_BOOT = "cam boot"
    NONE = "none"


class Sex(StrEnum):
    """Only chooses the regression when a measurement has to be estimated."""

    FEMALE = "female"
    MALE = "male"


class Training(StrEnum):
    """Training of the hands; it decides the spread."""

    UNTRAINED = "untrained"
    TRAINED = "trained"
    TRAINED_WITH_FEEDBACK = "trained with feedback"


class Person(Record):
    """One person. A field left out is *not said*, never taken as no."""

    age_years: Annotated[int | None, measured("Age", 0, 120, "years")] = None
    sex: Sex | None = None
    mobility: Mobility | None = None
    diabetes: Annotated[bool | None, answered("Diabetes")] = None
    kidney_disease: Annotated[bool | None, answered("Chronic kidney disease")] = None
    heart_failure_class: Annotated[
        int | None,
        measured("Heart failure, NYHA class (0 for none)", 0, 4, "class"),
    ] = None
    heart_failure_decompensated: Annotated[
        bool | None,
        answered("Heart failure that is decompensated now"),
    ] = None
    weight_gain_kg: Annotated[
        float | None,
        measured("Weight gained over the last week, 0 when none is noticed", -20, 40, "kg"),
    ] = None
    breathless_lying: Annotated[bool | None, answered("Breathless lying flat")] = None
    can_report_pain: Annotated[
        bool | None,
        answered(
            "Feels and can report pain (not after spinal cord injury, stroke or with dementia)"
        ),
    ] = None
    can_be_taken_off: Annotated[
        bool | None, answered("Somebody is there who can take the bandage off at any time")
    ] = None
    daily_observer: Annotated[
        str | None,
        Field(max_length=80, description="Who looks at the toes every day, by name"),
    ] = None
    rheumatoid_arthritis: Annotated[bool | None, answered("Rheumatoid arthritis")] = None
    pregnancy: Annotated[bool | None, answered("Pregnant, or gave birth within six weeks")] = None
    sickle_cell: Annotated[bool | None, answered("Sickle cell disease")] = None
    raynaud: Annotated[bool | None, answered("Raynaud's phenomenon")] = None
    other_leg_compressed: Annotated[
        bool | None,
        answered("The other leg is compressed as well, whether or not it is planned here"),
    ] = None
    allergies: tuple[Allergen, ...] | None = None
    does_not_tolerate: tuple[Literal["elastic", "cohesive"], ...] = ()
    footwear: Footwear | None = None
    rebandaged_by: Literal["clinic", "home nurse", "carer", "self", "nobody"] | None = None


class Arms(Record):
    """Systolic pressure at each upper arm; one may be left out when it is said unusable."""

    unusable: Annotated[
        Literal["left", "right"] | None,
        Field(
            description="Arm that cannot be measured: fistula, operated lymph nodes, lymphoedema"
        ),
    ] = None

    left_mmhg: Annotated[float | None, measured("Systolic pressure, left arm", 60, 260, "mmHg")] = (
        None
    )
    right_mmhg: Annotated[
        float | None, measured("Systolic pressure, right arm", 60, 260, "mmHg")
    ] = None


class BenchCurve(Record):
    """A clinic's own roll as the bench test fitted it."""

    usual_stretch: Annotated[
        float, measured("Stretch in use, over relaxed length", 0.01, 3, "as a fraction")
    ]
    usual_tension_n_per_cm: Annotated[
        float, measured("Tension for each cm of width at usual stretch", 0.01, 20, "N/cm")
    ]
    locking_stretch: Annotated[
        float, measured("Stretch where the fabric locks", 0.02, 5, "as a fraction")
    ]
    hysteresis: Annotated[
        float, measured("Share of the tension lost on the way back", 0, 0.99, "as a fraction")
    ] = 0.2

    @model_validator(mode="after")
    def _locks_beyond_use(self) -> Self:
        if self.usual_stretch >= self.locking_stretch:
            raise InputError(
                Said(
                    "usual_stretch must be below locking_stretch, {locking:g}; received {usual:g}: "
                    "test the roll again",
                    {"locking": self.locking_stretch, "usual": self.usual_stretch},
                )
            )
        return self


class StockItem(Record):
    """What the clinic has of one material; sizes replace the catalogue's."""

    rolls: Annotated[int, measured("Rolls in hand", 0, 10_000, "rolls")]
    widths_cm: Annotated[
        tuple[Annotated[float, measured("Width of a roll", 2, 30, "cm")], ...] | None,
        Field(min_length=1, description="Widths in hand [cm]"),
    ] = None
    relaxed_length_cm: Annotated[
        float | None, measured("Length of a relaxed roll", 50, 3000, "cm")
    ] = None
    thickness_mm: Annotated[
        float | None, measured("Thickness as wrapped, half overlapping", 0, 30, "mm")
    ] = None
    curve: Annotated[
        BenchCurve | None, Field(description="As `gaiter bench` prints it; replaces the class")
    ] = None


class HabitAt(Record):
    """What somebody tends to at one height."""

    tension_percent: Annotated[
        float, measured("Tension over the planned one, 0 as planned", -80, 200, "%")
    ]
    sure_percent: Annotated[
        float, measured("Standard deviation with which that is known", 0, 100, "%")
    ]


def _only_at(allowed: Collection[Landmark], given: Iterable[Landmark], refusal: str) -> None:
    """Refuses what is said of another landmark than the allowed ones."""
    for other in given:
        if other not in allowed:
            raise InputError(Said(refusal, {"allowed": ", ".join(allowed), "other": other.value}))


class Habit(Record):
    """What somebody tends to with one material, as `gaiter technique` prints it."""

    readings: Annotated[int, measured("Mark spacings behind it", 1, 100_000, "readings")]
    heights: Annotated[
        Mapping[Landmark, HabitAt],
        Field(min_length=1, description="Just above the ankle, at the calf, below the knee"),
    ]
    spread_percent: Annotated[
        float, measured("Standard deviation of one turn about the habit", 0, 100, "%")
    ]

    @model_validator(mode="after")
    def _up_the_leg(self) -> Self:
        _only_at(
            HABIT_HEIGHTS,
            self.heights,
            "heights must be {allowed}; received {other}: habits are known where mark spacings are "
            "read",
        )
        return self


class Bandager(Record):
    """Whoever applies the bandage."""

    training: Training
    initials: Annotated[str | None, Field(max_length=8)] = None
    habits: Annotated[
        Mapping[str, Habit],
        Field(description="By material; replaces the spread of the training level"),
    ] = {}  # pydantic copies it


class Remainder(Record):
    """Measured over theory at the gaiter, as the clinic's sensor found it."""

    bandages: Annotated[int, measured("Bandages read", 1, 100_000, "bandages")]
    values: Annotated[int, measured("Sensor values behind it", 1, 1_000_000, "values")]
    median: Annotated[float, measured("Median of measured over theory", 0.4, 1.6, "ratio")]
    range95: Annotated[
        float, measured("95 % range of the next bandage, upwards", 0.05, 1.5, "as a fraction")
    ]


class SiteOffset(Record):
    """What the clinic's sensor reads at one site, beside what it reads at the gaiter.

    Measured over theory there, over measured over theory at the gaiter of the same bandage.
    """

    bandages: Annotated[int, measured("Bandages read at both", 1, 100_000, "bandages")]
    legs: Annotated[int, measured("Legs behind them", 1, 100_000, "legs")]
    median: Annotated[float, measured("Median of the offset", 0.2, 5, "ratio")]
    range95: Annotated[
        float, measured("95 % range of the next leg, upwards", 0.02, 5, "as a fraction")
    ]

    @property
    def log_sd(self) -> float:
        """Spread of the next leg, as the SD of a logarithm.

        Returns
        -------
        float

        Examples
        --------
        >>> one = SiteOffset(bandages=9, legs=4, median=0.8, range95=math.expm1(1.96 * 0.25))
        >>> round(one.log_sd, 6)
        0.25
        """
        return math.log1p(self.range95) / 1.96


class Calibration(Record):
    """What the clinic's own sensor taught, as `gaiter technique` prints it."""

    clinic: Remainder
    systems: Annotated[
        Mapping[str, Remainder], Field(description="Systems with enough readings of their own")
    ] = {}  # pydantic copies it
    sites: Annotated[
        Mapping[Landmark, SiteOffset],
        Field(description="Ankle, calf or below knee, where read beside the gaiter"),
    ] = {}  # pydantic copies it

    @model_validator(mode="after")
    def _beside_the_gaiter(self) -> Self:
        _only_at(
            OFFSET_SITES,
            self.sites,
            "sites must be {allowed}; received {other}: what is read at the gaiter is the clinic's "
            "own remainder",
        )
        return self

    def of(self, system: str) -> Remainder:
        """The system's own remainder, or the clinic's.

        Parameters
        ----------
        system : str
            Name of the bandage system.

        Returns
        -------
        Remainder

        Examples
        --------
        >>> clinic = Remainder(bandages=12, values=36, median=0.9, range95=0.3)
        >>> Calibration(clinic=clinic).of("two layers").median
        0.9
        """
        return self.systems.get(system, self.clinic)
