"""What is aimed at at the gaiter: a range, beside the maximum that is never exceeded."""

from pydantic import BaseModel, ConfigDict

from gaiter.core.case import Override, Purpose
from gaiter.core.policy import Policy, TargetRule


class Aim(BaseModel):
    """Target range at the gaiter [mmHg].

    Attributes
    ----------
    low_mmhg, high_mmhg : float
        The range aimed at.
    source : str
        Why this range.
    offered_low : bool
        Whether a lower start takes the place of the purpose's own range.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    low_mmhg: float
    high_mmhg: float
    source: str
    offered_low: bool = False

    @property
    def words(self) -> str:
        """The range as pages and papers print it.

        >>> Aim(low_mmhg=20, high_mmhg=30, source="an example").words
        '20–30'
        """
        return f"{self.low_mmhg:g}–{self.high_mmhg:g}"


def aim_under(
    purpose: Purpose,
    maximum_mmhg: float,
    policy: Policy,
    *,
    lower_start: bool = False,
    override: Override | None = None,
) -> Aim | None:
    """Range aimed at for a purpose under a maximum; None where no range of the policy fits.

    Where the purpose's own range reaches above the maximum, the strongest range of the policy
    that does not is taken: a leg is treated as hard as is safe, never harder. A prescriber's own
    aim, written with a stop that was set aside, comes before the policy's.

    Parameters
    ----------
    purpose : Purpose
        What the bandage is for.
    maximum_mmhg : float
        Maximum at the gaiter [mmHg].
    policy : Policy
        Local policy.
    lower_start : bool
        Whether the range of the first days is offered before the purpose's own.
    override : Override or None
        The stop set aside with the lowest maximum.
    """
    if override is not None:
        high = min(override.aim_high_mmhg, maximum_mmhg)
        if override.aim_low_mmhg >= high:
            return None
        return Aim(low_mmhg=override.aim_low_mmhg, high_mmhg=high, source=f"set by {override.by}")
    wanted, name = policy.targets[purpose], purpose
    first = policy.targets[Purpose.FIRST_DAYS]
    starts_low = lower_start and first.gaiter_high_mmhg < wanted.gaiter_high_mmhg
    if starts_low:
        wanted, name = first, Purpose.FIRST_DAYS
    if wanted.gaiter_high_mmhg <= maximum_mmhg:
        source = f"lower start: {wanted.source}" if starts_low else wanted.source
        return _aim(wanted, source, starts_low)
    milder = {
        other: target
        for other, target in policy.targets.items()
        if target.gaiter_high_mmhg <= min(maximum_mmhg, wanted.gaiter_high_mmhg)
    }
    if not milder:
        return None
    taken = max(milder, key=lambda other: milder[other].gaiter_low_mmhg)
    source = (
        f"{name} asks for {wanted.gaiter_low_mmhg:g}–{wanted.gaiter_high_mmhg:g} mmHg; under a "
        f"maximum of {maximum_mmhg:g} mmHg the range for {taken} is taken ({milder[taken].source})"
    )
    return _aim(milder[taken], source, starts_low)


def _aim(target: TargetRule, source: str, offered_low: bool) -> Aim:
    return Aim(
        low_mmhg=target.gaiter_low_mmhg,
        high_mmhg=target.gaiter_high_mmhg,
        source=source,
        offered_low=offered_low,
    )
