"""What a sensor read on an earlier bandage of the same leg."""

import math
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from gaiter.core.case.fields import Day, measured
from gaiter.core.errors import InputError
from gaiter.core.record import Record
from gaiter.core.words import Said

# Measured over theory beyond this is a slip, not a leg (our choice: four times the spread that
# clinic, leg and ankle have together, about their middle of 0.87).
LEAST_RATIO, LARGEST_RATIO = 0.2, 3.0
# A leg is known by what was read up it.
LegSite = Literal["ankle", "gaiter", "calf", "below_knee"]


class LegReading(Record):
    """One sensor value on an earlier bandage of this leg, beside what theory had there."""

    on: Annotated[Day, Field(description="Day of the bandage")]
    site: Annotated[LegSite, Field(description="Where the sensor lay")]
    system: Annotated[
        str, Field(min_length=1, max_length=40, description="Name of the bandage system")
    ]
    mmhg: Annotated[float, measured("What the sensor read, lying", 1, 150, "mmHg")]
    theory_mmhg: Annotated[
        float,
        measured("Pressure by theory there, from the marks as read, no remainder", 1, 300, "mmHg"),
    ]
    theory_sd_percent: Annotated[
        float, measured("Standard deviation with which that is known", 0, 200, "%")
    ]

    @model_validator(mode="after")
    def _possible(self) -> Self:
        if not LEAST_RATIO <= self.ratio <= LARGEST_RATIO:
            raise InputError(
                Said(
                    "mmhg must be {least:g} to {largest:g} times theory_mmhg, {theory:g}; received "
                    "{mmhg:g}: was it read at another place, or in another unit?",
                    {
                        "least": LEAST_RATIO,
                        "largest": LARGEST_RATIO,
                        "theory": self.theory_mmhg,
                        "mmhg": self.mmhg,
                    },
                )
            )
        return self

    @property
    def ratio(self) -> float:
        """Measured over theory.

        Returns
        -------
        float

        Examples
        --------
        >>> LegReading(
        ...     on="2026-11-20", site="gaiter", system="four_layer", mmhg=36.0, theory_mmhg=40.0,
        ...     theory_sd_percent=10.0,
        ... ).ratio
        0.9
        """
        return self.mmhg / self.theory_mmhg

    @property
    def theory_log_sd(self) -> float:
        """Spread of the logarithm of theory.

        Returns
        -------
        float

        Examples
        --------
        >>> round(LegReading(
        ...     on="2026-11-20", site="gaiter", system="four_layer", mmhg=36.0, theory_mmhg=40.0,
        ...     theory_sd_percent=10.0,
        ... ).theory_log_sd, 4)
        0.0953
        """
        return math.log1p(self.theory_sd_percent / 100)
