"""Reasons: what a safety rule says when it fires."""

from enum import StrEnum

from pydantic import BaseModel, ConfigDict


class Kind(StrEnum):
    """What a reason does to the decision."""

    HARD_STOP = "hard stop"
    SOFT_STOP = "soft stop"
    MEASURE = "measure first"
    CAP = "cap"
    CAUTION = "caution"
    FLAG = "flag"


class Reason(BaseModel):
    """One rule that fired.

    A hard stop cannot be overridden here; a soft stop can, by a prescriber, with a written
    reason. ``measure first`` leaves at most ``cap_mmhg`` until it is answered (null: nothing).
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    code: str
    kind: Kind
    text: str
    cap_mmhg: float | None = None
    source: str
    strength: str
    disagreement: str | None = None
