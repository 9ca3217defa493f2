"""What a plan's document says of pressure: at the sites, along the leg, at bony places, on skin.

Pressures are resting interface pressures [mmHg].
"""

import numpy as np
from pydantic import Field

from gaiter.core.arrays import Array
from gaiter.core.landmark import Landmark
from gaiter.core.record import GrownRecord, Record
from gaiter.core.words import NOTHING, Said


class SitePressure(GrownRecord):
    """Expected pressure at one landmark: as judged, round the limb, at a sensor, at its highest."""

    later = (("is_ring", "inner_mmhg", "highest_mmhg"),)

    landmark: Landmark
    girth_cm: float
    thicknesses: float
    ring_mean_mmhg: float
    median_mmhg: float
    low_mmhg: float = Field(description="5th percentile")
    high_mmhg: float = Field(description="95th percentile")
    target_low_mmhg: float | None = Field(description="null: shown, not judged")
    target_high_mmhg: float | None
    chance_in_range: float | None
    chance_above_maximum: float
    maximum_mmhg: float | None = Field(None, description="null: made before it was kept")
    is_ring: bool = Field(False, description="judged by the mean round the limb")
    inner_mmhg: float | None = Field(
        None, description="likely where a sensor lies; null: made before it was kept"
    )
    highest_mmhg: float | None = Field(
        None, description="likely on the highest 2.5 cm of the ring; null: made before it was kept"
    )

    @property
    def round_words(self) -> Said:
        """What is judged by the mean round the limb, and what a sensor there would read.

        Returns
        -------
        Said
            Nothing where the site is judged as it is read, or the plan was made before the
            numbers were kept.

        Examples
        --------
        >>> site = SitePressure.model_construct(
        ...     landmark=Landmark.ANKLE, median_mmhg=34.6, is_ring=True, inner_mmhg=15.9,
        ...     highest_mmhg=89.5,
        ... )
        >>> print(site.round_words)
        The ankle is judged by its mean round the limb, likely 35 mmHg. A sensor on its inner side \
        would likely read 16; its highest 2.5 cm likely have 90.
        """
        if not self.is_ring or self.inner_mmhg is None or self.highest_mmhg is None:
            return NOTHING
        return Said(
            "The {place} is judged by its mean round the limb, likely {mean:.0f} mmHg. A sensor "
            "on its inner side would likely read {inner:.0f}; its highest 2.5 cm likely have "
            "{highest:.0f}.",
            {
                "place": Said(self.landmark.label),
                "mean": self.median_mmhg,
                "inner": self.inner_mmhg,
                "highest": self.highest_mmhg,
            },
            "judged_round",
        )


class Rise(Record):
    """Where the mean round the limb rises towards the knee, beyond what policy allows."""

    lower: Landmark
    upper: Landmark
    lower_mmhg: float
    upper_mmhg: float
    percent: float

    @property
    def name(self) -> str:
        """What it is called when somebody accepts it.

        Returns
        -------
        str

        Examples
        --------
        >>> Rise(
        ...     lower="ankle", upper="calf", lower_mmhg=30.0, upper_mmhg=36.0, percent=20.0
        ... ).name
        'rise from the ankle to the calf'
        """
        return f"rise from the {self.lower.label} to the {self.upper.label}"


class Profile(Record):
    """Pressure up the inner side (half-way to the top in the foot), for the drawing."""

    s_cm: tuple[float, ...]
    median_mmhg: tuple[float, ...]
    low_mmhg: tuple[float, ...]
    high_mmhg: tuple[float, ...]

    @classmethod
    def of(cls, s_cm: Array, pressure_mmhg: Array) -> "Profile":
        """Median and 90 % band of sampled pressures along the leg.

        Parameters
        ----------
        s_cm : ndarray, shape (places,)
            Where along the leg [cm].
        pressure_mmhg : ndarray, shape (places, samples)
            Sampled pressure [mmHg].

        Returns
        -------
        Profile

        Examples
        --------
        Of 0, 1, ... 100 mmHg the 5th percentile is 5 and the 95th is 95:

        >>> profile = Profile.of(np.array([20.0]), np.arange(101.0)[None])
        >>> profile.low_mmhg, profile.median_mmhg, profile.high_mmhg
        ((5.0,), (50.0,), (95.0,))
        """
        low, median, high = np.quantile(pressure_mmhg, [0.05, 0.5, 0.95], axis=1)
        return cls(
            s_cm=tuple(s_cm.tolist()),
            median_mmhg=tuple(median.tolist()),
            low_mmhg=tuple(low.tolist()),
            high_mmhg=tuple(high.tolist()),
        )


class PressurePoint(Record):
    """A foot or bony place that needs a pad, with the pad that the plan lays on it."""

    place: str
    median_mmhg: float = Field(description="With its pad on")
    high_mmhg: float = Field(description="With its pad on: 95th percentile")
    maximum_mmhg: float
    padding_mm: float | None = Field(description="Pad in the plan; null: a pad is no answer")
    bare_high_mmhg: float | None = Field(None, description="Without a pad")
    exceeds: bool = Field(False, description="Still above its maximum with the pad on")
    overstated: bool = Field(False, description="The surface overstates this place")


class Bridged(Record):
    """Skin that the fabric spans without pressing."""

    place: str
    area_cm2: float
    depth_mm: float


class Gap(Record):
    """Skin between start and end that no compressive turn covers."""

    place: str
    area_cm2: float
    fault: bool = Field(description="Over the heel or next to a wound")


class SkinAbove(Record):
    """Skin that most bandages press above its maximum."""

    place: str
    area_cm2: float
    limit_mmhg: float


class PlaceMaxima(GrownRecord):
    """Maximum pressure of each kind of place."""

    later = (("ankle_mmhg",),)

    leg_mmhg: float
    ankle_mmhg: float | None = Field(
        None, description="In the mean round the limb; null: the leg's, made before it was kept"
    )
    foot_mmhg: float
    bony_mmhg: float
