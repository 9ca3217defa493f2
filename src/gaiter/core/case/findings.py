"""What was found on one leg. A field left out was *not looked at*, never taken as absent."""

from datetime import date
from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from gaiter.core.case.record import Record, measured


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
    waveform: Waveform | None = None
    measured_on: date | None = None
    rested_min: Annotated[float | None, measured("Time rested before measuring", 0, 240, "min")] = (
        None
    )
    lying_flat: bool | None = None


class ClotState(StrEnum):
    """Deep vein thrombosis in this leg."""

    NONE = "none"
    SUSPECTED = "suspected"
    CONFIRMED = "confirmed"
    TREATED = "treated"


class ClotSigns(Record):
    """Items of the two-level clot score (Wells et al. 2003, NEJM 349:1227)."""

    active_cancer: bool = False
    paralysis_or_plaster: bool = False
    bedridden_or_surgery: bool = False
    tender_deep_veins: bool = False
    whole_leg_swollen: bool = False
    calf_3_cm_larger: bool = False
    pitting_only_this_leg: bool = False
    collateral_veins: bool = False
    previous_clot: bool = False
    other_diagnosis_as_likely: bool = False


class Clot(Record):
    """What is known of a clot in this leg."""

    state: ClotState | None = None
    anticoagulated: bool | None = None
    signs: ClotSigns | None = None


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

    rest_pain: bool | None = None
    new_pain: bool | None = None
    colour_change: bool | None = None
    acute_ischaemia: Annotated[
        bool | None,
        Field(description="Cold, white or blue, pulseless, numb or weak of a sudden"),
    ] = None
    gangrene: bool | None = None
    sepsis: bool | None = None
    infection: Infection | None = None
    antibiotics_started: bool | None = None
    clot: Clot = Clot()
    superficial_phlebitis: bool | None = None
    septic_phlebitis: bool | None = None
    massive_blue_swelling: bool | None = None
    bypass: Bypass | None = None
    bypass_route: Annotated[str | None, Field(max_length=200)] = None
    stent: bool | None = None
    absent_monofilament_sites: Annotated[
        int | None,
        measured("Sites that do not feel the 10 g filament, of three", 0, 3, "sites"),
    ] = None
    necrosis_risk: Annotated[
        bool | None,
        Field(description="Disease of the small vessels with risk of necrosis"),
    ] = None
    skin_fragile: bool | None = None
    skin_weeping: bool | None = None
    skin_eczema: bool | None = None
    vasculitis_suspected: bool | None = None
    malignancy_suspected: bool | None = None
    shape: LegShape | None = None
    pitting_grade: Annotated[int | None, measured("Pitting", 0, 4, "grade")] = None
    ankle_stiff: bool | None = None
    forefoot_amputation: bool | None = None
    foot_collapsed: bool | None = None
    sprain: bool | None = None
    stable: Annotated[
        bool | None, Field(description="No change for the worse since the last visit")
    ] = None

    @model_validator(mode="after")
    def _not_contradictory(self) -> Self:
        if self.clot.state is ClotState.NONE and self.clot.signs is not None:
            signs = self.clot.signs.model_dump()
            ticked = [name for name, value in signs.items() if value]
            if ticked:
                raise ValueError(
                    f"clot.state is 'none' but clot.signs ticks {ticked[0]}: "
                    f"say 'suspected' or leave the signs out"
                )
        if self.infection is Infection.NONE and self.antibiotics_started:
            raise ValueError(
                "infection is 'none' but antibiotics_started is true: "
                "name the infection or leave antibiotics_started out"
            )
        if self.bypass is Bypass.NONE and self.bypass_route:
            raise ValueError("bypass is 'none' but bypass_route is given: correct one of them")
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
    over_bone: bool | None = None
    friable: bool | None = None
