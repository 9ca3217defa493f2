"""Reasons: what a safety rule says when it fires."""

from enum import StrEnum

from pydantic import BaseModel, ConfigDict


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
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    code: str
    kind: RuleKind
    text: str
    cap_mmhg: float | None = None
    source: str
    strength: str
    disagreement: str | None = None
