"""Heart failure: decided for the person, before either leg."""

from gaiter.core.safety.reason import RuleKind
from gaiter.core.safety.rule import (
    AUSTRALIA,
    CONSENSUS,
    FIRES,
    GUIDELINE,
    MEMORY,
    RABE,
    Carry,
    Fields,
    Refer,
    Rule,
    Scene,
    Subject,
)
from gaiter.core.words import AND, Said, Several

_CLASS, _NOW = "person.heart_failure_class", "person.heart_failure_decompensated"
_LYING, _GAIN = "person.breathless_lying", "person.weight_gain_kg"
_OTHER = "person.other_leg_compressed"
_COHORT = "Int J Cardiol Heart Vasc 2024;50:101343"


def _gained(scene: Scene) -> float | None:
    """Weight gained that counts [kg]; None where it does not."""
    gain = scene.case.person.weight_gain_kg
    return gain if gain is not None and gain >= scene.policy["weight_gain_kg"] else None


def _class_3(scene: Scene) -> bool:
    return scene.case.person.heart_failure_class == 3


def _class_4(scene: Scene) -> Fields | None:
    return FIRES if scene.case.person.heart_failure_class == 4 else None


def _decompensated(scene: Scene) -> Fields | None:
    return FIRES if scene.case.person.heart_failure_decompensated else None


def _decompensating(scene: Scene) -> Fields | None:
    """Class III with one sign of fluid, or anybody with both."""
    signs, gain = [], _gained(scene)
    if scene.case.person.breathless_lying:
        signs.append(Said("breathless lying flat"))
    if gain is not None:
        signs.append(Said("{gain:g} kg heavier within a week", {"gain": gain}))
    enough = len(signs) == 2 or (_class_3(scene) and signs)
    return {"signs": Several(tuple(signs), AND)} if enough else None


def _class_3_cap(scene: Scene) -> Fields | None:
    return {"cap": scene.policy["reduced_maximum_mmhg"]} if _class_3(scene) else None


def _both_legs(scene: Scene) -> Fields | None:
    both = len(scene.case.legs) > 1 or scene.case.person.other_leg_compressed
    return FIRES if _class_3(scene) and both else None


def _other_not_said(scene: Scene) -> Fields | None:
    unknown = len(scene.case.legs) == 1 and scene.case.person.other_leg_compressed is None
    return FIRES if _class_3(scene) and unknown else None


def _class_1_2(scene: Scene) -> Fields | None:
    grade = scene.case.person.heart_failure_class
    return {"grade": "I" if grade == 1 else "II"} if grade in (1, 2) else None


def _breathless(scene: Scene) -> Fields | None:
    return FIRES if scene.case.person.breathless_lying else None


def _weight(scene: Scene) -> Fields | None:
    gain = _gained(scene)
    return None if gain is None else {"gain": gain, "limit": scene.policy["weight_gain_kg"]}


RULES = (
    Rule(
        "heart_failure_class_4", Subject.HEART, RuleKind.HARD_STOP,
        "Heart failure class IV: do not compress. Call the heart team today.",
        RABE, CONSENSUS,
        when=_class_4, needs=(_CLASS,), danger="heart failure class IV", carry=Carry.STAYS,
        refer=Refer.HEART, of_person=True, red_flag=True, one_press=True,
    ),
    Rule(
        "heart_failure_decompensated", Subject.HEART, RuleKind.HARD_STOP,
        "Heart failure decompensated: do not compress. Call the heart team today.",
        RABE, CONSENSUS,
        when=_decompensated, needs=(_NOW,), danger="heart failure decompensated",
        refer=Refer.HEART, of_person=True, red_flag=True, one_press=True,
    ),
    Rule(
        "heart_decompensating", Subject.HEART, RuleKind.HARD_STOP,
        "The heart is failing: {signs}. Do not compress either leg. Speak to the heart team or "
        "the doctor in charge today; breathless at rest, call the emergency number.",
        f"{RABE}; which signs make it so is our choice", CONSENSUS,
        when=_decompensating, needs=(_LYING,), reads=(_CLASS, _GAIN),
        danger="heart failure getting worse", refer=Refer.HEART, of_person=True, red_flag=True,
        one_press=True,
    ),
    Rule(
        "heart_failure_class_3_both_legs", Subject.HEART, RuleKind.SOFT_STOP,
        "Heart failure class III and both legs planned: bandage one leg first, reduced, with the "
        "heart team watching. Plan one leg, or the prescriber decides.",
        RABE, CONSENSUS,
        when=_both_legs, needs=(_CLASS,), reads=(_OTHER,), danger="heart failure, both legs",
        carry=Carry.STAYS, refer=Refer.HEART, of_person=True, red_flag=True, one_press=True,
        disagreement="Multilayer bandages on both legs raised right-atrial pressure in class "
        f"III-IV (Urbanek 2020 review); 86 stable patients over a month had no adverse event "
        f"({_COHORT}).",
    ),
    Rule(
        "heart_other_leg_not_said", Subject.HEART, RuleKind.FIRST,
        "Heart failure class III: say whether the other leg is compressed as well.",
        RABE, CONSENSUS,
        when=_other_not_said, reads=(_CLASS, _OTHER), of_person=True,
    ),
    Rule(
        "heart_failure_class_3", Subject.HEART, RuleKind.CAP,
        "Heart failure class III: not routinely; reduced compression on one leg, with strict "
        "indication and clinical monitoring.",
        RABE, CONSENSUS,
        when=_class_3_cap, needs=(_CLASS,), carry=Carry.STAYS, of_person=True, red_flag=True,
        one_press=True,
        disagreement=f"86 stable patients, half of them class III, had no adverse event over a "
        f"month ({_COHORT}).",
    ),
    Rule(
        "heart_failure_class_1_2", Subject.HEART, RuleKind.CAUTION,
        "Heart failure class {grade}: ask about breathlessness lying flat at every visit.",
        "review of compression and heart failure (Hirsch)", "review",
        when=_class_1_2, reads=(_CLASS,), of_person=True,
    ),
    Rule(
        "breathless_lying", Subject.HEART, RuleKind.SOFT_STOP,
        "Breathless lying flat: have the heart examined before compressing.",
        AUSTRALIA, GUIDELINE,
        when=_breathless, needs=(_LYING,), danger="breathless lying flat", refer=Refer.HEART,
        of_person=True, red_flag=True, one_press=True,
    ),
    Rule(
        "weight_gain", Subject.HEART, RuleKind.SOFT_STOP,
        "Weight up {gain:g} kg in a week (limit {limit:g} kg): fluid may be building up. Ask the "
        "heart team before compressing.",
        "usual heart-failure advice", MEMORY,
        when=_weight, needs=(_GAIN,), danger="heavier within days", refer=Refer.HEART,
        of_person=True, red_flag=True, one_press=True, carry=Carry.DAY,
    ),
)  # fmt: skip
