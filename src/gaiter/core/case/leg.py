"""One leg: purpose, tape measurements, arterial numbers, findings and wound."""

from collections.abc import Sequence
from enum import StrEnum
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import ConfigDict, Field, model_validator

from gaiter.core.case.at_landmarks import AtLandmarks
from gaiter.core.case.caliper import Depths, Widths, require_both
from gaiter.core.case.fields import Day, measured
from gaiter.core.case.findings import FOOT_WOUNDS, Arterial, Findings, Wound, WoundPlace
from gaiter.core.case.leg_reading import LegReading
from gaiter.core.errors import FieldError, InputError
from gaiter.core.landmark import FOOT_SITES, LEG_SITES, Landmark
from gaiter.core.record import Record
from gaiter.core.words import Said


class Purpose(StrEnum):
    """What the bandage is for; it decides the target range."""

    VENOUS_ULCER = "venous ulcer"
    OEDEMA = "oedema"
    MIXED_DISEASE = "mixed disease"
    FIRST_DAYS = "first days"
    MAINTENANCE = "maintenance"
    PALLIATIVE = "palliative"
    SUPPORT = "support"


class KnownGirths(AtLandmarks):
    """What a tape read round each landmark, as far as it was taken."""

    metatarsal_heads: Annotated[
        float | None, measured("Girth at the metatarsal heads", 15, 45, "cm")
    ] = None
    instep: Annotated[float | None, measured("Girth at the instep", 15, 50, "cm")] = None
    heel_instep: Annotated[float | None, measured("Girth round heel and instep", 20, 65, "cm")] = (
        None
    )
    ankle: Annotated[float | None, measured("Girth at the ankle, the smallest", 13, 60, "cm")] = (
        None
    )
    gaiter: Annotated[
        float | None, measured("Girth where calf muscle turns to tendon", 14, 75, "cm")
    ] = None
    calf: Annotated[float | None, measured("Girth at the calf, the largest", 18, 95, "cm")] = None
    below_knee: Annotated[
        float | None, measured("Girth just under the tibial tuberosity", 18, 90, "cm")
    ] = None


class Girths(KnownGirths):
    """What a tape reads round each landmark; these three are needed to plan."""

    ankle: Annotated[float, measured("Girth at the ankle, the smallest", 13, 60, "cm")]
    calf: Annotated[float, measured("Girth at the calf, the largest", 18, 95, "cm")]
    below_knee: Annotated[float, measured("Girth just under the tibial tuberosity", 18, 90, "cm")]


class KnownPositions(AtLandmarks):
    """Height above the floor; for metatarsal heads and instep, distance from the heel's back."""

    metatarsal_heads: Annotated[
        float | None, measured("Back of the heel to the metatarsal heads", 9, 29, "cm")
    ] = None
    instep: Annotated[float | None, measured("Back of the heel to the instep", 7, 24, "cm")] = None
    ankle: Annotated[float | None, measured("Height of the smallest ankle girth", 6, 20, "cm")] = (
        None
    )
    gaiter: Annotated[float | None, measured("Height of the gaiter girth", 10, 33, "cm")] = None
    calf: Annotated[float | None, measured("Height of the largest calf girth", 18, 48, "cm")] = None
    below_knee: Annotated[float | None, measured("Height just under the knee", 24, 62, "cm")] = None


class Positions(KnownPositions):
    """Heights and distances; these three are needed to plan."""

    ankle: Annotated[float, measured("Height of the smallest ankle girth", 6, 20, "cm")]
    calf: Annotated[float, measured("Height of the largest calf girth", 18, 48, "cm")]
    below_knee: Annotated[float, measured("Height just under the knee", 24, 62, "cm")]


class OverrideReason(StrEnum):
    """Why a prescriber sets a soft stop aside."""

    SPECIALIST_AGREED = "specialist agreed"
    SHARED_DECISION = "shared decision with the patient"
    BENEFIT_OUTWEIGHS = "benefit outweighs the risk"
    FINDING_EXPLAINED = "the finding has another explanation"


class Override(Record):
    """One soft stop that a prescriber sets aside for this leg on this day, and what then holds.

    A hard stop is never set aside. Aim and maximum are the prescriber's own, up to the policy's
    reduced maximum.
    """

    # Blanks are no words and no name.
    model_config = ConfigDict(str_strip_whitespace=True)

    code: Annotated[str, Field(min_length=1, max_length=60, description="Code of the soft stop")]
    aim_low_mmhg: Annotated[float, measured("Low end of the range aimed at", 5, 60, "mmHg")]
    aim_high_mmhg: Annotated[float, measured("High end of the range aimed at", 5, 60, "mmHg")]
    maximum_mmhg: Annotated[
        float,
        measured("Maximum pressure at the gaiter that is allowed all the same", 5, 60, "mmHg"),
    ]
    reason: OverrideReason
    words: Annotated[
        str, Field(min_length=10, max_length=2000, description="In the prescriber's words")
    ]
    by: Annotated[str, Field(min_length=1, max_length=80, description="The prescriber")]
    vascular_by: Annotated[
        str | None, Field(max_length=80, description="Vascular specialist who decided, by name")
    ] = None
    vascular_on: Annotated[Day | None, Field(description="Day of the vascular decision")] = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.aim_low_mmhg < self.aim_high_mmhg <= self.maximum_mmhg:
            raise InputError(
                Said(
                    "aim_low_mmhg, aim_high_mmhg and maximum_mmhg must rise in this order; "
                    "received {low:g}, {high:g} and {maximum:g} mmHg: correct them",
                    {
                        "low": self.aim_low_mmhg,
                        "high": self.aim_high_mmhg,
                        "maximum": self.maximum_mmhg,
                    },
                )
            )
        return self


class Provisional(Record):
    """Local policy's provisional level, chosen while something has still to be asked or measured.

    A prescriber chooses it, or whoever acts on the clinic's standing order.
    """

    model_config = ConfigDict(str_strip_whitespace=True)

    by: Annotated[str, Field(min_length=1, max_length=80, description="Who chose it")]
    order: Annotated[
        str | None, Field(max_length=80, description="Prescriber of the standing order")
    ] = None
    words: Annotated[str, Field(min_length=10, max_length=2000, description="Why, in words")]


class SafetyLeg(Record):
    """Whatever is known of one limb of one person; enough for the safety decision."""

    purpose: Purpose | None = None
    foot_length_cm: Annotated[
        float | None, measured("Back of the heel to the longest toe", 15, 38, "cm")
    ] = None
    girth_cm: KnownGirths = KnownGirths()
    position_cm: KnownPositions = KnownPositions()
    width_cm: Widths = Widths()
    depth_cm: Depths = Depths()
    arterial: Arterial = Arterial()
    findings: Findings = Findings()
    wound: Wound | None = None
    start: Annotated[
        Literal["low", "full"] | None,
        Field(description="Lower start, or the full range at once; left out: the lower one first"),
    ] = None
    overrides: Annotated[
        tuple[Override, ...], Field(description="Soft stops set aside, one by one")
    ] = ()
    provisional: Provisional | None = None
    tolerated_mmhg: Annotated[
        float | None,
        measured("Likely pressure at the gaiter applied and tolerated before", 5, 80, "mmHg"),
    ] = None
    sensor_readings: Annotated[
        tuple[LegReading, ...],
        Field(max_length=40, description="Sensor values on earlier bandages of this leg"),
    ] = ()

    @model_validator(mode="after")
    def _set_aside_once(self) -> Self:
        codes = [override.code for override in self.overrides]
        for code in codes:
            if codes.count(code) > 1:
                raise InputError(
                    Said(
                        "overrides: {code} is set aside twice: keep one, with one maximum",
                        {"code": code},
                    )
                )
        return self

    @property
    def has_wound(self) -> bool:
        """Whether a wound was said or described.

        Returns
        -------
        bool

        Examples
        --------
        >>> SafetyLeg(findings={"wound": "leg"}).has_wound, SafetyLeg().has_wound
        (True, False)
        """
        return self.wound is not None or self.findings.wound in ("leg", "foot")

    @property
    def wound_on_foot(self) -> bool:
        """Whether a wound was said or described on the foot.

        Returns
        -------
        bool

        Examples
        --------
        >>> SafetyLeg(wound={"place": "heel"}).wound_on_foot
        True
        """
        described = self.wound is not None and self.wound.place in FOOT_WOUNDS
        return described or self.findings.wound == "foot"


class MeasuredLeg(SafetyLeg):
    """A limb as it was measured; what its bandage is for may still be open."""

    girth_cm: Girths
    position_cm: Positions

    @model_validator(mode="after")
    def _possible(self) -> Self:
        girth, position, amputated = (
            self.girth_cm,
            self.position_cm,
            self.findings.forefoot_amputation,
        )
        if amputated and girth.metatarsal_heads is not None:
            raise FieldError(
                "girth_cm.metatarsal_heads",
                Said(
                    "is given on a foot with forefoot_amputation: leave it out and give "
                    "girth_cm.instep, the most distal place left"
                ),
            )
        if amputated and girth.instep is None:
            raise FieldError(
                "girth_cm.instep",
                Said(
                    "is required after a forefoot amputation: measure it in cm at the most distal "
                    "place left"
                ),
                missing=True,
            )
        if not amputated and girth.metatarsal_heads is None:
            raise FieldError(
                "girth_cm.metatarsal_heads",
                Said(
                    "is required: measure it in cm, 15 to 45 cm, or set "
                    "findings.forefoot_amputation"
                ),
                missing=True,
            )
        if girth.ankle > girth.calf:
            raise FieldError(
                "girth_cm.ankle",
                Said(
                    "must be at most the calf's {calf:g} cm; received {ankle:g} cm: were ankle "
                    "and calf swapped?",
                    {"calf": girth.calf, "ankle": girth.ankle},
                ),
            )
        if amputated:
            _require_no_toes(self)
        require_both(self.width_cm, self.depth_cm)
        ball_cm, foot_cm = position.metatarsal_heads, self.foot_length_cm
        if ball_cm is not None and foot_cm is not None and ball_cm >= foot_cm:
            raise FieldError(
                "position_cm.metatarsal_heads",
                Said(
                    "must be less than foot_length_cm, {foot:g} cm; received {ball:g} cm: measure "
                    "both again",
                    {"foot": foot_cm, "ball": ball_cm},
                ),
            )
        _require_rising(
            "position_cm",
            [(landmark, position.at(landmark)) for landmark in LEG_SITES],
        )
        _require_rising(
            "position_cm",
            [(landmark, position.at(landmark)) for landmark in reversed(FOOT_SITES)],
        )
        return self


class Leg(MeasuredLeg):
    """One limb of one person, measured."""

    purpose: Purpose


def _require_no_toes(leg: MeasuredLeg) -> None:
    """After a forefoot amputation nothing can have been found at a toe."""
    if leg.arterial.toe_mmhg is not None:
        raise FieldError(
            "arterial.toe_mmhg",
            Said(
                "is given on a foot with forefoot_amputation: leave it out, or give "
                "arterial.tcpo2_mmhg"
            ),
        )
    if leg.wound is not None and leg.wound.place is WoundPlace.TOE:
        raise FieldError(
            "wound.place",
            Said("is 'toe' on a foot with forefoot_amputation: correct one of them"),
        )


def _require_rising(table: str, places: Sequence[tuple[Landmark, float | None]]) -> None:
    """Heights up the leg and distances from the heel must rise in order."""
    known = [(landmark, value) for landmark, value in places if value is not None]
    for (below, low), (above, high) in pairwise(known):
        if high <= low:
            raise FieldError(
                f"{table}.{above.value}",
                Said(
                    "must be more than {below}, {low:g} cm; received {high:g} cm: measure both "
                    "again",
                    {"below": f"{table}.{below.value}", "low": low, "high": high},
                ),
            )
