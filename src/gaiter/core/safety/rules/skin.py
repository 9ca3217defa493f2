"""Skin, shape of the leg, and the wound."""

from gaiter.core.case import LegShape
from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import (
    AUSTRALIA,
    FIRES,
    GUIDELINE,
    IMMEDIATE,
    MEMORY,
    Carry,
    Effect,
    Fields,
    Rule,
    Scene,
    Subject,
    finding,
)
from gaiter.core.words import Said


def _shape(scene: Scene) -> Fields | None:
    shape = scene.leg.findings.shape
    return None if shape in (None, LegShape.ORDINARY) else {"shape": Said(shape.value)}


def _foot_wound(scene: Scene) -> Fields | None:
    return FIRES if scene.leg.wound_on_foot else None


def _over_bone(scene: Scene) -> Fields | None:
    wound = scene.leg.wound
    return FIRES if wound is not None and wound.over_bone else None


def _lower_start(scene: Scene) -> Fields | None:
    """Fragile or first-time legs start low, unless the full range was chosen."""
    leg = scene.leg
    fragile = bool(leg.findings.skin_fragile or (leg.wound is not None and leg.wound.friable))
    first = leg.tolerated_mmhg is None
    if leg.start == "full" or not (fragile or first or leg.start == "low"):
        return None
    return {
        "why": Said("fragile skin" if fragile else "no pressure is known to be tolerated yet"),
    }


def _caution(code: str, text: str, source: str, strength: str) -> Rule:
    return Rule(
        code, Subject.SKIN, RuleKind.CAUTION, text, source, strength,
        when=finding(code), reads=(f"leg.findings.{code}",),
    )  # fmt: skip


RULES = (
    Rule(
        "foot_wound", Subject.SKIN, RuleKind.CAUTION,
        "Wound on the foot: foot service or vascular team should know; take the load off.",
        IMMEDIATE, GUIDELINE,
        when=_foot_wound, needs=("leg.findings.wound",), reads=("leg.wound.place",),
        carry=Carry.STAYS, red_flag=True, one_press=True,
    ),
    Rule(
        "lower_start", Subject.SKIN, RuleKind.CAUTION,
        "Start low ({why}): the lower range is offered first, and the full one when it was borne; "
        "the prescriber may choose the full range at once.",
        "Therapeutic Guidelines Australia (start lower and step up)", GUIDELINE,
        when=_lower_start, reads=("leg.findings.skin_fragile", "leg.wound.friable"),
        effects=frozenset({Effect.START_LOW}), carry=Carry.STAYS,
    ),
    _caution(
        "skin_fragile",
        "Fragile skin: more padding, no shear, nothing adhesive on the skin.",
        AUSTRALIA, GUIDELINE,
    ),
    _caution(
        "skin_weeping",
        "Weeping skin: treat the eczema under the bandage and change more often.",
        "dermatology practice", MEMORY,
    ),
    _caution(
        "skin_eczema",
        "Eczema: zinc paste under the bandage can help; test for allergy first.",
        "Nursing Times, medicated bandages", "review",
    ),
    _caution(
        "ankle_stiff",
        "Stiff ankle: healing is slower; ankle exercises or physiotherapy.",
        "Chaby et al. 2013, Br J Dermatol 169:1106", "one study",
    ),
    Rule(
        "shape", Subject.SKIN, RuleKind.CAUTION,
        "Leg shape ({shape}): the plan builds it up with wool where it needs a cone.",
        AUSTRALIA, GUIDELINE,
        when=_shape, reads=("leg.findings.shape",), carry=Carry.STAYS,
    ),
    Rule(
        "wound_over_bone", Subject.SKIN, RuleKind.CAUTION,
        "Wound over bone: extra padding round and over it.",
        AUSTRALIA, GUIDELINE,
        when=_over_bone, reads=("leg.wound.over_bone",), carry=Carry.STAYS,
    ),
)  # fmt: skip
