"""One leg: purpose, tape measurements, arterial numbers, findings and wound."""

from collections.abc import Sequence
from enum import StrEnum
from itertools import pairwise
from typing import Annotated, Self

from pydantic import Field, model_validator

from gaiter.core.case.findings import Arterial, Findings, Wound, WoundPlace
from gaiter.core.case.record import Record, measured
from gaiter.core.landmark import Landmark


class Purpose(StrEnum):
    """What the bandage is for; it decides the target range."""

    VENOUS_ULCER = "venous ulcer"
    OEDEMA = "oedema"
    MIXED_DISEASE = "mixed disease"
    FIRST_DAYS = "first days"
    MAINTENANCE = "maintenance"
    PALLIATIVE = "palliative"
    SUPPORT = "support"


class Girths(Record):
    """What a tape reads round each landmark."""

    metatarsal_heads: Annotated[
        float | None, measured("Girth at the metatarsal heads", 15, 45, "cm")
    ] = None
    instep: Annotated[float | None, measured("Girth at the instep", 15, 50, "cm")] = None
    heel_instep: Annotated[float | None, measured("Girth round heel and instep", 20, 65, "cm")] = (
        None
    )
    ankle: Annotated[float, measured("Girth at the ankle, the smallest", 13, 60, "cm")]
    gaiter: Annotated[
        float | None, measured("Girth where calf muscle turns to tendon", 14, 75, "cm")
    ] = None
    calf: Annotated[float, measured("Girth at the calf, the largest", 18, 95, "cm")]
    below_knee: Annotated[float, measured("Girth just under the tibial tuberosity", 18, 90, "cm")]

    def at(self, landmark: Landmark) -> float | None:
        """Girth at a landmark [cm], None where it was not taken."""
        value: float | None = getattr(self, landmark.value)
        return value


class Positions(Record):
    """Height above the floor; for metatarsal heads and instep, distance from the heel's back."""

    metatarsal_heads: Annotated[
        float | None, measured("Back of the heel to the metatarsal heads", 9, 29, "cm")
    ] = None
    instep: Annotated[float | None, measured("Back of the heel to the instep", 7, 24, "cm")] = None
    ankle: Annotated[float, measured("Height of the smallest ankle girth", 6, 20, "cm")]
    gaiter: Annotated[float | None, measured("Height of the gaiter girth", 10, 33, "cm")] = None
    calf: Annotated[float, measured("Height of the largest calf girth", 18, 48, "cm")]
    below_knee: Annotated[float, measured("Height just under the knee", 24, 62, "cm")]

    def at(self, landmark: Landmark) -> float | None:
        """Position of a landmark [cm], None where it was not taken or has none."""
        value: float | None = getattr(self, landmark.value, None)
        return value


class OverrideReason(StrEnum):
    """Why a prescriber sets a soft stop aside."""

    SPECIALIST_AGREED = "specialist agreed"
    SHARED_DECISION = "shared decision with the patient"
    BENEFIT_OUTWEIGHS = "benefit outweighs the risk"
    FINDING_EXPLAINED = "the finding has another explanation"


class Override(Record):
    """Soft stops that a prescriber sets aside for this leg on this day, and up to what pressure.

    A hard stop is never set aside. The pressure is the prescriber's own, up to the policy's
    reduced maximum.
    """

    codes: Annotated[tuple[str, ...], Field(min_length=1, description="Codes of the soft stops")]
    maximum_mmhg: Annotated[
        float,
        measured("Maximum pressure at the gaiter that is allowed all the same", 5, 50, "mmHg"),
    ]
    reason: OverrideReason
    words: Annotated[
        str, Field(min_length=10, max_length=2000, description="In the prescriber's words")
    ]
    by: Annotated[str, Field(min_length=1, max_length=80, description="The prescriber")]


class Leg(Record):
    """One limb of one person."""

    purpose: Purpose
    foot_length_cm: Annotated[
        float | None, measured("Back of the heel to the longest toe", 15, 38, "cm")
    ] = None
    girth_cm: Girths
    position_cm: Positions
    arterial: Arterial = Arterial()
    findings: Findings = Findings()
    wound: Wound | None = None
    override: Override | None = None
    previous_level_mmhg: Annotated[
        float | None, measured("Maximum approved before and tolerated", 5, 80, "mmHg")
    ] = None

    @model_validator(mode="after")
    def _possible(self) -> Self:
        girth, position, amputated = (
            self.girth_cm,
            self.position_cm,
            self.findings.forefoot_amputation,
        )
        if amputated and girth.metatarsal_heads is not None:
            raise ValueError(
                "girth_cm.metatarsal_heads is given on a foot with forefoot_amputation: "
                "leave it out and give girth_cm.instep, the most distal place left"
            )
        if amputated and girth.instep is None:
            raise ValueError(
                "girth_cm.instep is required after a forefoot amputation: measure it in cm at "
                "the most distal place left"
            )
        if not amputated and girth.metatarsal_heads is None:
            raise ValueError(
                "girth_cm.metatarsal_heads is required: measure it in cm, 15 to 45 cm, "
                "or set findings.forefoot_amputation"
            )
        if girth.ankle > girth.calf:
            raise ValueError(
                f"girth_cm.ankle must be at most the calf's {girth.calf:g} cm; received "
                f"{girth.ankle:g} cm: were ankle and calf swapped?"
            )
        if amputated:
            _require_no_toes(self)
        ball_cm, foot_cm = position.metatarsal_heads, self.foot_length_cm
        if ball_cm is not None and foot_cm is not None and ball_cm >= foot_cm:
            raise ValueError(
                f"position_cm.metatarsal_heads must be less than foot_length_cm, {foot_cm:g} cm; "
                f"received {ball_cm:g} cm: measure both again"
            )
        _require_rising(
            "position_cm",
            [
                (landmark, position.at(landmark))
                for landmark in (
                    Landmark.ANKLE,
                    Landmark.GAITER,
                    Landmark.CALF,
                    Landmark.BELOW_KNEE,
                )
            ],
        )
        _require_rising(
            "position_cm",
            [
                (landmark, position.at(landmark))
                for landmark in (Landmark.INSTEP, Landmark.METATARSAL_HEADS)
            ],
        )
        return self


def _require_no_toes(leg: Leg) -> None:
    """After a forefoot amputation nothing can have been found at a toe."""
    if leg.arterial.toe_mmhg is not None:
        raise ValueError(
            "arterial.toe_mmhg is given on a foot with forefoot_amputation: leave it out, or "
            "give arterial.tcpo2_mmhg"
        )
    if leg.wound is not None and leg.wound.place is WoundPlace.TOE:
        raise ValueError(
            "wound.place is 'toe' on a foot with forefoot_amputation: correct one of them"
        )


def _require_rising(table: str, places: Sequence[tuple[Landmark, float | None]]) -> None:
    """Heights up the leg and distances from the heel must rise in order."""
    known = [(landmark, value) for landmark, value in places if value is not None]
    for (below, low), (above, high) in pairwise(known):
        if high <= low:
            raise ValueError(
                f"{table}.{above.value} must be more than {table}.{below.value}, {low:g} cm; "
                f"received {high:g} cm: measure both again"
            )
