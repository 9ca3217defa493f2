"""What was found on one leg. A field left out was *not looked at*, never taken as absent."""

from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from gaiter.core.case.fields import Day, answered, measured
from gaiter.core.errors import InputError
from gaiter.core.record import Record
from gaiter.core.words import Said


class Waveform(StrEnum):
    """Doppler waveform at the foot arteries."""

    TRIPHASIC = "triphasic"
    BIPHASIC = "biphasic"
    MONOPHASIC = "monophasic"
    ABSENT = "absent"


class Arterial(Record):
    """Arterial numbers of one leg, with how they were taken."""

    dorsalis_pedis_mmhg: Annotated[
        float | None,
        measured("Ankle systolic pressure at the dorsalis pedis", 20, 300, "mmHg"),
    ] = None
    posterior_tibial_mmhg: Annotated[
        float | None,
        measured("Ankle systolic pressure at the posterior tibial", 20, 300, "mmHg"),
    ] = None
    toe_mmhg: Annotated[float | None, measured("Toe systolic pressure", 5, 250, "mmHg")] = None
    tcpo2_mmhg: Annotated[
        float | None,
        measured("Transcutaneous oxygen pressure at the foot", 1, 120, "mmHg"),
    ] = None
    waveform: Annotated[
        Waveform | None, Field(description="Doppler waveform at the better foot artery")
    ] = None
    measured_on: Annotated[Day | None, Field(description="Day of the arterial test")] = None
    rested_min: Annotated[float | None, measured("Time rested before measuring", 0, 240, "min")] = (
        None
    )
    lying_flat: Annotated[bool | None, answered("Lying flat while measured")] = None


class ClotState(StrEnum):
    """Deep vein thrombosis in this leg."""

    NONE = "none"
    SUSPECTED = "suspected"
    CONFIRMED = "confirmed"
    TREATED = "treated"


class ClotSigns(Record):
    """Items of the two-level clot score (Wells et al. 2003, NEJM 349:1227)."""

    active_cancer: Annotated[
        bool | None, answered("Cancer treated within 6 months, or palliative care")
    ] = None
    paralysis_or_plaster: Annotated[
        bool | None, answered("Paralysis, weakness or recent plaster of the leg")
    ] = None
    bedridden_or_surgery: Annotated[
        bool | None, answered("In bed for 3 days or more, or major surgery within 12 weeks")
    ] = None
    tender_deep_veins: Annotated[bool | None, answered("Tender along the deep veins")] = None
    whole_leg_swollen: Annotated[bool | None, answered("Whole leg swollen")] = None
    calf_3_cm_larger: Annotated[
        bool | None,
        answered("Calf at least 3 cm larger than the other, 10 cm below the tibial tuberosity"),
    ] = None
    pitting_only_this_leg: Annotated[bool | None, answered("Pitting only in this leg")] = None
    collateral_veins: Annotated[
        bool | None, answered("Collateral superficial veins that are not varicose")
    ] = None
    previous_clot: Annotated[bool | None, answered("Documented clot before")] = None
    other_diagnosis_as_likely: Annotated[
        bool | None, answered("Another diagnosis at least as likely (takes 2 points off)")
    ] = None


class LegSign(StrEnum):
    """Signs of a clot that are seen on the leg; each may be old and unchanged."""

    TENDER_DEEP_VEINS = "tender_deep_veins"
    WHOLE_LEG_SWOLLEN = "whole_leg_swollen"
    CALF_3_CM_LARGER = "calf_3_cm_larger"
    PITTING_ONLY_THIS_LEG = "pitting_only_this_leg"
    COLLATERAL_VEINS = "collateral_veins"


class OldSigns(Record):
    """Since when a sign on the leg is unchanged; left out: new, worse, or of unknown age."""

    tender_deep_veins: Annotated[
        Day | None, Field(description="Tender along the deep veins: old, unchanged since")
    ] = None
    whole_leg_swollen: Annotated[
        Day | None, Field(description="Whole leg swollen: old, unchanged since")
    ] = None
    calf_3_cm_larger: Annotated[
        Day | None, Field(description="Calf 3 cm larger: old, unchanged since")
    ] = None
    pitting_only_this_leg: Annotated[
        Day | None, Field(description="Pitting only in this leg: old, unchanged since")
    ] = None
    collateral_veins: Annotated[
        Day | None, Field(description="Collateral veins: old, unchanged since")
    ] = None


class Clot(Record):
    """What is known of a clot in this leg."""

    state: Annotated[ClotState | None, Field(description="Deep vein clot in this leg")] = None
    anticoagulated: Annotated[bool | None, answered("Treated with an anticoagulant")] = None
    signs: ClotSigns = ClotSigns()
    old_signs: OldSigns = OldSigns()


class ToeColour(StrEnum):
    """Colour of the toes against the other foot; on dark skin of nail bed and sole."""

    SAME = "same"
    PALER = "paler"
    WHITE = "white"
    BLUER = "bluer"
    GREYER = "greyer"
    REDDER = "redder"


class Toes(Record):
    """The toes as looked at on the day, before bandaging: the baseline of the check."""

    colour: Annotated[
        ToeColour | None,
        Field(description="Toe colour against the other foot (nail bed and sole on dark skin)"),
    ] = None
    refill: Annotated[
        Literal["within 2 to 3 seconds", "slower"] | None,
        Field(description="Colour back after a press"),
    ] = None
    warmth: Annotated[Literal["warm", "cool", "cold"] | None, Field(description="Toes feel")] = None
    feeling: Annotated[
        Literal["every toe", "some toes", "no toe"] | None,
        Field(description="Touch is felt on"),
    ] = None
    movement: Annotated[
        Literal["every toe", "some toes", "no toe"] | None, Field(description="Moves")
    ] = None


class Infection(StrEnum):
    """Infection of the leg or the wound."""

    NONE = "none"
    LOCAL = "local"
    SPREADING = "spreading"


class LegShape(StrEnum):
    """Shape seen by eye."""

    ORDINARY = "ordinary"
    INVERTED_BOTTLE = "inverted bottle"
    COLUMN = "column"
    DEEP_FOLDS = "deep folds"


class Bypass(StrEnum):
    """Arterial bypass graft in this leg."""

    NONE = "none"
    SUPERFICIAL = "superficial"
    DEEP = "deep"


class Findings(Record):
    """Symptoms and signs of one leg."""

    rest_pain: Annotated[bool | None, answered("Pain of the foot at rest, worse lying")] = None
    new_pain: Annotated[bool | None, answered("New pain since the last visit")] = None
    colour_change: Annotated[bool | None, answered("New change of colour of the toes or foot")] = (
        None
    )
    acute_ischaemia: Annotated[
        bool | None,
        answered("Cold, white or blue, pulseless, numb or weak of a sudden"),
    ] = None
    temperature_change: Annotated[
        bool | None, answered("Foot colder or hotter than at the last visit")
    ] = None
    claudication: Annotated[
        bool | None, answered("Calf pain on walking that stops on standing still")
    ] = None
    toes: Toes = Toes()
    pain_now: Annotated[
        int | None,
        measured("Pain now, 0 to 10; as shown, when the person cannot say", 0, 10, "of 10"),
    ] = None
    wound: Annotated[
        Literal["none", "leg", "foot"] | None, Field(description="Wound on this leg or foot")
    ] = None
    gangrene: Annotated[bool | None, answered("Black or dead tissue")] = None
    sepsis: Annotated[
        bool | None, answered("Unwell with infection: fever, fast pulse or breathing, confusion")
    ] = None
    infection: Annotated[Infection | None, Field(description="Infection of leg or wound")] = None
    antibiotics_started: Annotated[
        bool | None, answered("Antibiotics started for this infection")
    ] = None
    clot: Clot = Clot()
    superficial_phlebitis: Annotated[
        bool | None, answered("Hot, tender, hard superficial vein")
    ] = None
    septic_phlebitis: Annotated[bool | None, answered("Infected vein")] = None
    massive_blue_swelling: Annotated[
        bool | None, answered("Massive, painful, blue swelling of the whole leg")
    ] = None
    bypass: Annotated[Bypass | None, Field(description="Bypass graft in this leg")] = None
    bypass_route: Annotated[str | None, Field(max_length=200)] = None
    stent: Annotated[bool | None, answered("Arterial stent in this leg")] = None
    absent_monofilament_sites: Annotated[
        int | None,
        measured("Sites that do not feel the 10 g filament, of three", 0, 3, "sites"),
    ] = None
    necrosis_risk: Annotated[
        bool | None,
        answered("Disease of the small vessels with risk of necrosis"),
    ] = None
    skin_fragile: Annotated[
        bool | None, answered("Fragile skin: thin, torn, or long on steroids")
    ] = None
    skin_weeping: Annotated[bool | None, answered("Weeping skin")] = None
    skin_eczema: Annotated[bool | None, answered("Eczema")] = None
    vasculitis_suspected: Annotated[
        bool | None, answered("Vasculitis or pyoderma gangrenosum suspected")
    ] = None
    malignancy_suspected: Annotated[
        bool | None, answered("Malignancy suspected, or an atypical place")
    ] = None
    shape: LegShape | None = None
    pitting_grade: Annotated[int | None, measured("Pitting", 0, 4, "grade")] = None
    ankle_stiff: Annotated[bool | None, answered("Stiff ankle: the calf pump works poorly")] = None
    forefoot_amputation: Annotated[bool | None, answered("Forefoot with all toes amputated")] = None
    foot_collapsed: Annotated[bool | None, answered("Arch of the foot collapsed")] = None
    sprain: Annotated[bool | None, answered("Sprain or tendinitis")] = None
    worse: Annotated[
        bool | None, answered("Worse since the last visit: wound, swelling, fluid or skin")
    ] = None

    @model_validator(mode="after")
    def _not_contradictory(self) -> Self:
        if self.infection is Infection.NONE and self.antibiotics_started:
            raise InputError(
                "infection is 'none' but antibiotics_started is true: "
                "name the infection or leave antibiotics_started out"
            )
        if self.bypass is Bypass.NONE and self.bypass_route:
            raise InputError("bypass is 'none' but bypass_route is given: correct one of them")
        return self


class WoundPlace(StrEnum):
    """Where the wound lies."""

    INNER_ANKLE = "inner ankle"
    OUTER_ANKLE = "outer ankle"
    GAITER = "gaiter"
    SHIN = "shin"
    CALF = "calf"
    ACHILLES = "Achilles tendon"
    HEEL = "heel"
    TOP_OF_FOOT = "top of foot"
    SOLE = "sole"
    TOE = "toe"


FOOT_WOUNDS = (WoundPlace.HEEL, WoundPlace.TOP_OF_FOOT, WoundPlace.SOLE, WoundPlace.TOE)


_OPPOSITE = (
    (WoundPlace.INNER_ANKLE, "outer"),
    (WoundPlace.OUTER_ANKLE, "inner"),
    (WoundPlace.SHIN, "back"),
    (WoundPlace.CALF, "front"),
    (WoundPlace.ACHILLES, "front"),
)


class Wound(Record):
    """One wound of this leg, the one that decides."""

    place: WoundPlace
    side: Literal["inner", "outer", "front", "back"] | None = None
    length_cm: Annotated[float | None, measured("Length", 0.1, 60, "cm")] = None
    width_cm: Annotated[float | None, measured("Width", 0.1, 60, "cm")] = None
    duration_weeks: Annotated[float | None, measured("Duration", 0, 3000, "weeks")] = None
    exudate: Literal["none", "light", "moderate", "heavy"] | None = None
    dressing_thickness_mm: Annotated[
        float | None, measured("Thickness of the dressing under the bandage", 0, 40, "mm")
    ] = None
    over_bone: Annotated[
        bool | None, answered("Over an ankle bone, the shin's crest or the Achilles tendon")
    ] = None
    friable: Annotated[bool | None, answered("Skin round the wound tears easily")] = None

    @model_validator(mode="after")
    def _not_contradictory(self) -> Self:
        if (self.place, self.side) in _OPPOSITE:
            raise InputError(
                Said(
                    "place is '{place}' but side is '{side}': correct one of them",
                    {"place": Said(self.place.value), "side": Said(str(self.side))},
                )
            )
        return self
