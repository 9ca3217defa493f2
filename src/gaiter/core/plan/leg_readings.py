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
from dataclasses import replace
from datetime import date

import numpy as np

from gaiter.core.case import Case, LegReading
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan.hands import Level, level_of, offsets_of
from gaiter.core.policy import Policy
from gaiter.core.sensor_site import SENSOR_SD_MMHG
from gaiter.core.spread.draws import SpreadInputs
from gaiter.core.words import NOTHING, Said

# What a leg keeps between visits, as the SD of a logarithm (our choice; one clinician's bandages
# differ from leg to leg by 11 to 18 %: Ehmann et al. 2023, doi 10.25270/wmp.2023.2.22072, hands
# and theory together).
KEPT_LOG_SD = 0.10
# Older days are left out: swelling changes a leg (our choice).
NEWEST_DAYS = 5
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
    counted = newest(readings)
    if not counted:
        return inputs
    sites: dict[Landmark, list[LegReading]] = defaultdict(list)
    for one in counted:
        sites[Landmark(one.site)].append(one)
    precision = 1 / (inputs.level_log_sd**2 + KEPT_LOG_SD**2)
    pull = 0.0
    for landmark, there in sites.items():
        site = inputs.site(landmark)
        off = [np.log(one.ratio / site.median / median_of(one.system)) for one in there]
        noise = [np.hypot(SENSOR_SD_MMHG / one.mmhg, one.theory_log_sd) for one in there]
        weight = np.power(noise, -2.0)
        told = 1 / (site.log_sd**2 + 1 / weight.sum())
        precision += told
        pull += told * float(weight @ off / weight.sum())
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

    def median_of(system: str) -> float:
        return level_of(system, case.calibration, policy).median

    return known_leg(inputs, case.legs[side].sensor_readings, median_of)


def leg_readings_in_words(case: Case, side: Side, policy: Policy) -> Said:
    """How many readings of a leg stand behind its pressures, and what they change.

    Parameters
    ----------
    case, side, policy
        As for :func:`inputs_of_leg`.

    Returns
    -------
    Said
        Nothing where the leg was never read.

    Examples
    --------
    >>> from gaiter.files.example_bench import example_case
    >>> from gaiter.files.policy_file import shipped_policy
    >>> leg_readings_in_words(example_case(), Side.RIGHT, shipped_policy()).text
    ''
    """
    counted = newest(case.legs[side].sensor_readings)
    if not counted:
        return NOTHING
    days: set[date] = {one.on for one in counted}
    # As for a system without a level of its own: the share by which the leg differs.
    level: Level = level_of("", case.calibration, policy)
    before = SpreadInputs((), level.median, level.range95, offsets=offsets_of(case.calibration))
    after = inputs_of_leg(before, case, side, policy)
    share = after.remainder_median / before.remainder_median - 1
    if len(days) == 1:
        template = _ONE_LOWER if share < 0 else _ONE_HIGHER
    else:
        template = _LOWER if share < 0 else _HIGHER
    return Said(
        template,
        {
            "side": Said(side.value.capitalize()),
            "days": len(days),
            "last": str(max(days)),
            "percent": 100 * abs(share),
        },
        "leg_readings",
    )
