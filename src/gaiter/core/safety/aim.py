"""What is aimed at at the gaiter: a range, beside the maximum that is never exceeded."""

from collections.abc import Mapping
from typing import Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from gaiter.core.case import Override, Purpose
from gaiter.core.errors import InputError
from gaiter.core.policy import Policy
from gaiter.core.words import Said, Value


class Aim(BaseModel):
    """Target range at the gaiter [mmHg].

    Attributes
    ----------
    low_mmhg, high_mmhg : float
        The range aimed at.
    source : str
        Why this range, in English: the template with its values.
    offered_low : bool
        Whether a lower start takes the place of the purpose's own range.
    template, values
        Why this range, for the catalogue of another language; empty in plans made before there
        were templates.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    low_mmhg: float
    high_mmhg: float
    source: str
    offered_low: bool = False
    template: str = Field(default="", exclude_if=lambda template: not template)
    values: Mapping[str, Value] = Field(default_factory=dict, exclude_if=lambda values: not values)

    @model_validator(mode="after")
    def _says_what_its_template_says(self) -> Self:
        if self.template and self.said.text != self.source:
            raise InputError(
                Said(
                    "an aim must say what its template and values say, {said}; received "
                    "{source}: plan anew",
                    {"said": repr(self.said.text), "source": repr(self.source)},
                )
            )
        return self

    @property
    def said(self) -> Said:
        """Why this range, for any language.

        Returns
        -------
        Said
            As it was written where a plan has no template.

        Examples
        --------
        >>> Aim(low_mmhg=20, high_mmhg=30, source="an example").said.text
        'an example'
        """
        return Said(self.template or self.source, self.values, "aim")

    @property
    def words(self) -> str:
        """The range as pages and papers print it.

        Returns
        -------
        str
            Both ends [mmHg], without the unit.

        Examples
        --------
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

    Returns
    -------
    Aim or None

    References
    ----------
    The ranges and their sources stand in the policy (``targets``); ESVS 2022 asks for at least
    40 mmHg at the ankle for a venous ulcer, and for less where arteries are poor.

    Examples
    --------
    >>> from gaiter.files.policy_file import shipped_policy
    >>> aim_under(Purpose.VENOUS_ULCER, 60, shipped_policy()).words
    '30–50'
    >>> aim_under(Purpose.VENOUS_ULCER, 40, shipped_policy()).high_mmhg <= 40
    True
    >>> aim_under(Purpose.VENOUS_ULCER, 5, shipped_policy()) is None
    True
    """
    if override is not None:
        high = min(override.aim_high_mmhg, maximum_mmhg)
        if override.aim_low_mmhg >= high:
            return None
        return _aim(override.aim_low_mmhg, high, Said("set by {by}", {"by": override.by}))
    wanted, name = policy.targets[purpose], purpose
    first = policy.targets[Purpose.FIRST_DAYS]
    starts_low = lower_start and first.gaiter_high_mmhg < wanted.gaiter_high_mmhg
    if starts_low:
        wanted, name = first, Purpose.FIRST_DAYS
    if wanted.gaiter_high_mmhg <= maximum_mmhg:
        source = Said(wanted.source)
        if starts_low:
            source = Said("lower start: {source}", {"source": source})
        return _aim(wanted.gaiter_low_mmhg, wanted.gaiter_high_mmhg, source, starts_low)
    milder = {
        other: target
        for other, target in policy.targets.items()
        if target.gaiter_high_mmhg <= min(maximum_mmhg, wanted.gaiter_high_mmhg)
    }
    if not milder:
        return None
    taken = max(milder, key=lambda other: milder[other].gaiter_low_mmhg)
    source = Said(
        _MILDER,
        {
            "purpose": Said(name.value),
            "low": wanted.gaiter_low_mmhg,
            "high": wanted.gaiter_high_mmhg,
            "maximum": maximum_mmhg,
            "taken": Said(taken.value),
            "source": Said(milder[taken].source),
        },
    )
    return _aim(milder[taken].gaiter_low_mmhg, milder[taken].gaiter_high_mmhg, source, starts_low)


_MILDER = (
    "{purpose} asks for {low:g}–{high:g} mmHg; under a maximum of {maximum:g} mmHg the range for "
    "{taken} is taken ({source})"
)


def _aim(low_mmhg: float, high_mmhg: float, source: Said, offered_low: bool = False) -> Aim:
    return Aim(
        low_mmhg=low_mmhg,
        high_mmhg=high_mmhg,
        source=source.text,
        offered_low=offered_low,
        template=source.template,
        values=source.values,
    )
