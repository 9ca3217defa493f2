"""The two-level clot score for deep vein thrombosis."""

from gaiter.core.case import ClotSigns

# Wells et al. 2003, NEJM 349:1227: two or more points make a clot likely.
LIKELY_FROM = 2
ALTERNATIVE_POINTS = -2


def clot_score(signs: ClotSigns) -> int:
    """Points of the two-level score, -2 to 9.

    The 1997 version (surgery within four weeks, no earlier clot, three levels) is another score;
    the two are not mixed here.

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
    return sum(ticked.values()) + (ALTERNATIVE_POINTS if alternative else 0)


def clot_likely(signs: ClotSigns) -> bool:
    """Whether the score makes a clot likely."""
    return clot_score(signs) >= LIKELY_FROM
