"""A case: one person, one or two legs, one day, everything the core needs to know."""

from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import ConfigDict, Field, model_validator

from gaiter.core.case.fields import Day, answered
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
    LegSign,
    OldSigns,
    ToeColour,
    Toes,
    Waveform,
    Wound,
    WoundPlace,
)
from gaiter.core.case.leg import (
    Girths,
    Leg,
    MeasuredLeg,
    Override,
    OverrideReason,
    Positions,
    Provisional,
    Purpose,
    SafetyLeg,
)
from gaiter.core.case.leg_reading import LegReading
from gaiter.core.case.person import (
    Allergen,
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
    SiteOffset,
    StockItem,
    Training,
)
from gaiter.core.errors import FieldError, InputError
from gaiter.core.landmark import Side
from gaiter.core.record import Record
from gaiter.core.words import Said

__all__ = [
    "FOOT_WOUNDS",
    "Allergen",
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
    "LegReading",
    "LegShape",
    "LegSign",
    "MeasuredLeg",
    "Mobility",
    "OldSigns",
    "Override",
    "OverrideReason",
    "Person",
    "Positions",
    "Provisional",
    "Purpose",
    "Remainder",
    "SafetyCase",
    "SafetyLeg",
    "Sex",
    "SiteOffset",
    "StockItem",
    "ToeColour",
    "Toes",
    "Training",
    "Waveform",
    "Wound",
    "WoundPlace",
]


class SafetyCase(Record):
    """Whatever is known of one person on one day; enough for the safety decision.

    A ``gaiter.case/1`` document with any part but the sides left out.
    """

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
    legs: Annotated[Mapping[Side, SafetyLeg], Field(min_length=1)]
    stock: Annotated[
        Mapping[str, StockItem] | None,
        Field(description="By catalogue key; left out: the whole catalogue, and the plan says so"),
    ] = None
    bandager: Bandager | None = None
    calibration: Annotated[
        Calibration | None,
        Field(description="What the clinic's own sensor taught; replaces the policy's remainder"),
    ] = None

    @model_validator(mode="after")
    def _no_day_to_come(self) -> Self:
        for side, leg in self.legs.items():
            days = {"arterial.measured_on": leg.arterial.measured_on}
            old = leg.findings.clot.old_signs
            days |= {f"findings.clot.old_signs.{sign}": getattr(old, sign) for sign in LegSign}
            days |= {
                f"sensor_readings.{number}.on": one.on
                for number, one in enumerate(leg.sensor_readings)
            }
            for name, day in days.items():
                if day is not None and day > self.today:
                    raise FieldError(
                        f"legs.{side}.{name}",
                        Said(
                            "must be on or before today, {today}; received {day}: correct the date",
                            {"today": str(self.today), "day": str(day)},
                        ),
                    )
        return self


class Case(SafetyCase):
    """The whole document, ``gaiter.case/1``: everything that a plan needs."""

    legs: Annotated[Mapping[Side, Leg], Field(min_length=1)]
    bandager: Bandager

    @model_validator(mode="after")
    def _something_in_stock(self) -> Self:
        if self.stock is not None and not any(item.rolls for item in self.stock.values()):
            raise InputError(
                "stock must hold at least one roll of one material; received none: "
                "list what is in hand or leave [stock] out"
            )
        return self
