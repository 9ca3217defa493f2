"""A prescriber sets soft stops aside, one by one and in writing; a hard stop stays."""

from collections.abc import Sequence

from gaiter.core.case import Override
from gaiter.core.safety.reason import Reason, RuleKind
from gaiter.core.safety.rule import Scene
from gaiter.core.safety.rules import RULES
from gaiter.core.words import Said, Value

_SOURCE, _STRENGTH = "this record", "a prescriber's decision"
_SET_ASIDE = "Set aside by {by}: {what}"
_CAP = (
    "A prescriber set a stop aside ({stop}): aim {low:g}–{high:g}, never above {cap:g} mmHg, by "
    "{by}: {reason} ({words})."
)


def standing_overrides(reasons: Sequence[Reason], scene: Scene) -> tuple[Override, ...]:
    """Overrides that hold: of a soft stop that fired, with nothing missing that it asks first.

    Parameters
    ----------
    reasons : sequence of Reason
        Every rule that fired.
    scene : Scene
        The leg, with its overrides.

    Returns
    -------
    tuple[Override, ...]
        In the order they were written.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> standing_overrides([], Scene.where({}, shipped_policy()))
    ()
    """
    stops = {reason.code for reason in reasons if reason.kind is RuleKind.SOFT_STOP}
    return tuple(
        override
        for override in scene.leg.overrides
        if override.code in stops and not RULES[override.code].before_set_aside(scene)
    )


def with_overrides(
    reasons: Sequence[Reason], standing: Sequence[Override], scene: Scene
) -> list[Reason]:
    """The reasons with the stops set aside turned into cautions, and a cap for each.

    Parameters
    ----------
    reasons : sequence of Reason
        Every rule that fired.
    standing : sequence of Override
        Those of :func:`standing_overrides`.
    scene : Scene
        The leg.

    Returns
    -------
    list of Reason
        The reasons in their order, then the caps.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> from gaiter.core.safety.rule import Scene
    >>> with_overrides([], (), Scene.where({}, shipped_policy()))
    []
    """
    by_code = {override.code: override for override in standing}
    largest = scene.policy["reduced_maximum_mmhg"]
    kept, caps = [], []
    for reason in reasons:
        override = by_code.get(reason.code)
        if override is None:
            kept.append(reason)
            continue
        said = Said(_SET_ASIDE, {"by": override.by, "what": reason.said})
        kept.append(
            reason.model_copy(
                update={
                    "kind": RuleKind.CAUTION,
                    "text": said.text,
                    "template": said.template,
                    "values": said.values,
                }
            )
        )
        caps.append(_cap(override, min(override.maximum_mmhg, largest)))
    return [*kept, *caps]


def _cap(override: Override, cap_mmhg: float) -> Reason:
    values: dict[str, Value] = {
        "stop": Said(override.code.replace("_", " ")),
        "low": override.aim_low_mmhg,
        "high": override.aim_high_mmhg,
        "cap": cap_mmhg,
        "by": override.by,
        "reason": Said(override.reason.value),
        "words": override.words,
    }
    return Reason(
        code="override",
        kind=RuleKind.CAP,
        text=Said(_CAP, values).text,
        template=_CAP,
        values=values,
        cap_mmhg=cap_mmhg,
        source=_SOURCE,
        strength=_STRENGTH,
    )
