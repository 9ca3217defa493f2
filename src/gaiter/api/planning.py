"""From a case to a decision and a plan, in one call each."""

import os
from collections.abc import Iterable

from gaiter.api.given import Given, document_from, policy_from
from gaiter.api.planned import PlannedCase
from gaiter.core.case import Case, SafetyCase
from gaiter.core.plan import DEFAULT_SEED, SAMPLES
from gaiter.core.plan import plan as make_plan
from gaiter.core.policy import Policy
from gaiter.core.safety import SafetyDecision, decide
from gaiter.files.catalogue_file import shipped_catalogue


def plan(
    case: Case | Given,
    *,
    policy: Policy | str | os.PathLike[str] | None = None,
    seed: int = DEFAULT_SEED,
    samples: int = SAMPLES,
    systems: Iterable[str] | None = None,
) -> PlannedCase:
    """The bandaging plan for every leg of a case.

    A leg that may not be compressed carries the reason instead of a bandage: ask its ``status``
    before its tables.

    Parameters
    ----------
    case : Case, str, path or mapping
        ``gaiter.case/1`` as a path (str or Path), TOML or JSON text, a mapping as such a text
        parses, or the record.
    policy : Policy, str, path or None
        The clinic's own policy file, laid over the shipped one; None: the shipped one.
    seed, samples : int
        Seed and size (a power of two) of the spread; the same give the same plan.
    systems : iterable of str or None
        Names of the only bandage systems to plan; None: every one.

    Returns
    -------
    PlannedCase

    Raises
    ------
    InputError
        With every problem in words: what, the allowed range with its unit, what was received.

    Examples
    --------
    >>> import gaiter
    >>> planned = gaiter.plan("examples/inner-ankle-ulcer.toml")
    >>> leg = planned.legs["right"]
    >>> leg.headline
    'Full: aim 30–50, likely 37, never above 60 mmHg at the gaiter'
    >>> leg.system().title
    'Three layers with long-stretch elastic bandage'
    """
    made = make_plan(
        document_from(case, Case, "case"),
        policy_from(policy),
        shipped_catalogue(),
        seed=seed,
        samples=samples,
        systems=None if systems is None else frozenset(systems),
    )
    return PlannedCase(made)


def safety(
    case: SafetyCase | Given, *, policy: Policy | str | os.PathLike[str] | None = None
) -> SafetyDecision:
    """Whether each leg may be compressed, what is aimed at and what is never exceeded.

    Needs no girth, height, bandager or stock; what is not known is asked for, never assumed.

    Parameters
    ----------
    case : SafetyCase, str, path or mapping
        Whatever is known, as for :func:`gaiter.plan`.
    policy : Policy, str, path or None
        The clinic's own policy file, laid over the shipped one; None: the shipped one.

    Returns
    -------
    SafetyDecision
        Plain data; ``legs["right"].outcome`` and its reasons, each with its source.

    Raises
    ------
    InputError
        With every problem in words.

    Examples
    --------
    >>> import gaiter
    >>> decision = gaiter.safety("examples/suspected-clot.toml")
    >>> [leg.outcome.value for leg in decision.legs.values()]
    ['stop and refer']
    """
    return decide(document_from(case, SafetyCase, "case"), policy_from(policy))
