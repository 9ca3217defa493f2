"""The two-level clot score for deep vein thrombosis, and which signs count in it."""

from collections.abc import Mapping
from datetime import date

from gaiter.core.case import Clot, ClotSigns, LegSign

# Wells et al. 2003, NEJM 349:1227: two or more points make a clot likely.
LIKELY_FROM = 2
ALTERNATIVE_POINTS = -2


def clot_score(signs: ClotSigns) -> int:
    """Points of the two-level score, -2 to 9; what was not looked at scores nothing.

    The 1997 version (surgery within four weeks, no earlier clot, three levels) is another score;
    the two are not mixed here.

    Parameters
    ----------
    signs : ClotSigns
        What was seen and asked.

    Returns
    -------
    int
        One point a sign; two less where another diagnosis is as likely.

    References
    ----------
    Wells PS et al. Evaluation of D-dimer in the diagnosis of suspected deep-vein thrombosis.
    N Engl J Med 2003;349:1227-1235.

    Examples
    --------
    >>> clot_score(ClotSigns(calf_3_cm_larger=True, pitting_only_this_leg=True))
    2
    """
    ticked = signs.model_dump()
    alternative = ticked.pop("other_diagnosis_as_likely")
    return sum(map(bool, ticked.values())) + (ALTERNATIVE_POINTS if alternative else 0)


def counting_signs(clot: Clot, today: date, within_days: float) -> ClotSigns:
    """The signs without those on the leg that are old and unchanged.

    Parameters
    ----------
    clot : Clot
        What is known of a clot.
    today : date
        Day of the visit.
    within_days : float
        A sign counts when it is new or worse within so many days, or of unknown age [days].

    Returns
    -------
    ClotSigns
        What was not looked at stays so.

    Examples
    --------
    >>> clot = Clot.model_validate({"signs": {"calf_3_cm_larger": True},
    ...                             "old_signs": {"calf_3_cm_larger": "2026-01-01"}})
    >>> counting_signs(clot, date(2026, 11, 25), 28).calf_3_cm_larger
    False
    >>> counting_signs(clot, date(2026, 1, 20), 28).calf_3_cm_larger
    True
    """
    old = {
        sign.value: False
        for sign, since in unchanged_since(clot).items()
        if (today - since).days > within_days
    }
    return clot.signs.model_copy(update=old)


def unchanged_since(clot: Clot) -> Mapping[LegSign, date]:
    """Signs on the leg that were found, with the day since which they are unchanged.

    Parameters
    ----------
    clot : Clot
        What is known of a clot.

    Returns
    -------
    Mapping[LegSign, date]

    Examples
    --------
    >>> clot = Clot.model_validate({"signs": {"calf_3_cm_larger": True},
    ...                             "old_signs": {"calf_3_cm_larger": "2026-01-01"}})
    >>> {sign.value: f"{day:%d %b %Y}" for sign, day in unchanged_since(clot).items()}
    {'calf_3_cm_larger': '01 Jan 2026'}
    """
    since = {sign: getattr(clot.old_signs, sign.value) for sign in LegSign}
    return {
        sign: day
        for sign, day in since.items()
        if day is not None and getattr(clot.signs, sign.value)
    }


def on_the_leg(signs: ClotSigns) -> bool:
    """Whether any sign is seen on the leg; without one the score says nothing.

    Parameters
    ----------
    signs : ClotSigns
        What was seen and asked.

    Returns
    -------
    bool

    References
    ----------
    Wells PS et al. N Engl J Med 2003;349:1227-1235 (items of the score); that risks alone say
    nothing is our choice.

    Examples
    --------
    >>> on_the_leg(ClotSigns(calf_3_cm_larger=True)), on_the_leg(ClotSigns(active_cancer=True))
    (True, False)
    """
    return any(getattr(signs, sign.value) for sign in LegSign)


def most_possible(signs: ClotSigns) -> ClotSigns:
    """The signs with every risk that was not asked about taken as present.

    Parameters
    ----------
    signs : ClotSigns
        What was seen and asked.

    Returns
    -------
    ClotSigns
        Signs on the leg, and another diagnosis, stay as they were.

    References
    ----------
    Wells PS et al. N Engl J Med 2003;349:1227-1235 (items of the score); that what was not asked
    counts is our choice.

    Examples
    --------
    >>> most_possible(ClotSigns()).active_cancer
    True
    >>> most_possible(ClotSigns(active_cancer=False)).active_cancer
    False
    """
    risks = {
        name: True
        for name, value in signs.model_dump().items()
        if value is None and name not in {*LegSign, "other_diagnosis_as_likely"}
    }
    return signs.model_copy(update=risks)
