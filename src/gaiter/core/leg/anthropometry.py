"""Published leg measurements of adults: means, spreads, regressions.

Source of every number: ANSUR II, US Army anthropometric survey 2012, 4,082 men and 1,986 women
aged 17-58 (Gordon et al. 2014, NATICK/TR-15/007; public data set); means, standard deviations,
percentiles and regressions worked out from it, here in cm. Limits: fit adults without swelling;
no girth below the knee and none at the gaiter.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from gaiter.core.case.person import Sex


@dataclass(frozen=True)
class Line:
    """A regression: intercept + slope * x, with the standard deviation left over [cm]."""

    intercept_cm: float
    slope: float
    residual_sd_cm: float

    def at(self, x_cm: float) -> float:
        """Expected value [cm]."""
        return self.intercept_cm + self.slope * x_cm

    def deviations(self, x_cm: float, y_cm: float) -> float:
        """How many residual standard deviations a value lies off the line."""
        return (y_cm - self.at(x_cm)) / self.residual_sd_cm


@dataclass(frozen=True)
class Distribution:
    """Mean, standard deviation and 5th, 50th and 95th percentile [cm]."""

    mean_cm: float
    sd_cm: float
    percentiles_cm: tuple[float, float, float]


@dataclass(frozen=True)
class Anthropometry:
    """One sex's dimensions and regressions."""

    ankle_girth: Distribution
    calf_girth: Distribution
    heel_ankle_girth: Distribution
    ball_girth: Distribution
    foot_length: Distribution
    ball_length: Distribution
    malleolus_height: Distribution
    tibial_height: Distribution
    calf_on_ankle: Line
    heel_ankle_on_ankle: Line
    ball_girth_on_ankle: Line


PUBLISHED: Mapping[Sex, Anthropometry] = MappingProxyType(
    {
        Sex.MALE: Anthropometry(
            ankle_girth=Distribution(22.93, 1.46, (20.6, 22.8, 25.4)),
            calf_girth=Distribution(39.23, 2.97, (34.6, 39.2, 44.3)),
            heel_ankle_girth=Distribution(34.35, 1.66, (31.7, 34.3, 37.2)),
            ball_girth=Distribution(25.20, 1.29, (23.2, 25.2, 27.3)),
            foot_length=Distribution(27.12, 1.31, (25.0, 27.1, 29.3)),
            ball_length=Distribution(20.09, 1.05, (18.4, 20.1, 21.8)),
            malleolus_height=Distribution(7.29, 0.57, (6.4, 7.3, 8.3)),
            tibial_height=Distribution(46.82, 2.66, (42.6, 46.8, 51.3)),
            calf_on_ankle=Line(1.26, 1.655, 1.72),
            heel_ankle_on_ankle=Line(15.64, 0.816, 1.16),
            ball_girth_on_ankle=Line(11.38, 0.603, 0.95),
        ),
        Sex.FEMALE: Anthropometry(
            ankle_girth=Distribution(21.57, 1.49, (19.3, 21.5, 24.2)),
            calf_girth=Distribution(37.33, 2.85, (32.8, 37.2, 42.3)),
            heel_ankle_girth=Distribution(31.03, 1.53, (28.7, 31.0, 33.8)),
            ball_girth=Distribution(22.81, 1.18, (20.9, 22.7, 24.8)),
            foot_length=Distribution(24.63, 1.24, (22.6, 24.6, 26.8)),
            ball_length=Distribution(18.21, 0.96, (16.7, 18.2, 19.8)),
            malleolus_height=Distribution(6.27, 0.51, (5.4, 6.3, 7.1)),
            tibial_height=Distribution(43.78, 2.50, (39.9, 43.7, 47.9)),
            calf_on_ankle=Line(5.67, 1.467, 1.83),
            heel_ankle_on_ankle=Line(16.72, 0.663, 1.17),
            ball_girth_on_ankle=Line(12.74, 0.467, 0.95),
        ),
    }
)


def nearest_sex(heel_ankle_girth_cm: float | None, foot_length_cm: float | None) -> Sex:
    """Which published group a foot is closer to, for a person whose sex was not given.

    Only chooses a regression for what was not measured; without any foot size the men's.
    """
    for value, name in (
        (foot_length_cm, "foot_length"),
        (heel_ankle_girth_cm, "heel_ankle_girth"),
    ):
        if value is not None:
            return min(
                PUBLISHED,
                key=lambda sex: abs(getattr(PUBLISHED[sex], name).mean_cm - value),
            )
    return Sex.MALE
