"""What asks for somebody: pressure that drifted, a wound that stands still, a test that is due.

Each is a function of numbers and the policy, and says what it found or nothing.
"""

from calendar import month_abbr
from collections.abc import Sequence
from datetime import date, timedelta
from enum import StrEnum

from gaiter.core.policy import Policy
from gaiter.core.safety import RULES, LegDecision, RuleKind, Subject
from gaiter.core.words import Said

_TEST_DAY = "leg.arterial.measured_on"


class Lateness(StrEnum):
    """How a day compares with the day on which a leg should be seen."""

    NOT_YET = "not yet"
    DUE = "due"
    OVERDUE = "overdue"
    MISSED = "missed"


def lateness(next_visit: date, today: date, policy: Policy) -> Lateness:
    """How late a visit is.

    Parameters
    ----------
    next_visit : date
        Day on which the leg should be seen.
    today : date
        Today.
    policy : Policy
        ``missed_after_days``: more days than that count as missed [days].

    Returns
    -------
    Lateness

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> lateness(date(2026, 11, 20), date(2026, 11, 22), shipped_policy()).value
    'overdue'
    """
    late_days = (today - next_visit).days
    if late_days > policy["missed_after_days"]:
        return Lateness.MISSED
    if late_days > 0:
        return Lateness.OVERDUE
    return Lateness.DUE if late_days == 0 else Lateness.NOT_YET


def girth_drift(planned_cm: float, now_cm: float, policy: Policy) -> Said | None:
    """That the ankle's girth has changed since the plan, and with it the pressure.

    The same stretch presses in inverse proportion to the girth (Laplace).

    Parameters
    ----------
    planned_cm, now_cm : float
        Girth of the ankle when planned and when it was last measured [cm], above 0.
    policy : Policy
        ``drift_share``: a change of pressure of that share is said.

    Returns
    -------
    Said or None
        None where there is nothing to say.

    References
    ----------
    Thomas S. 2003: P [mmHg] = 4620 N T / (C W).

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> girth_drift(23.0, 21.0, shipped_policy()).text
    'ankle 23 → 21 cm since the plan: the same stretch presses about 10% more'
    """
    change = planned_cm / now_cm - 1
    if abs(change) < policy["drift_share"]:
        return None
    return Said(
        "ankle {planned:g} → {now:g} cm since the plan: the same stretch presses about "
        "{change:.0%} {more}",
        {
            "planned": planned_cm,
            "now": now_cm,
            "change": abs(change),
            "more": Said("more" if change > 0 else "less"),
        },
        "drift",
    )


def wound_stalled(areas_cm2: Sequence[tuple[date, float]], policy: Policy) -> Said | None:
    """That a wound has not become enough smaller in the weeks that tell.

    The last area is held against the latest one that is at least so many weeks older.

    Parameters
    ----------
    areas_cm2 : sequence of (date, float)
        Length times width at each visit that measured both [cm²], oldest first.
    policy : Policy
        ``stall_weeks`` [weeks] and ``stall_share``: a wound that is smaller by less than that
        share is said.

    Returns
    -------
    Said or None
        None where there is nothing to say.

    References
    ----------
    Kantor & Margolis 2000, Br J Dermatol 142:960: the change of area at week 4 tells of healing;
    the share stands in the policy with how sure it is.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> areas = [(date(2026, 10, 1), 10.0), (date(2026, 10, 29), 9.0)]
    >>> wound_stalled(areas, shipped_policy()).text
    'wound 10% smaller since 01 Oct (reassess under 20% in 4 weeks)'
    """
    weeks, share = policy["stall_weeks"], policy["stall_share"]
    if not areas_cm2:
        return None
    *earlier, (day, now) = areas_cm2
    before = [(then, area) for then, area in earlier if day - then >= timedelta(weeks=weeks)]
    if not before:
        return None
    then, first = before[-1]
    smaller = 1 - now / first if first else 0.0
    if smaller >= share:
        return None
    way = "{change:.0%} smaller" if smaller >= 0 else "{change:.0%} larger"
    return Said(
        "wound {way} since {day} {month} (reassess under {share:.0%} in {weeks:g} weeks)",
        {
            "way": Said(way, {"change": abs(smaller)}),
            "day": f"{then:%d}",
            "month": Said(month_abbr[then.month]),
            "share": share,
            "weeks": weeks,
        },
        "stalled",
    )


def arterial_due(decision: LegDecision) -> Said | None:
    """The first thing that a rule about the arteries asks to be measured.

    What to do about it stands on the visit page; here is said what is due.

    Parameters
    ----------
    decision : LegDecision
        Of the leg, as of today.

    Returns
    -------
    Said or None
        None where there is nothing to say.

    Examples
    --------
    >>> from gaiter.core.safety import decide
    >>> from gaiter.core.safety.rule import Scene
    >>> from gaiter.files.policy_file import shipped_policy
    >>> known = Scene.where({"leg.arterial.toe_mmhg": 45}, shipped_policy()).case
    >>> arterial_due(decide(known, shipped_policy()).legs["left"]) is None
    False
    """
    for reason in decision.reasons:
        rule = RULES.get(reason.code)
        if rule is None or rule.subject is not Subject.ARTERIES:
            continue
        if reason.kind is RuleKind.FIRST or _TEST_DAY in rule.reads:
            return reason.matter
    return None


def above_maximum(read_mmhg: float, maximum_mmhg: float) -> Said | None:
    """That a sensor read more than a leg may bear.

    Parameters
    ----------
    read_mmhg, maximum_mmhg : float
        What was read, and the plan's maximum at the gaiter [mmHg].

    Returns
    -------
    Said or None
        None where there is nothing to say.

    Examples
    --------
    >>> above_maximum(44, 40).text
    'sensor read 44 mmHg, above the maximum 40'
    """
    if read_mmhg <= maximum_mmhg:
        return None
    return Said(
        "sensor read {read:g} mmHg, above the maximum {maximum:g}",
        {"read": read_mmhg, "maximum": maximum_mmhg},
        "above_maximum",
    )
