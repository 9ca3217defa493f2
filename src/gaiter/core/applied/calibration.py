"""The clinic's own sensor against theory: what it teaches of the theory remainder.

A sensor's pressure over the pressure that theory gives from the marks as read (without any
remainder) is one value of the remainder. Mean and spread are learnt together from the policy's
prior, the readings' own error taken out; a system with enough readings gets its own.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from gaiter.core.applied.conjugate import MeanAndSpread, learnt
from gaiter.core.applied.document import Advice, Applied
from gaiter.core.applied.sampled import SENSOR_SD_MMHG
from gaiter.core.case.person import Calibration, Remainder
from gaiter.core.landmark import LEG_SITES
from gaiter.core.policy import Policy

# From so many bandages of one system its own remainder is used (our choice).
OWN_FROM_BANDAGES = 10
# The policy's spread is believed like this many readings: twice the shape (our choice).
_PRIOR_SHAPE = 3.0


@dataclass(frozen=True)
class BandageReading:
    """What the sensor said of one bandage: the mean over its sites.

    Attributes
    ----------
    system : str
        Name of the bandage system.
    log_remainder, log_error : float
        Log of measured over theory, and its error from sensor and marks.
    values : int
        How many sensor values stand behind it.

    Examples
    --------
    >>> round(float(np.exp(BandageReading("two layers", np.log(0.9), 0.1, 3).log_remainder)), 6)
    0.9
    """

    system: str
    log_remainder: float
    log_error: float
    values: int


def bandage_reading(applied: Applied) -> BandageReading | None:
    """What one bandage teaches of the theory remainder.

    Parameters
    ----------
    applied : Applied
        A bandage that was read.

    Returns
    -------
    BandageReading or None
        None without a sensor value up the leg, or while it is doubted.

    References
    ----------
    Hafner et al. 2000, doi 10.1046/j.1524-4725.2000.99257.x (sensors of the trade read to 3 mmHg).

    Examples
    --------
    36 mmHg read where theory has 40 is a remainder of 0.9.

    >>> from gaiter.core.applied.document import AppliedSite
    >>> from gaiter.core.landmark import Landmark
    >>> site = AppliedSite.model_construct(
    ...     landmark=Landmark.GAITER, read_mmhg=36.0, theory_mmhg=40.0, theory_log_sd=0.1
    ... )
    >>> bandage = Applied.model_construct(advice=Advice.GOOD, system="two layers", sites=(site,))
    >>> round(float(np.exp(bandage_reading(bandage).log_remainder)), 6)
    0.9
    """
    if applied.advice is Advice.READ_AGAIN:
        return None
    found = [
        (np.log(site.read_mmhg / site.theory_mmhg),
         np.hypot(SENSOR_SD_MMHG / site.read_mmhg, site.theory_log_sd))
        for site in applied.sites
        if site.read_mmhg and site.theory_mmhg > 0 and site.landmark in LEG_SITES
    ]  # fmt: skip
    if not found:
        return None
    ratios, errors = zip(*found, strict=True)
    # Sites of one bandage err together, in its hands and its roll: no less than the best of them.
    return BandageReading(applied.system, float(np.mean(ratios)), float(min(errors)), len(found))


def learnt_calibration(readings: Iterable[BandageReading], policy: Policy) -> Calibration | None:
    """Remainder of this clinic and of its systems; None before the first reading.

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
    return Calibration(clinic=_remainder(every, whole), systems=systems)


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
