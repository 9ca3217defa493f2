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
    """A regression: intercept + slope * x, with the standard deviation left over.

    Attributes
    ----------
    intercept_cm : float
        Value at 0 [cm].
    slope : float
        Growth per cm of x.
    residual_sd_cm : float
        Standard deviation left over [cm], above 0.

    References
    ----------
    Gordon et al. 2014, NATICK/TR-15/007 (every line of ``PUBLISHED`` is worked out from it).

    Examples
    --------
    >>> PUBLISHED[Sex.MALE].calf_on_ankle
    Line(intercept_cm=1.26, slope=1.655, residual_sd_cm=1.72)
    """

    intercept_cm: float
    slope: float
    residual_sd_cm: float

    def at(self, x_cm: float) -> float:
        """Expected value on the line [cm].

        Parameters
        ----------
        x_cm : float
            The other dimension [cm].

        Returns
        -------
        float
            [cm].

        References
        ----------
        Gordon et al. 2014, NATICK/TR-15/007.

        Examples
        --------
        Mean calf girth of the men at their mean ankle girth:

        >>> round(PUBLISHED[Sex.MALE].calf_on_ankle.at(22.93), 1)
        39.2
        """
        return self.intercept_cm + self.slope * x_cm

    def deviations(self, x_cm: float, y_cm: float) -> float:
        """How many residual standard deviations a value lies off the line.

        Parameters
        ----------
        x_cm, y_cm : float
            The other dimension and the value [cm].

        Returns
        -------
        float
            Positive where the value is larger than expected.

        References
        ----------
        Gordon et al. 2014, NATICK/TR-15/007.

        Examples
        --------
        >>> Line(1.0, 2.0, 0.5).deviations(10.0, 22.0)
        2.0
        """
        return (y_cm - self.at(x_cm)) / self.residual_sd_cm


@dataclass(frozen=True)
class Distribution:
    """Mean, standard deviation and 5th, 50th and 95th percentile of a dimension.

    Attributes
    ----------
    mean_cm, sd_cm : float
        [cm].
    percentiles_cm : tuple[float, float, float]
        5th, 50th and 95th [cm].

    References
    ----------
    Gordon et al. 2014, NATICK/TR-15/007.

    Examples
    --------
    >>> PUBLISHED[Sex.FEMALE].ankle_girth.percentiles_cm
    (19.3, 21.5, 24.2)
    """

    mean_cm: float
    sd_cm: float
    percentiles_cm: tuple[float, float, float]


@dataclass(frozen=True)
class Anthropometry:
    """One sex's dimensions and regressions.

    References
    ----------
    Gordon et al. 2014, NATICK/TR-15/007: ANSUR II, fit adults aged 17-58 without swelling.

    Examples
    --------
    >>> PUBLISHED[Sex.MALE].ankle_girth.mean_cm, PUBLISHED[Sex.MALE].calf_girth.mean_cm
    (22.93, 39.23)
    """

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

    Parameters
    ----------
    heel_ankle_girth_cm : float or None
        Girth over heel and instep [cm].
    foot_length_cm : float or None
        Length of the foot [cm]; where given it decides.

    Returns
    -------
    Sex

    Notes
    -----
    Taking the men's without any foot size is our choice.

    References
    ----------
    Gordon et al. 2014, NATICK/TR-15/007 (the means compared with).

    Examples
    --------
    Means are 27.12 cm for men and 24.63 cm for women:

    >>> nearest_sex(None, 24.0).value, nearest_sex(None, 27.0).value
    ('female', 'male')
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
