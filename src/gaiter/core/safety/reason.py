"""Reasons: what a safety rule says when it fires."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from gaiter.core.errors import InputError
from gaiter.core.words import Said, Value


class RuleKind(StrEnum):
    """What a reason does to the decision, gravest first."""

    HARD_STOP = "hard stop"
    SOFT_STOP = "soft stop"
    FIRST = "ask or measure first"
    CAP = "cap"
    CAUTION = "caution"
    FLAG = "flag"


class Reason(BaseModel):
    """One rule that fired.

    A hard stop is never set aside here; a soft stop can be, by a prescriber, one by one and in
    writing. *Ask or measure first* leaves nothing until it is answered.

    Attributes
    ----------
    code : str
        Name of its rule.
    text : str
        What it says, in English: the template with its values.
    template, values
        What it says, for the catalogue of another language; empty in plans made before there
        were templates.
    cap_mmhg : float or None
        Pressure that it leaves [mmHg].
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    code: str
    kind: RuleKind
    text: str
    cap_mmhg: float | None = None
    source: str
    strength: str
    disagreement: str | None = None
    template: str = Field(default="", exclude_if=lambda template: not template)
    values: Mapping[str, Value] = Field(default_factory=dict, exclude_if=lambda values: not values)

    @model_validator(mode="after")
    def _says_what_its_template_says(self) -> Self:
        if self.template and self.said.text != self.text:
            raise InputError(
                Said(
                    "{code} must say what its template and values say, {said}; received {text}: "
                    "plan anew",
                    {"code": self.code, "said": repr(self.said.text), "text": repr(self.text)},
                )
            )
        return self

    @property
    def said(self) -> Said:
        """What it says, for any language.

        Returns
        -------
        Said
            As it was written where a plan has no template.

        Examples
        --------
        >>> Reason(code="toe_pressure", kind=RuleKind.HARD_STOP, source="an example",
        ...        strength="an example", text="Toe pressure 25 mmHg: no compression.").said.code
        'toe_pressure'
        """
        return Said(self.template or self.text, self.values, self.code)

    @property
    def matter(self) -> Said:
        """What is the matter, without what to do: all before the first colon.

        Returns
        -------
        Said

        Examples
        --------
        >>> Reason(code="toe_pressure", kind=RuleKind.HARD_STOP, source="an example",
        ...        strength="an example", text="Toe pressure 25 mmHg: no compression.").matter.text
        'Toe pressure 25 mmHg'
        """
        return Said((self.template or self.text).split(": ")[0], self.values, self.code)
