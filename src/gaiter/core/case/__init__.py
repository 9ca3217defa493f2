"""A case: one person, one or two legs, one day, everything the core needs to know."""

from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import ConfigDict, Field, model_validator

from gaiter.core.case.findings import (
    FOOT_WOUNDS,
    Arterial,
    Bypass,
    Clot,
    ClotSigns,
    ClotState,
    Findings,
    Infection,
    LegShape,
    Waveform,
    Wound,
    WoundPlace,
)
from gaiter.core.case.leg import Girths, Leg, Override, OverrideReason, Positions, Purpose
from gaiter.core.case.person import (
    Arms,
    Bandager,
    Calibration,
    Footwear,
    Habit,
    HabitAt,
    Mobility,
    Person,
    Remainder,
    Sex,
    StockItem,
    Training,
)
from gaiter.core.case.record import Day, Record, answered
from gaiter.core.landmark import Side

__all__ = [
    "FOOT_WOUNDS",
    "Arms",
    "Arterial",
    "Bandager",
    "Bypass",
    "Calibration",
    "Case",
    "Clot",
    "ClotSigns",
    "ClotState",
    "Findings",
    "Footwear",
    "Girths",
    "Habit",
    "HabitAt",
    "Infection",
    "Leg",
    "LegShape",
    "Mobility",
    "Override",
    "OverrideReason",
    "Person",
    "Positions",
    "Purpose",
    "Remainder",
    "Sex",
    "StockItem",
    "Training",
    "Waveform",
    "Wound",
    "WoundPlace",
]


class Case(Record):
    """The whole document, ``gaiter.case/1``."""

    model_config = ConfigDict(
        title="gaiter.case/1",
        extra="forbid",
        frozen=True,
        allow_inf_nan=False,
        populate_by_name=True,
    )

    document: Annotated[Literal["gaiter.case/1"], Field(alias="schema")]
    today: Annotated[Day, Field(description="The day of the visit; the core has no clock")]
    reference: Annotated[
        str | None,
        Field(max_length=80, description="Free label without a person's identity"),
    ] = None
    invented: Annotated[bool, answered("True for demo data; every output then says so")] = False
    person: Person = Person()
    arms: Arms = Arms()
    legs: Annotated[Mapping[Side, Leg], Field(min_length=1)]
    stock: Annotated[
        Mapping[str, StockItem] | None,
        Field(description="By catalogue key; left out: the whole catalogue, and the plan says so"),
    ] = None
    bandager: Bandager
    calibration: Annotated[
        Calibration | None,
        Field(description="What the clinic's own sensor taught; replaces the policy's remainder"),
    ] = None

    @model_validator(mode="after")
    def _possible(self) -> Self:
        for side, leg in self.legs.items():
            on = leg.arterial.measured_on
            if on is not None and on > self.today:
                raise ValueError(
                    f"legs.{side}.arterial.measured_on must be on or before today, "
                    f"{self.today}; received {on}: correct the date"
                )
        if self.stock is not None and not any(item.rolls for item in self.stock.values()):
            raise ValueError(
                "stock must hold at least one roll of one material; received none: "
                "list what is in hand or leave [stock] out"
            )
        return self
