"""How answers carry over to the next visit, and which of them one press may answer."""

from collections.abc import Mapping
from functools import cache

from gaiter.core.safety.rule import Carry
from gaiter.core.safety.rules import RULES

# Answers that no rule needs or reads, but that count on their day only.
_OF_THE_DAY = frozenset({"leg.findings.pitting_grade"})
_WHOLE_TEST = ("arms.", "leg.arterial.")
# What "none present" means where it is not a plain no.
_NONE_PRESENT: Mapping[str, str | int] = {
    "leg.findings.clot.state": "none",
    "leg.findings.infection": "none",
    "leg.findings.bypass": "none",
    "leg.findings.wound": "none",
    "person.heart_failure_class": 0,
    "person.weight_gain_kg": 0,
}


@cache
def carry_of(path: str) -> Carry:
    """How the answer at a path carries over; arterial tests stay whole and are not asked here.

    Parameters
    ----------
    path : str
        Of the question (``person.`` or ``leg.``).

    Returns
    -------
    Carry

    Examples
    --------
    >>> carry_of("leg.findings.new_pain") is Carry.AFRESH
    True
    """
    if path in _OF_THE_DAY:
        return Carry.DAY
    needing = {rule.carry for rule in RULES.values() if path in rule.needs}
    reading = {rule.carry for rule in RULES.values() if path in rule.reads}
    known = needing or reading or {Carry.STAYS}
    return next(carry for carry in Carry if carry in known)


@cache
def screen_paths() -> tuple[str, ...]:
    """Every question that the rules need, in the order they are asked; arteries apart.

    Returns
    -------
    tuple[str, ...]

    Examples
    --------
    >>> "leg.findings.gangrene" in screen_paths(), "leg.arterial.toe_mmhg" in screen_paths()
    (True, False)
    """
    return tuple(
        dict.fromkeys(
            path
            for rule in RULES.values()
            for path in rule.needs
            if not path.startswith(_WHOLE_TEST)
        )
    )


@cache
def one_press_paths() -> frozenset[str]:
    """Questions that "asked all of these, none present" may answer.

    Never arteries, feeling in the foot, whether pain can be reported, or the pain itself.

    Returns
    -------
    frozenset[str]
        Some of :func:`screen_paths`.

    Examples
    --------
    >>> "leg.findings.gangrene" in one_press_paths(), "leg.findings.pain_now" in one_press_paths()
    (True, False)
    """
    return frozenset(
        path
        for path in screen_paths()
        if all(rule.one_press for rule in RULES.values() if path in rule.needs)
    )


def none_present(path: str) -> str | int | bool:
    """Answer that one press gives at a path.

    Parameters
    ----------
    path : str
        One of :func:`one_press_paths`.

    Returns
    -------
    str, int or bool

    Examples
    --------
    >>> none_present("leg.findings.gangrene"), none_present("leg.findings.infection")
    (False, 'none')
    """
    return _NONE_PRESENT.get(path, False)
