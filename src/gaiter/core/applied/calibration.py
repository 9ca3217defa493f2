"""The clinic's own sensor against theory: what it teaches of the theory remainder, and of sites.

A sensor's pressure over the pressure that theory gives from the marks as read (without any
remainder) is one value of the remainder. Sites are kept apart: the gaiter teaches the clinic's
level, any other site how the sensor reads there beside the gaiter of the same bandage. Mean and
spread are learnt together from a prior, the readings' own error taken out; a system with enough
readings gets its own level.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from gaiter.core.applied.conjugate import MeanAndSpread, learnt
from gaiter.core.applied.document import Advice, Applied, AppliedSite
from gaiter.core.case.leg_reading import LegReading
from gaiter.core.case.person import OFFSET_SITES, Calibration, Remainder, SiteOffset
from gaiter.core.landmark import Landmark
from gaiter.core.policy import Policy
from gaiter.core.problems import judged
from gaiter.core.sensor_site import SENSOR_SD_MMHG, SENSOR_SITES

# From so many bandages of one system its own remainder is used (our choice).
OWN_FROM_BANDAGES = 10
# The prior's spread is believed like this many readings: twice the shape (our choice).
_PRIOR_SHAPE = 3.0


@dataclass(frozen=True)
class OffsetReading:
    """What the sensor said of one site beside the gaiter of the same bandage.

    Attributes
    ----------
    log_offset, log_error : float
        Log of measured over theory here over the same at the gaiter, and its error from sensor
        and marks.

    Examples
    --------
    >>> round(float(np.exp(OffsetReading(np.log(0.8), 0.2).log_offset)), 6)
    0.8
    """

    log_offset: float
    log_error: float


@dataclass(frozen=True)
class BandageReading:
    """What the sensor said of one bandage.

    Attributes
    ----------
    system : str
        Name of the bandage system.
    log_remainder, log_error : float
        Log of measured over theory at the gaiter, and its error from sensor and marks.
    values : int
        How many sensor values stand behind it.
    offsets : Mapping[Landmark, OffsetReading]
        The other sites that were read.
    leg : str
        Whose leg; readings of one leg share its curvature. Empty: not known, a leg of its own.

    Examples
    --------
    >>> round(float(np.exp(BandageReading("two layers", np.log(0.9), 0.1, 1).log_remainder)), 6)
    0.9
    """

    system: str
    log_remainder: float
    log_error: float
    values: int
    offsets: Mapping[Landmark, OffsetReading] = field(default_factory=dict)
    leg: str = ""


def bandage_reading(applied: Applied) -> BandageReading | None:
    """What one bandage teaches of the theory remainder and of the sites beside the gaiter.

    Parameters
    ----------
    applied : Applied
        A bandage that was read.

    Returns
    -------
    BandageReading or None
        None without a sensor value at the gaiter, or while it is doubted.

    References
    ----------
    Hafner et al. 2000, doi 10.1046/j.1524-4725.2000.99257.x (sensors of the trade read to 3 mmHg).

    Examples
    --------
    36 mmHg read where theory has 40 is a remainder of 0.9.

    >>> site = AppliedSite.model_construct(
    ...     landmark=Landmark.GAITER, read_mmhg=36.0, theory_mmhg=40.0, theory_log_sd=0.1
    ... )
    >>> bandage = Applied.model_construct(
    ...     advice=Advice.GOOD, system="two layers", sites=(site,), case=None, side="right"
    ... )
    >>> round(float(np.exp(bandage_reading(bandage).log_remainder)), 6)
    0.9
    """
    if applied.advice is Advice.READ_AGAIN:
        return None
    read = {
        site.landmark: (site, site.read_mmhg)
        for site in applied.sites
        if site.read_mmhg and site.theory_mmhg > 0
    }
    if Landmark.GAITER not in read:
        return None
    gaiter, mmhg = read[Landmark.GAITER]
    level, noise = np.log(mmhg / gaiter.theory_mmhg), SENSOR_SD_MMHG / mmhg
    return BandageReading(
        applied.system,
        float(level),
        float(np.hypot(noise, gaiter.theory_log_sd)),
        1,
        {
            landmark: OffsetReading(
                float(np.log(there / site.theory_mmhg) - level),
                float(np.hypot(np.hypot(noise, SENSOR_SD_MMHG / there), _apart(site, gaiter))),
            )
            for landmark, (site, there) in read.items()
            if landmark in OFFSET_SITES
        },
        f"{applied.case} {applied.side}" if applied.case else "",
    )


def leg_readings(applied: Applied, on: date) -> list[LegReading]:
    """What a bandage tells of its own leg, for the next plan of it.

    Parameters
    ----------
    applied : Applied
        A bandage that was read.
    on : date
        Day of the bandage.

    Returns
    -------
    list[LegReading]
        Empty while it is doubted; without what can be no reading of a leg.

    Examples
    --------
    >>> site = AppliedSite.model_construct(
    ...     landmark=Landmark.GAITER, read_mmhg=36.0, theory_mmhg=40.0, theory_log_sd=0.1
    ... )
    >>> bandage = Applied.model_construct(
    ...     advice=Advice.GOOD, system="two layers", sites=(site,)
    ... )
    >>> [one.ratio for one in leg_readings(bandage, date(2026, 11, 20))]
    [0.9]
    """
    if applied.advice is Advice.READ_AGAIN:
        return []
    told = [
        {
            "on": on,
            "site": site.landmark,
            "system": applied.system,
            "mmhg": site.read_mmhg,
            "theory_mmhg": site.theory_mmhg,
            "theory_sd_percent": 100 * float(np.expm1(site.theory_log_sd)),
        }
        for site in applied.sites
        if site.read_mmhg is not None
    ]
    found = (judged(LegReading, one) for one in told)
    return [one for one in found if isinstance(one, LegReading)]


def _apart(site: AppliedSite, gaiter: AppliedSite) -> float:
    """How far theory here may stray from theory at the gaiter of the same bandage."""
    if site.beside_gaiter_log_sd is not None:
        return site.beside_gaiter_log_sd
    # Kept since there are offsets; before, as if the two had nothing in common.
    return float(np.hypot(site.theory_log_sd, gaiter.theory_log_sd))


def learnt_calibration(readings: Iterable[BandageReading], policy: Policy) -> Calibration | None:
    """Remainder of this clinic and of its systems, and its sites; None before the first reading.

    Parameters
    ----------
    readings : iterable of BandageReading
        Bandages that were read with the clinic's sensor.
    policy : Policy
        Its remainder is the prior.

    Returns
    -------
    Calibration or None

    Notes
    -----
    How much the policy's spread is believed, and from how many bandages a system has its own
    remainder, is our choice.

    References
    ----------
    Murphy KP. Conjugate Bayesian analysis of the Gaussian distribution, 2007 (from memory); see
    :func:`gaiter.core.applied.conjugate.learnt`.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> learnt_calibration([], shipped_policy())
    >>> readings = [BandageReading("two layers", 0.0, 0.1, 3)]
    >>> learnt_calibration(readings, shipped_policy()).clinic.values
    3
    """
    every = list(readings)
    if not every:
        return None
    sd = np.log1p(policy["theory_remainder_range95"]) / 1.96
    median = float(np.log(policy["theory_remainder_median"]))
    prior = MeanAndSpread.of_total(median, float(sd), _PRIOR_SHAPE)
    whole = _belief(every, prior)
    systems = {}
    for name in sorted({reading.system for reading in every}):
        own = [reading for reading in every if reading.system == name]
        if len(own) >= OWN_FROM_BANDAGES:
            start = MeanAndSpread(whole.mean, 1.0, prior.shape, prior.scale)
            systems[name] = _remainder(own, _belief(own, start))
    sites = {
        site: site_offset(site, there)
        for site in OFFSET_SITES
        if (there := [one for one in every if site in one.offsets])
    }
    return Calibration(clinic=_remainder(every, whole), systems=systems, sites=sites)


def site_offset(site: Landmark, readings: Sequence[BandageReading]) -> SiteOffset:
    """What the clinic's sensor reads at a site beside the gaiter, drawn towards none.

    Parameters
    ----------
    site : Landmark
        One of ``OFFSET_SITES``.
    readings : sequence of BandageReading
        Bandages that were read at it, at least one.

    Returns
    -------
    SiteOffset

    Notes
    -----
    Bandages of one leg are one value: its curvature, at the site and at the gaiter, does not
    become better known for the clinic by reading it again.

    References
    ----------
    As :func:`learnt_calibration`; the prior's spreads are those of
    :mod:`gaiter.core.sensor_site`.

    Examples
    --------
    >>> half = OffsetReading(np.log(0.5), 0.0)
    >>> one = BandageReading("two layers", 0.0, 0.0, 1, {Landmark.ANKLE: half})
    >>> found = site_offset(Landmark.ANKLE, [one])
    >>> found.legs, 0.5 < found.median < 1
    (1, True)
    """
    legs: dict[str, list[OffsetReading]] = defaultdict(list)
    for number, one in enumerate(readings):
        legs[one.leg or f"unknown {number}"].append(one.offsets[site])
    values, errors = zip(*map(_of_leg, legs.values()), strict=True)
    spread = SENSOR_SITES[site]
    weight = (spread.leg_sd / spread.offset_sd) ** 2
    prior = MeanAndSpread(0.0, weight, _PRIOR_SHAPE, spread.leg_sd**2 * (_PRIOR_SHAPE - 1))
    belief = learnt(prior, values, errors)
    return SiteOffset(
        bandages=len(readings),
        legs=len(legs),
        median=float(np.exp(belief.mean)),
        range95=float(np.expm1(1.96 * belief.predictive_sd)),
    )


def _of_leg(readings: Sequence[OffsetReading]) -> tuple[float, float]:
    """Offset of one leg and its error; the gaiter's own curvature stays in it."""
    # A reading without error is one of a test by hand: it alone counts.
    weight = np.array([max(one.log_error, 1e-9) ** -2 for one in readings])
    value = weight @ [one.log_offset for one in readings] / weight.sum()
    error = np.hypot(weight.sum() ** -0.5, SENSOR_SITES[Landmark.GAITER].leg_sd)
    return float(value), float(error)


def _belief(readings: list[BandageReading], prior: MeanAndSpread) -> MeanAndSpread:
    return learnt(
        prior,
        [reading.log_remainder for reading in readings],
        [reading.log_error for reading in readings],
    )


def _remainder(readings: list[BandageReading], belief: MeanAndSpread) -> Remainder:
    return Remainder(
        bandages=len(readings),
        values=sum(reading.values for reading in readings),
        median=float(np.exp(belief.mean)),
        range95=float(np.expm1(1.96 * belief.predictive_sd)),
    )
