"""A prescriber sets soft stops aside, in writing; a hard stop stays whatever is written."""

from collections.abc import Iterable

from gaiter.core.case import Override
from gaiter.core.safety.reason import Kind, Reason
from gaiter.core.safety.wording import fire


def overridden(reasons: Iterable[Reason], override: Override, largest_mmhg: float) -> list[Reason]:
    """The reasons with the named soft stops turned into cautions, and a cap of their own.

    Parameters
    ----------
    reasons : iterable of Reason
        Every rule that fired.
    override : Override
        What the prescriber set aside, and up to what pressure.
    largest_mmhg : float
        Largest pressure that policy leaves after an override [mmHg].

    Returns
    -------
    list[Reason]
        Unchanged where the override names no soft stop that fired.
    """
    given = list(reasons)
    aside = {r.code for r in given if r.kind is Kind.SOFT_STOP and r.code in override.codes}
    if not aside:
        return given
    kept = [
        reason.model_copy(
            update={"kind": Kind.CAUTION, "text": f"Set aside by {override.by}: {reason.text}"}
        )
        if reason.code in aside
        else reason
        for reason in given
    ]
    cap = fire(
        "override",
        cap_mmhg=min(override.maximum_mmhg, largest_mmhg),
        by=override.by,
        reason=override.reason.value,
        words=override.words,
    )
    return [*kept, cap]
