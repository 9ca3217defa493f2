"""What each safety rule says: one entry a rule, with its source and where guidelines disagree.

Texts say what it is and what to do. Fields in braces are filled when the rule fires.
"""

from collections.abc import Mapping
from typing import NamedTuple

from gaiter.core.safety.reason import Kind, Reason

_RABE = "Rabe et al. 2020, Phlebology 35:447 (15 experts; authors' own review read)"
_AUSTRALIA = "Therapeutic Guidelines Australia, ulcer and wound management"
_GP = "UK general-practice reference page on compression bandaging"
_IMMEDIATE = "Wounds UK quick guide, immediate and necessary care"
_OURS = "no number was found; our choice on the safe side"
_CONSENSUS, _GUIDELINE, _MEMORY = "consensus", "guideline", "from memory, not verified"
_CHOICE, _PRACTICE = "our choice", "common practice, no source"


class Rule(NamedTuple):
    """Wording of one rule."""

    kind: Kind
    text: str
    source: str
    strength: str
    disagreement: str | None = None


RULES: Mapping[str, Rule] = {
    # --- what a prescriber set aside
    "override": Rule(
        Kind.CAP,
        "A prescriber set a soft stop aside: at most {cap:g} mmHg, by {by}: {reason} ({words}).",
        "this record",
        "a prescriber's decision",
    ),
    # --- the person, before either leg
    "heart_failure_class_4": Rule(
        Kind.HARD_STOP,
        "Heart failure class IV or decompensated: do not compress. Call the heart team.",
        _RABE,
        _CONSENSUS,
    ),
    "heart_failure_class_3_both_legs": Rule(
        Kind.SOFT_STOP,
        "Heart failure class III and both legs planned: bandage one leg first, reduced, with the "
        "heart team watching. Plan one leg, or the prescriber decides.",
        _RABE,
        _CONSENSUS,
        "Multilayer bandages on both legs raised right-atrial pressure in class III-IV (Urbanek "
        "2020 review); 86 stable patients over a month had no adverse event (Int J Cardiol Heart "
        "Vasc 2024;50:101343).",
    ),
    "heart_failure_class_3": Rule(
        Kind.CAP,
        "Heart failure class III: not routinely; reduced compression on one leg, with strict "
        "indication and clinical monitoring.",
        _RABE,
        _CONSENSUS,
        "86 stable patients, half of them class III, had no adverse event over a month (Int J "
        "Cardiol Heart Vasc 2024;50:101343).",
    ),
    "heart_failure_class_1_2": Rule(
        Kind.CAUTION,
        "Heart failure class {grade}: ask about breathlessness lying flat at every visit.",
        "review of compression and heart failure (Hirsch)",
        "review",
    ),
    "heart_failure_not_said": Rule(
        Kind.MEASURE,
        "Heart failure has not been asked about: ask for the class, and about breathlessness "
        "lying flat, before more than {cap:g} mmHg.",
        _RABE,
        _CONSENSUS,
    ),
    "breathless_lying": Rule(
        Kind.SOFT_STOP,
        "Breathless lying flat: have the heart examined before compressing.",
        _AUSTRALIA,
        _GUIDELINE,
    ),
    "weight_gain": Rule(
        Kind.SOFT_STOP,
        "Weight up {gain:g} kg in a week (limit {limit:g} kg): fluid may be building up. Ask the "
        "heart team before compressing.",
        "usual heart-failure advice",
        _MEMORY,
    ),
    "cannot_report_pain": Rule(
        Kind.CAP,
        "Cannot report pain: start reduced, name an observer, look at the toes every day.",
        _AUSTRALIA,
        _GUIDELINE,
    ),
    "can_report_pain_not_said": Rule(
        Kind.FLAG,
        "Whether the person can report pain has not been said: find out before leaving them.",
        _AUSTRALIA,
        _GUIDELINE,
    ),
    "rheumatoid_arthritis": Rule(
        Kind.CAUTION,
        "Rheumatoid arthritis: the index may mislead and vasculitis is possible; refer.",
        "NHS Tayside wound formulary",
        "local guideline",
    ),
    "weak_calf_pump": Rule(
        Kind.CAUTION,
        "Does not walk: inelastic bandages work poorly at rest; add ankle exercises.",
        "haemodynamic reasoning",
        _MEMORY,
    ),
    "allergies_not_said": Rule(
        Kind.FLAG,
        "Allergies have not been asked about: ask before anything touches the skin.",
        _RABE,
        _CONSENSUS,
    ),
    # --- the red-flag screen
    "screen_incomplete": Rule(
        Kind.MEASURE,
        "The red-flag screen is not complete: look at and say {missing}. No compression until "
        "then.",
        _IMMEDIATE,
        _GUIDELINE,
    ),
    "rest_pain": Rule(
        Kind.HARD_STOP,
        "Pain at rest in the foot: the arteries may be failing. No compression; urgent vascular "
        "referral.",
        _IMMEDIATE,
        _GUIDELINE,
    ),
    "acute_ischaemia": Rule(
        Kind.HARD_STOP,
        "Signs of sudden lack of blood: emergency. No compression; call the vascular team now.",
        _IMMEDIATE,
        _GUIDELINE,
    ),
    "gangrene": Rule(
        Kind.HARD_STOP,
        "Gangrene: no compression; urgent vascular referral.",
        _IMMEDIATE,
        _GUIDELINE,
    ),
    "sepsis": Rule(
        Kind.HARD_STOP,
        "Signs of sepsis: emergency. No compression; call for help now.",
        _IMMEDIATE,
        _GUIDELINE,
    ),
    "new_pain_or_colour": Rule(
        Kind.MEASURE,
        "New pain or colour change since the last arterial test: whatever was approved no longer "
        "counts. Leave the bandage off and measure the arteries today.",
        _AUSTRALIA,
        _GUIDELINE,
    ),
    "new_pain_or_colour_tested": Rule(
        Kind.SOFT_STOP,
        "New pain or colour change, arteries tested today: find the cause before compressing.",
        _AUSTRALIA,
        _GUIDELINE,
    ),
    # --- arteries
    "ankle_brachial_hard": Rule(
        Kind.HARD_STOP,
        "ABI (ABPI) {index:.2f} is {limit:.2f} or below: no compression; urgent vascular referral.",
        "SVS/AVF 2014 (≤0.50); Mosti et al. 2012; NICE CKS (below 0.5)",
        _GUIDELINE,
        "Exactly 0.50: SVS/AVF blocks, NICE writes below 0.5. Here it blocks.",
    ),
    "ankle_brachial_stop": Rule(
        Kind.SOFT_STOP,
        "ABI (ABPI) {index:.2f} is below {limit:.2f}: no compression. Only a named vascular "
        "decision can allow inelastic, reduced compression here, with ankle above 60 and toe at "
        "least 30 mmHg.",
        _RABE,
        _CONSENSUS,
        "0.50-0.59: SVS/AVF, Mosti and the German guideline see room for it; Rabe, ESVS and NHS "
        "Tayside do not.",
    ),
    "ankle_brachial_reduced": Rule(
        Kind.CAP,
        "ABI (ABPI) {index:.2f}: reduced, inelastic compression with a specialist; see the leg "
        "again within 48 hours.",
        "Mosti et al. 2012, J Vasc Surg 55:122 (inelastic up to 40 mmHg)",
        "one study",
        "0.60-0.79 is disputed: some guidelines reduce to 20-30 mmHg, some forbid it (Weller "
        "2019, Team 2019); a UK general-practice page forbids it below 0.8.",
    ),
    "ankle_brachial_refer": Rule(
        Kind.FLAG,
        "ABI (ABPI) {index:.2f}: full compression is allowed, and it is arterial disease: refer "
        "to the vascular team.",
        "ACC/AHA 2024 and SVS/AVF 2014 (0.90 or below)",
        _GUIDELINE,
        "Compression guidelines count above 0.8 as full; arterial guidelines call 0.90 and below "
        "abnormal.",
    ),
    "ankle_brachial_high_normal": Rule(
        Kind.FLAG,
        "ABI (ABPI) {index:.2f}: think of stiff arteries.",
        "RNAO (refer above 1.2)",
        _GUIDELINE,
        "The upper end of normal is 1.2, 1.3 or 1.4, depending on the guideline.",
    ),
    "ankle_pressure": Rule(
        Kind.HARD_STOP,
        "Ankle pressure {pressure:g} mmHg is {limit:g} or below: no compression; urgent vascular "
        "referral.",
        "SVS/AVF 2014 and Rabe 2020 (below 60)",
        _GUIDELINE,
        "Exactly 60 mmHg: SVS and Rabe block below 60, Mosti asks for above 60. Here it blocks.",
    ),
    "toe_pressure": Rule(
        Kind.HARD_STOP,
        "Toe pressure {pressure:g} mmHg is below {limit:g}: no compression; urgent vascular "
        "referral.",
        _RABE,
        _CONSENSUS,
    ),
    "toe_needed": Rule(
        Kind.MEASURE,
        "Measure the toe pressure: {because}, the ankle pressure may be falsely high. At most "
        "{cap:g} mmHg until then.",
        "ACC/AHA 2024 (toe pressure when the index is not to be trusted); NICE CKS",
        _GUIDELINE,
    ),
    "toe_brachial_unusual": Rule(
        Kind.MEASURE,
        "Toe index {index:.2f} is above {limit:.2f}, more than healthy adults have: a number is "
        "wrong, or the toe's arteries are stiff. Measure arm and toe again. At most {cap:g} mmHg "
        "until then.",
        "J Vasc Surg 2016;63:652 (healthy adults 0.95, SD 0.21)",
        "one study; our choice of two SD",
    ),
    "toe_brachial_reduced": Rule(
        Kind.CAP,
        "Toe index {index:.2f} is {limit:.2f} or below: reduced, inelastic compression with a "
        "specialist.",
        "ACC/AHA 2016 and 2024 (0.70)",
        _MEMORY,
        "No guideline gives a compression level for a toe index; the reduced level is our choice.",
    ),
    "tcpo2_hard": Rule(
        Kind.HARD_STOP,
        "Oxygen at the skin {pressure:g} mmHg is below {limit:g}: no compression; urgent vascular "
        "referral.",
        _RABE,
        _CONSENSUS,
    ),
    "tcpo2_stop": Rule(
        Kind.SOFT_STOP,
        "Oxygen at the skin {pressure:g} mmHg is below {limit:g}: no compression; refer.",
        "limb-ischaemia guidelines 2016-2024 (Medicina 2024;60:1179)",
        _GUIDELINE,
        "20-29 mmHg: Rabe 2020 allows compression; limb-ischaemia guidelines call it ischaemic.",
    ),
    "waveform_absent": Rule(
        Kind.SOFT_STOP,
        "No Doppler signal at the foot: no compression; vascular referral.",
        _OURS,
        _CHOICE,
    ),
    "waveform_monophasic": Rule(
        Kind.FLAG,
        "Monophasic signal at the foot: arterial disease is likely; refer.",
        "IWGDF 2019 (a triphasic signal speaks against it)",
        _GUIDELINE,
    ),
    "arterial_missing": Rule(
        Kind.MEASURE,
        "No ABI (ABPI): measure {missing}. At most {cap:g} mmHg until then.",
        _IMMEDIATE,
        _GUIDELINE,
    ),
    "arterial_overdue": Rule(
        Kind.MEASURE,
        "The arterial test is {days} days old (limit {limit:g}): repeat it. At most {cap:g} mmHg "
        "until then, because no tolerated level of a stable leg is on record.",
        "RNAO (six-monthly)",
        _GUIDELINE,
    ),
    "arterial_overdue_stable": Rule(
        Kind.CAP,
        "The arterial test is {days} days old (limit {limit:g}): repeat it. The leg is stable: "
        "the approved level of {cap:g} mmHg may go on meanwhile.",
        "RNAO (six-monthly)",
        _GUIDELINE,
    ),
    "arterial_date_missing": Rule(
        Kind.MEASURE,
        "The date of the arterial test has not been said: give it, or measure again. At most "
        "{cap:g} mmHg until then.",
        "RNAO (six-monthly)",
        _GUIDELINE,
    ),
    "not_lying_flat": Rule(
        Kind.MEASURE,
        "Measured not lying flat, which reads falsely high: measure again lying flat. At most "
        "{cap:g} mmHg until then.",
        "Anderson 2006, restated",
        "second-hand",
    ),
    "lying_flat_not_said": Rule(
        Kind.FLAG,
        "Whether the person lay flat for the arterial test has not been said.",
        "Anderson 2006, restated",
        "second-hand",
    ),
    "short_rest": Rule(
        Kind.FLAG,
        "Rested {rested:g} minutes before the arterial test (wanted {limit:g}): repeat if in "
        "doubt.",
        "5 to 20 minutes in different protocols",
        "protocols disagree",
    ),
    "arms_differ": Rule(
        Kind.FLAG,
        "The arms differ by {difference:g} mmHg (limit {limit:g}): repeat; an arm artery may be "
        "narrow. The higher arm is used.",
        "restated; repeat rule of Aboyans 2012",
        "second-hand",
    ),
    "one_arm": Rule(
        Kind.FLAG,
        "Only one arm was measured: the index may read too high if the other arm is higher.",
        "restated",
        "second-hand",
    ),
    "diabetes_not_said": Rule(
        Kind.MEASURE,
        "Diabetes and kidney disease have not been asked about ({missing}): with either the "
        "ankle pressure may mislead. At most {cap:g} mmHg until then.",
        "NICE CKS venous leg ulcer, restated",
        "second-hand",
    ),
    "bypass_superficial": Rule(
        Kind.HARD_STOP,
        "A bypass graft runs under the skin where the bandage goes: do not compress it. Vascular "
        "team.",
        _RABE,
        _CONSENSUS,
    ),
    "bypass_deep": Rule(
        Kind.SOFT_STOP,
        "A deep or above-knee bypass graft: only with the vascular specialist.",
        "vascular practice",
        _MEMORY,
    ),
    "bypass_not_said": Rule(
        Kind.MEASURE,
        "Whether there is an arterial bypass graft has not been said: ask, and look for scars. "
        "At most {cap:g} mmHg until then.",
        _RABE,
        _CONSENSUS,
    ),
    "stent": Rule(
        Kind.SOFT_STOP,
        "A stent in this leg's arteries: get a note from the vascular team first.",
        _OURS,
        _CHOICE,
    ),
    # --- clot and phlebitis
    "clot_suspected": Rule(
        Kind.HARD_STOP,
        "A clot is suspected{score}: no compression, and no cuff on this leg, until it is ruled "
        "out or treated.",
        f"{_GP}; Scottish Doppler procedure (no cuff)",
        _GUIDELINE,
    ),
    "clot_untreated": Rule(
        Kind.HARD_STOP,
        "A clot is confirmed and not anticoagulated: no compression; treat it first.",
        _GP,
        _GUIDELINE,
    ),
    "clot_treated_acute": Rule(
        Kind.SOFT_STOP,
        "A clot is confirmed and anticoagulated: allowed by some guidelines; the prescriber "
        "decides.",
        "IDEAL substudy, Blood 2018;132:2298 (592 people, early compression)",
        "trial",
        "One UK page forbids compression with a clot; IDEAL offers it early; ASH 2020 is against "
        "routine stockings; AHA allows it for swelling.",
    ),
    "clot_past": Rule(
        Kind.CAUTION,
        "A clot was treated in this leg: watch for new swelling and pain.",
        "SVS/AVF 2014 (30-40 mmHg after a clot, grade 1B)",
        _GUIDELINE,
    ),
    "superficial_phlebitis": Rule(
        Kind.SOFT_STOP,
        "Active superficial phlebitis: no compression unless the prescriber treats it so.",
        _GP,
        _GUIDELINE,
        "One UK page forbids it; European vein guidelines treat it with compression (from memory).",
    ),
    "septic_phlebitis": Rule(
        Kind.HARD_STOP,
        "Septic phlebitis: emergency. No compression.",
        "German S2k guideline 2018",
        _MEMORY,
    ),
    "massive_blue_swelling": Rule(
        Kind.HARD_STOP,
        "Massive, blue, painful swelling (phlegmasia): emergency. No compression.",
        "German S2k guideline 2018",
        _MEMORY,
    ),
    # --- infection
    "infection_spreading": Rule(
        Kind.SOFT_STOP,
        "Spreading infection: treat it first{antibiotics}; compress when it recedes and pain "
        "allows.",
        _GP,
        _GUIDELINE,
        "One UK page waits until it is resolved; the Australian guideline reduces or delays for "
        "pain; a textbook sees no contraindication.",
    ),
    "infection_local": Rule(
        Kind.CAUTION,
        "Local wound infection: change more often; reduce if it hurts.",
        _AUSTRALIA,
        _GUIDELINE,
    ),
    # --- nerves, small vessels, immune, growth
    "sensation_lost_diabetes": Rule(
        Kind.SOFT_STOP,
        "Protective sensation is absent ({sites} of 3 sites) with diabetes: no compression "
        "unless a specialist takes it on, with toe checks every day.",
        _RABE,
        _CONSENSUS,
        "Rabe 2020 lists it as a contraindication; the Australian guideline as a caution.",
    ),
    "sensation_reduced": Rule(
        Kind.CAUTION,
        "Reduced sensation ({sites} of 3 sites): the person may not feel harm; look at the toes "
        "every day.",
        "IWGDF monofilament method",
        _GUIDELINE,
    ),
    "sensation_not_tested_diabetes": Rule(
        Kind.MEASURE,
        "Diabetes, and sensation has not been tested: test three sites with the 10 g filament. "
        "At most {cap:g} mmHg until then.",
        _RABE,
        _CONSENSUS,
    ),
    "necrosis_risk": Rule(
        Kind.SOFT_STOP,
        "Disease of the small vessels with risk of necrosis: no compression without a specialist.",
        _RABE,
        _CONSENSUS,
    ),
    "vasculitis": Rule(
        Kind.SOFT_STOP,
        "Vasculitis or pyoderma suspected: refer; reduced compression only with a specialist.",
        "NHS Tayside wound formulary",
        "local guideline",
    ),
    "malignancy": Rule(
        Kind.SOFT_STOP,
        "Malignancy suspected or an atypical place: refer for biopsy before compressing.",
        "NHS Tayside wound formulary",
        "local guideline",
    ),
    # --- skin, shape, wound
    "foot_wound_untested": Rule(
        Kind.MEASURE,
        "Wound on the foot and arteries not tested: no compression until they are.",
        _IMMEDIATE,
        _GUIDELINE,
    ),
    "foot_wound": Rule(
        Kind.CAUTION,
        "Wound on the foot: foot service or vascular team should know; take the load off.",
        _IMMEDIATE,
        _GUIDELINE,
    ),
    "skin_fragile": Rule(
        Kind.CAUTION,
        "Fragile skin: more padding, no shear, nothing adhesive on the skin.",
        _AUSTRALIA,
        _GUIDELINE,
    ),
    "skin_weeping": Rule(
        Kind.CAUTION,
        "Weeping skin: treat the eczema under the bandage and change more often.",
        "dermatology practice",
        _MEMORY,
    ),
    "skin_eczema": Rule(
        Kind.CAUTION,
        "Eczema: zinc paste under the bandage can help; test for allergy first.",
        "Nursing Times, medicated bandages",
        "review",
    ),
    "shape": Rule(
        Kind.CAUTION,
        "Leg shape ({shape}): pad to a cone before bandaging.",
        _AUSTRALIA,
        _GUIDELINE,
    ),
    "wound_over_bone": Rule(
        Kind.CAUTION,
        "Wound over bone: extra padding round and over it.",
        _AUSTRALIA,
        _GUIDELINE,
    ),
    "ankle_stiff": Rule(
        Kind.CAUTION,
        "Stiff ankle: healing is slower; ankle exercises or physiotherapy.",
        "Chaby et al. 2013, Br J Dermatol 169:1106",
        "one study",
    ),
    "previous_level": Rule(
        Kind.FLAG,
        "Tolerated before: up to {level:g} mmHg.",
        "this record",
        "record",
    ),
    # --- local policy
    "policy_loosened": Rule(
        Kind.FLAG,
        "Local policy guards less here than the shipped one: {change}.",
        "local policy",
        "local",
    ),
}


def fire(code: str, *, cap_mmhg: float | None = None, **fields: object) -> Reason:
    """The reason of a rule, its text filled in.

    Examples
    --------
    >>> fire("toe_pressure", pressure=28.0, limit=30.0).text
    'Toe pressure 28 mmHg is below 30: no compression; urgent vascular referral.'
    """
    rule = RULES[code]
    return Reason(
        code=code,
        kind=rule.kind,
        text=rule.text.format(cap=cap_mmhg, **fields),
        cap_mmhg=cap_mmhg,
        source=rule.source,
        strength=rule.strength,
        disagreement=rule.disagreement,
    )
