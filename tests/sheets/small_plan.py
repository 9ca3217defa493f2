"""A small plan written by hand, every number chosen so that its print can be worked out by hand."""

from datetime import date
from typing import Any

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.bandage.wool import Build
from gaiter.core.case.findings import WoundPlace
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Fit, LegPlan, Plan, Status, SystemPlan
from gaiter.core.plan.document import (
    CaseLabel,
    Layer,
    PaddingUnder,
    SpreadShare,
    Standing,
    Supply,
    SurfaceSummary,
    TargetRange,
    Versions,
)
from gaiter.core.plan.pressures import Bridged, Gap, PressurePoint, Profile, SitePressure
from gaiter.core.safety import LegDecision, Outcome, Reason, RuleKind
from gaiter.core.safety.arterial import ArterialNumbers
from gaiter.core.spread.draws import InputGroup


def wool(**changes: Any) -> Layer:
    """A layer that presses nothing: no stretch, no marks, no gauge."""
    return Layer(**{
        "number": 1, "material": "wool", "title": "Wool", "width_cm": 10.0,
        "pattern": Pattern.SPIRAL, "leg_width_cm": None, "overlap": 0.5, "stretch_percent": 0.0,
        "mark_spacing_cm": None, "foot_stretch_percent": None, "turns": 12, "length_cm": 320.0,
        "relaxed_length_cm": 320.0, "rolls": 2, "spare_cm": 80.0, "presses": False,
        "tensions_n_per_cm": None, **changes,
    })  # fmt: skip


def elastic(**changes: Any) -> Layer:
    """Marks 10 cm apart at a stretch of 50 % stand 15 cm apart; at 30 % on the foot, 13 cm."""
    return Layer(**{
        "number": 2, "material": "elastic", "title": "Elastic", "width_cm": 8.0,
        "pattern": Pattern.HERRINGBONE, "leg_width_cm": 10.0, "overlap": 0.75,
        "stretch_percent": 50.0, "mark_spacing_cm": 15.0, "foot_stretch_percent": 30.0,
        "foot_mark_spacing_cm": 13.0, "turns": 17, "length_cm": 600.0,
        "relaxed_length_cm": 400.0, "rolls": 1, "joins": ("over the shin",), "spare_cm": 50.0,
        "presses": True, "tensions_n_per_cm": (1.0, 1.2), "note": "wash cold", **changes,
    })  # fmt: skip


def site(landmark: Landmark, girth_cm: float, median: float, **changes: Any) -> SitePressure:
    return SitePressure(**{
        "landmark": landmark, "girth_cm": girth_cm, "thicknesses": 2.0, "ring_mean_mmhg": median,
        "median_mmhg": median, "low_mmhg": median - 7.6, "high_mmhg": median + 9.7,
        "target_low_mmhg": 30.0, "target_high_mmhg": 40.0, "chance_in_range": 0.634,
        "chance_above_maximum": 0.004, "maximum_mmhg": 60.0, **changes,
    })  # fmt: skip


def point(place: str, **changes: Any) -> PressurePoint:
    return PressurePoint(**{
        "place": place, "median_mmhg": 71.6, "high_mmhg": 98.4, "maximum_mmhg": 120.0,
        "padding_mm": 10.0, "bare_high_mmhg": 143.2, **changes,
    })  # fmt: skip


def system(**changes: Any) -> SystemPlan:
    return SystemPlan(**{
        "name": "two layers", "title": "Two layers", "outcome": Fit.FITS,
        "outcome_reason": "every site in its range", "reasons_for": ("simple (trial 2019)",),
        "padding": PaddingUnder(
            even_cm=0.3, layer_cm=0.3, build=Build.EVEN, end=Landmark.BELOW_KNEE,
            start=Landmark.INSTEP, text="Wool once all over", extra_turns=0,
        ),
        "layers": (wool(), elastic()),
        "sites": (
            site(Landmark.ANKLE, 22.46, 38.4),
            site(Landmark.GAITER, 27.0, 34.5, target_low_mmhg=None, target_high_mmhg=None,
                 chance_in_range=None, chance_above_maximum=0.0, maximum_mmhg=None),
        ),
        "chance_every_site_in_range": 0.571,
        "profile": Profile(s_cm=(0.0,), median_mmhg=(0.0,), low_mmhg=(0.0,), high_mmhg=(0.0,)),
        "spread_from": (
            SpreadShare(source=InputGroup.STRETCH, percent=61.0),
            SpreadShare(source=InputGroup.TAPE, percent=4.0),
        ),
        "pressure_points": (point("outer ankle"), point("shin", padding_mm=None, exceeds=True)),
        "bridged": (Bridged(place="behind the ankle", area_cm2=4.0, depth_mm=7.6),),
        "gaps": (Gap(place="heel", area_cm2=2.4, fault=True),
                 Gap(place="sole", area_cm2=3.6, fault=False)),
        "wrinkle_risk": ("turn 3, instep", "turn 3, heel", "turn 4, heel"),
        "pads_mm": {"outer ankle": 10.0},
        "standing": Standing(
            pressure_mmhg=52.4, girth_rise_cm=0.5, static_stiffness_mmhg=18.0, stiff=True,
            per_cm_mmhg=36.0,
        ),
        "change_days": 2, "change_reason": "first bandage: look within two days",
        "supplies": (Supply(material="wool", title="Wool", now="2 rolls", week="4 rolls"),),
        **changes,
    })  # fmt: skip


CAP = Reason(
    code="cap", kind=RuleKind.CAP, text="Never above 40.", cap_mmhg=40.0, source="Guideline",
    strength="consensus", disagreement="others say 30",
)  # fmt: skip
CAUTION = Reason(
    code="skin", kind=RuleKind.CAUTION, text="Fragile skin.", source="Practice", strength="weak"
)


def decision(**changes: Any) -> LegDecision:
    return LegDecision(**{
        "outcome": Outcome.FULL, "headline": "Full", "maximum_mmhg": 60.0, "limiting": ("cap",),
        "numbers": ArterialNumbers(
            arm_mmhg=130.0, ankle_mmhg=132.6, toe_mmhg=None, tcpo2_mmhg=None,
            ankle_brachial=1.02, toe_brachial=None, arm_difference_mmhg=None,
        ),
        "reasons": (CAP, CAUTION), **changes,
    })  # fmt: skip


def leg(**changes: Any) -> LegPlan:
    return LegPlan(**{
        "side": Side.RIGHT, "purpose": "venous ulcer", "status": Status.PLANNED,
        "status_reason": "planned", "decision": decision(),
        "target": TargetRange(gaiter_low_mmhg=30.0, gaiter_high_mmhg=40.0, source="Consensus"),
        "headline": "Aim 30–40 mmHg",
        "surface": SurfaceSummary(
            foot_length_cm=25.0, position_cm={}, start=Landmark.METATARSAL_HEADS,
            volume_ml=2345.6, estimated=("position_cm.calf",),
            girth_cm={Landmark.ANKLE: 22.46, Landmark.GAITER: 27.0}, s_cm={},
        ),
        "systems": (system(),), "wound_place": WoundPlace.INNER_ANKLE,
        "next_visit": date(2026, 12, 1), **changes,
    })  # fmt: skip


def plan(**changes: Any) -> Plan:
    """One planned right leg."""
    return Plan(**{
        "case": CaseLabel(reference="Heron Ford", allergies=("latex",)),
        "today": date(2026, 11, 9),
        "versions": Versions(
            gaiter="1.2.3", policy="Own policy 4", policy_sha256="0123456789abcdef",
            catalogue_sha256="fedcba9876543210",
        ),
        "seed": 7, "samples": 256, "theory_remainder": 0.8, "bandager": "trained",
        "legs": {Side.RIGHT: leg()}, **changes,
    })  # fmt: skip
