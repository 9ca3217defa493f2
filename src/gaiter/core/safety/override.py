"""A prescriber sets soft stops aside, one by one and in writing; a hard stop stays."""

from collections.abc import Sequence

from gaiter.core.case import Override
from gaiter.core.safety.reason import Reason, RuleKind
from gaiter.core.safety.rule import Scene
from gaiter.core.safety.rules import RULES

_SOURCE, _STRENGTH = "this record", "a prescriber's decision"


def standing_overrides(reasons: Sequence[Reason], scene: Scene) -> tuple[Override, ...]:
    """Overrides that hold: of a soft stop that fired, with nothing missing that it asks first."""
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
    """
    by_code = {override.code: override for override in standing}
    largest = scene.policy["reduced_maximum_mmhg"]
    kept, caps = [], []
    for reason in reasons:
        override = by_code.get(reason.code)
        if override is None:
            kept.append(reason)
            continue
        text = f"Set aside by {override.by}: {reason.text}"
        kept.append(reason.model_copy(update={"kind": RuleKind.CAUTION, "text": text}))
        cap = min(override.maximum_mmhg, largest)
        caps.append(
            Reason(
                code="override",
                kind=RuleKind.CAP,
                text=(
                    f"A prescriber set a stop aside ({reason.code.replace('_', ' ')}): aim "
                    f"{override.aim_low_mmhg:g}–{override.aim_high_mmhg:g}, never above {cap:g} "
                    f"mmHg, by {override.by}: {override.reason.value} ({override.words})."
                ),
                cap_mmhg=cap,
                source=_SOURCE,
                strength=_STRENGTH,
            )
        )
    return [*kept, *caps]
