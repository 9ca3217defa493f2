"""What a sensor read on earlier bandages of a leg, for the next plan of the same leg.

Measured over theory differs from leg to leg beyond the clinic's level, and a leg keeps its own
from visit to visit. Level and leg together are normal in the logarithm; every site that was read
moves them by Bayes' rule:

    1 / variance = 1 / (level^2 + kept^2) + sum over sites of 1 / (site^2 + noise^2)

where the noise of a site falls with each further reading of it and the site's own error (its
curvature, the clinic's offset) does not, because it stays with the leg as well.
"""

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from gaiter.core.case import Case, LegReading
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan.hands import level_of, offsets_of
from gaiter.core.policy import Policy
from gaiter.core.sensor_site import SENSOR_SD_MMHG
from gaiter.core.spread.draws import SpreadInputs
from gaiter.core.words import Said, Value

# What a leg keeps between visits, as the SD of a logarithm (our choice; one clinician's bandages
# differ from leg to leg by 11 to 18 %: Ehmann et al. 2023, doi 10.25270/wmp.2023.2.22072, hands
# and theory together).
KEPT_LOG_SD = 0.10
# Older days are left out: swelling changes a leg (our choice).
NEWEST_DAYS = 5
# A reading so many standard deviations off is no leg's; three happen by chance once in 370.
SLIP_FROM = 3.0
_LEFT_OUT = (
    "{side} leg: sensor values too far from what a leg can have are left out, in number {count}; "
    "look whether the sensor lay flat at its place."
)
_LOWER = (
    "{side} leg: sensor values of its own on {days} days, the last {last}, stand behind the "
    "pressures; measured over theory is taken {percent:.0f} % lower than without them."
)
_HIGHER = (
    "{side} leg: sensor values of its own on {days} days, the last {last}, stand behind the "
    "pressures; measured over theory is taken {percent:.0f} % higher than without them."
)
_ONE_LOWER = (
    "{side} leg: sensor values of its own, of {last}, stand behind the pressures; measured over "
    "theory is taken {percent:.0f} % lower than without them."
)
_ONE_HIGHER = (
    "{side} leg: sensor values of its own, of {last}, stand behind the pressures; measured over "
    "theory is taken {percent:.0f} % higher than without them."
)
# By whether they are of one day, and whether theory is taken lower.
_MOVED = {
    (True, True): _ONE_LOWER,
    (True, False): _ONE_HIGHER,
    (False, True): _LOWER,
    (False, False): _HIGHER,
}


def newest(readings: Sequence[LegReading]) -> tuple[LegReading, ...]:
    """The readings that count: those of the newest days.

    Parameters
    ----------
    readings : sequence of LegReading
        On earlier bandages of one leg.

    Returns
    -------
    tuple[LegReading, ...]

    Examples
    --------
    >>> newest([])
    ()
    """
    days = sorted({one.on for one in readings})[-NEWEST_DAYS:]
    return tuple(one for one in readings if one.on in days)


@dataclass(frozen=True)
class _Told:
    """A reading as a logarithm: how far the leg is off its system's level, and with what noise."""

    landmark: Landmark
    off: float
    noise: float

    @classmethod
    def of(
        cls, one: LegReading, inputs: SpreadInputs, median_of: Callable[[str], float]
    ) -> "_Told":
        landmark = Landmark(one.site)
        off = np.log(one.ratio / inputs.site(landmark).median / median_of(one.system))
        noise = np.hypot(SENSOR_SD_MMHG / one.mmhg, one.theory_log_sd)
        return cls(landmark, float(off), float(noise))


def _prior_variance(inputs: SpreadInputs) -> float:
    """Of level and leg together, before any reading."""
    return float(inputs.level_log_sd**2 + KEPT_LOG_SD**2)


def credible(
    inputs: SpreadInputs, readings: Sequence[LegReading], median_of: Callable[[str], float]
) -> tuple[LegReading, ...]:
    """The newest readings that a leg can have; a slip of sensor or typing stretches no bandage.

    Parameters
    ----------
    inputs, readings, median_of
        As for :func:`known_leg`.

    Returns
    -------
    tuple[LegReading, ...]
        Without those further than ``SLIP_FROM`` standard deviations from the level.

    Examples
    --------
    >>> from gaiter.core.spread.draws import Hands
    >>> before = SpreadInputs((Hands(0.1, 0.1),), 0.9, 0.35)
    >>> low, slip = (
    ...     LegReading(
    ...         on="2026-11-20", site="gaiter", system="four_layer", mmhg=mmhg, theory_mmhg=40.0,
    ...         theory_sd_percent=10.0,
    ...     )
    ...     for mmhg in (28.0, 9.0)
    ... )
    >>> credible(before, [low, slip], lambda system: 0.9) == (low,)
    True
    """

    def is_credible(one: LegReading) -> bool:
        told = _Told.of(one, inputs, median_of)
        variance = _prior_variance(inputs) + inputs.site(told.landmark).log_sd ** 2
        return abs(told.off) <= SLIP_FROM * float(np.hypot(variance**0.5, told.noise))

    return tuple(filter(is_credible, newest(readings)))


def known_leg(
    inputs: SpreadInputs, readings: Sequence[LegReading], median_of: Callable[[str], float]
) -> SpreadInputs:
    """The spread of a leg's next bandage, its own readings taken into the theory remainder.

    Parameters
    ----------
    inputs : SpreadInputs
        Before them.
    readings : sequence of LegReading
        On earlier bandages of this leg.
    median_of : callable
        Median of measured over theory of a system, by its name; a reading under another system
        tells only how the leg differs from that system's.

    Returns
    -------
    SpreadInputs
        Never wider than before: without readings the leg's own part is not reckoned.

    References
    ----------
    Murphy KP. Conjugate Bayesian analysis of the Gaussian distribution, 2007 (from memory).

    Examples
    --------
    >>> from gaiter.core.spread.draws import Hands
    >>> before = SpreadInputs((Hands(0.1, 0.1),), 0.9, 0.35)
    >>> read = LegReading(
    ...     on="2026-11-20", site="gaiter", system="four_layer", mmhg=28.0, theory_mmhg=40.0,
    ...     theory_sd_percent=10.0,
    ... )
    >>> after = known_leg(before, [read], lambda system: 0.9)
    >>> 0.7 < after.remainder_median < 0.9, after.remainder_range95 < 0.35
    (True, True)
    """
    counted = credible(inputs, readings, median_of)
    if not counted:
        return inputs
    sites: dict[Landmark, list[_Told]] = defaultdict(list)
    for one in counted:
        told = _Told.of(one, inputs, median_of)
        sites[told.landmark].append(told)
    precision, pull = 1 / _prior_variance(inputs), 0.0
    for landmark, there in sites.items():
        weight = np.array([told.noise**-2 for told in there])
        off = float(weight @ [told.off for told in there] / weight.sum())
        told_by_site = 1 / (inputs.site(landmark).log_sd ** 2 + 1 / weight.sum())
        precision += told_by_site
        pull += told_by_site * off
    sd = min(inputs.level_log_sd, precision**-0.5)
    return replace(
        inputs,
        remainder_median=inputs.remainder_median * float(np.exp(pull / precision)),
        remainder_range95=float(np.expm1(1.96 * sd)),
    )


def inputs_of_leg(inputs: SpreadInputs, case: Case, side: Side, policy: Policy) -> SpreadInputs:
    """The spread of the next bandage of one leg of a case.

    Parameters
    ----------
    inputs : SpreadInputs
        Without the leg's own readings.
    case : Case
        Its legs, and what its clinic's sensor taught.
    side : Side
        Which leg.
    policy : Policy
        The remainder of whoever has none of their own.

    Returns
    -------
    SpreadInputs

    Examples
    --------
    >>> from gaiter.files.example_bench import example_bench
    >>> task = example_bench().legs["right"].task
    >>> inputs = SpreadInputs((), 0.9, 0.35)
    >>> inputs_of_leg(inputs, task.patient.case, Side.RIGHT, task.policy) is inputs
    True
    """
    return known_leg(inputs, case.legs[side].sensor_readings, _medians(case, policy))


def leg_readings_in_words(case: Case, side: Side, policy: Policy) -> list[Said]:
    """How many readings of a leg stand behind its pressures, and what they change.

    Parameters
    ----------
    case, side, policy
        As for :func:`inputs_of_leg`.

    Returns
    -------
    list[Said]
        Empty where the leg was never read.

    Examples
    --------
    >>> from gaiter.files.example_bench import example_case
    >>> from gaiter.files.policy_file import shipped_policy
    >>> leg_readings_in_words(example_case(), Side.RIGHT, shipped_policy())
    []
    """
    found = newest(case.legs[side].sensor_readings)
    if not found:
        return []
    # As for a system without a level of its own: the share by which the leg differs.
    level = level_of("", case.calibration, policy)
    before = SpreadInputs((), level.median, level.range95, offsets=offsets_of(case.calibration))
    median_of = _medians(case, policy)
    counted = credible(before, found, median_of)
    leg = Said(side.value.capitalize())
    parts = []
    if counted:
        after = known_leg(before, counted, median_of)
        share = after.remainder_median / before.remainder_median - 1
        days = {one.on for one in counted}
        values: dict[str, Value] = {"side": leg, "days": len(days), "last": str(max(days))}
        template = _MOVED[len(days) == 1, share < 0]
        parts.append(Said(template, {**values, "percent": 100 * abs(share)}, "leg_readings"))
    if len(counted) < len(found):
        values = {"side": leg, "count": len(found) - len(counted)}
        parts.append(Said(_LEFT_OUT, values, "leg_readings_left_out"))
    return parts


def _medians(case: Case, policy: Policy) -> Callable[[str], float]:
    """Median of measured over theory of a system, by its name."""
    return lambda system: level_of(system, case.calibration, policy).median
