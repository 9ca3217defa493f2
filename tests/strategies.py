"""Legs drawn from the published regressions, and cases to change one thing in."""

import copy
from typing import Any

import numpy as np
from hypothesis import strategies as st

from gaiter.core.case import Case
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.anthropometry import PUBLISHED
from gaiter.core.leg.completion import with_every_leg_site
from gaiter.core.leg.measurements import LegMeasurements

# Between ankle and calf the girth is level at both ends; see core/leg/completion.py.
_CALF_SHARE_OF_LEG, _KNEE_UNDER_TIBIA_CM, _BELOW_KNEE_OVER_CALF = 0.63, 6.0, 0.92


def random_leg(rng: np.random.Generator, sex: Sex) -> LegMeasurements:
    """A leg from the regressions of Gordon et al. 2014 with their residual scatter.

    Girth below the knee, instep and gaiter have no published value: assumptions as in the code.
    """
    group = PUBLISHED[sex]

    def drawn(distribution) -> float:
        return float(rng.normal(distribution.mean_cm, distribution.sd_cm))

    ankle = drawn(group.ankle_girth)

    def on_ankle(line) -> float:
        return float(rng.normal(line.at(ankle), line.residual_sd_cm))

    calf = max(on_ankle(group.calf_on_ankle), ankle * 1.2)
    ball = on_ankle(group.ball_girth_on_ankle)
    foot = drawn(group.foot_length)
    return _leg(
        foot=foot,
        ball=ball,
        heel=on_ankle(group.heel_ankle_on_ankle),
        ankle=ankle,
        calf=calf,
        ball_length=foot * group.ball_length.mean_cm / group.foot_length.mean_cm,
        malleolus=drawn(group.malleolus_height),
        tibia=drawn(group.tibial_height),
    )


def percentile_leg(sex: Sex, index: int) -> LegMeasurements:
    """Every published dimension at its 5th (0), 50th (1) or 95th (2) percentile."""
    group = PUBLISHED[sex]
    return _leg(
        foot=group.foot_length.percentiles_cm[index],
        ball=group.ball_girth.percentiles_cm[index],
        heel=group.heel_ankle_girth.percentiles_cm[index],
        ankle=group.ankle_girth.percentiles_cm[index],
        calf=group.calf_girth.percentiles_cm[index],
        ball_length=group.ball_length.percentiles_cm[index],
        malleolus=group.malleolus_height.percentiles_cm[index],
        tibia=group.tibial_height.percentiles_cm[index],
    )


def _leg(
    *,
    foot: float,
    ball: float,
    heel: float,
    ankle: float,
    calf: float,
    ball_length: float,
    malleolus: float,
    tibia: float,
) -> LegMeasurements:
    ankle_at, knee_at = malleolus + 4, tibia - _KNEE_UNDER_TIBIA_CM
    calf_at = ankle_at + _CALF_SHARE_OF_LEG * (tibia - 3 - ankle_at)
    way = 8 / (calf_at - ankle_at)
    gaiter = ankle + (calf - ankle) * way**2 * (3 - 2 * way)
    girths = {
        Landmark.METATARSAL_HEADS: ball,
        Landmark.INSTEP: 1.04 * ball,
        Landmark.HEEL_INSTEP: heel,
        Landmark.ANKLE: ankle,
        Landmark.GAITER: gaiter,
        Landmark.CALF: calf,
        Landmark.BELOW_KNEE: _BELOW_KNEE_OVER_CALF * calf,
    }
    places = {
        Landmark.METATARSAL_HEADS: ball_length,
        Landmark.INSTEP: 0.55 * foot,
        Landmark.ANKLE: ankle_at,
        Landmark.GAITER: ankle_at + 8,
        Landmark.CALF: calf_at,
        Landmark.BELOW_KNEE: knee_at,
    }
    estimated = (f"girth_cm.{Landmark.INSTEP}",)
    return with_every_leg_site(LegMeasurements(foot, girths, places, estimated=estimated))


@st.composite
def legs(draw: st.DrawFn) -> LegMeasurements:
    """Any leg of the published population."""
    seed = draw(st.integers(0, 10_000))
    return random_leg(np.random.default_rng(seed), draw(st.sampled_from(list(Sex))))


CLEAR_FINDINGS: dict[str, Any] = {
    "rest_pain": False,
    "new_pain": False,
    "colour_change": False,
    "temperature_change": False,
    "claudication": False,
    "acute_ischaemia": False,
    "gangrene": False,
    "sepsis": False,
    "necrosis_risk": False,
    "vasculitis_suspected": False,
    "malignancy_suspected": False,
    "superficial_phlebitis": False,
    "septic_phlebitis": False,
    "massive_blue_swelling": False,
    "infection": "none",
    "clot": {
        "state": "none",
        "signs": {
            "tender_deep_veins": False, "whole_leg_swollen": False, "calf_3_cm_larger": False,
            "pitting_only_this_leg": False, "collateral_veins": False,
        },
    },
    "bypass": "none",
    "stent": False,
    "absent_monofilament_sites": 0,
    "toes": {
        "colour": "same", "refill": "within 2 to 3 seconds", "warmth": "warm",
        "feeling": "every toe", "movement": "every toe",
    },
    "pain_now": 2,
    "wound": "none",
    "worse": False,
}  # fmt: skip

_CASE: dict[str, Any] = {
    "schema": "gaiter.case/1",
    "today": "2026-11-25",
    "invented": True,
    "person": {
        "age_years": 71,
        "sex": "female",
        "mobility": "walks",
        "diabetes": False,
        "kidney_disease": False,
        "rheumatoid_arthritis": False,
        "heart_failure_class": 0,
        "heart_failure_decompensated": False,
        "breathless_lying": False,
        "weight_gain_kg": 0,
        "can_report_pain": True,
        "allergies": [],
    },
    "arms": {"left_mmhg": 130, "right_mmhg": 130},
    "bandager": {"training": "trained"},
    "legs": {
        "right": {
            "purpose": "venous ulcer",
            "start": "full",
            "foot_length_cm": 25.0,
            "girth_cm": {
                "metatarsal_heads": 23.0, "instep": 24.0, "heel_instep": 32.0, "ankle": 22.5,
                "gaiter": 27.0, "calf": 37.0, "below_knee": 34.0,
            },
            "position_cm": {
                "metatarsal_heads": 18.5, "instep": 13.8, "ankle": 11.5, "gaiter": 19.0,
                "calf": 29.5, "below_knee": 38.0,
            },
            "arterial": {
                "dorsalis_pedis_mmhg": 135, "posterior_tibial_mmhg": 130, "waveform": "triphasic",
                "measured_on": "2026-11-20", "rested_min": 15, "lying_flat": True,
            },
            "findings": CLEAR_FINDINGS,
        }
    },
}  # fmt: skip


def case_mapping(**changes: Any) -> dict[str, Any]:
    """A healthy, complete case with dotted paths changed; a value of None removes the field.

    ``case_mapping(**{"legs.right.girth_cm.ankle": 30.0})``
    """
    mapping = copy.deepcopy(_CASE)
    for path, value in changes.items():
        *parents, last = path.split(".")
        table = mapping
        for parent in parents:
            table = table.setdefault(parent, {})
        if value is None:
            table.pop(last, None)
        else:
            table[last] = copy.deepcopy(value)
    return mapping


def case(**changes: Any) -> Case:
    """The same as a record."""
    return Case.model_validate(case_mapping(**changes))


def with_pressures(
    arm: float, ankle: float | None = None, toe: float | None = None, **changes: Any
) -> Case:
    """A case with both arms, the ankle and the toe at these pressures [mmHg]."""
    return case(
        **{
            "arms": {"left_mmhg": arm, "right_mmhg": arm},
            "legs.right.arterial.dorsalis_pedis_mmhg": ankle,
            "legs.right.arterial.posterior_tibial_mmhg": ankle,
            "legs.right.arterial.toe_mmhg": toe,
            **changes,
        }
    )
