"""Published choice rules as a table of cases (what speaks for and against a system, and why)."""

import pytest

from gaiter.core.case import Case
from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import Side
from gaiter.core.plan.steep import Steepness
from gaiter.core.plan.suitability import (
    RULES,
    Argument,
    Bearing,
    Patient,
    arguments,
    balance,
    change_days,
    regular_change_days,
    steep_argument,
)
from gaiter.core.plan.systems import LayerRecipe, System, Trait, materials_of
from gaiter.core.policy import Policy
from gaiter.core.safety import Aim, Effect, Outcome, decide
from gaiter.files.catalogue_file import shipped_catalogue
from tests.strategies import case, with_pressures

L, P, W = "legs.right.", "person.", "legs.right.wound"


# What the patient is like; system; where it is said (for, against, out); words of the reason.
# Sources stand in the reasons: clinical guidance on walking, immobility, mixed disease, exudate,
# fragile skin, self-care, latex, shoes, eczema, and common practice where it says so.
TABLE = [
    ({f"{P}mobility": "walks"}, "wool_short_stretch", "for", "high working pressure"),
    ({f"{P}mobility": "chair"}, "wool_short_stretch", "against", "without a calf pump"),
    ({f"{P}mobility": "bed"}, "four_layer", "for", "elastic works without a calf pump"),
    ({f"{L}findings.ankle_stiff": True}, "wool_short_stretch", "against", "calf pump"),
    ({f"{L}arterial.dorsalis_pedis_mmhg": 92}, "wool_short_stretch", "for", "Mosti et al. 2012"),
    ({f"{L}arterial.dorsalis_pedis_mmhg": 92}, "wool_gauze_long_stretch", "against",
     "keeps its pressure at rest"),
    ({}, "four_layer", "for", "HR 1.31"),
    ({f"{L}purpose": "oedema", f"{L}findings.pitting_grade": 3}, "wool_short_stretch", "for",
     "twice a week"),
    ({W: {"place": "gaiter", "exudate": "heavy"}}, "wool_gauze_cohesive", "against",
     "does not breathe"),
    ({W: {"place": "gaiter", "exudate": "heavy"}}, "wool_gauze_long_stretch", "for",
     "every layer breathes"),
    ({f"{L}findings.skin_fragile": True, "bandager.training": "untrained"}, "zinc_paste_covered",
     "out", "needs sure hands"),
    ({W: {"place": "gaiter", "friable": True}}, "zinc_paste_covered", "against", "drags"),
    ({"bandager.training": "untrained"}, "four_layer", "against", "every layer adds their error"),
    ({"bandager.training": "untrained"}, "zinc_paste_covered", "against", "pleated without"),
    ({f"{L}arterial.dorsalis_pedis_mmhg": 92, f"{L}arterial.posterior_tibial_mmhg": 92},
     "reduced_short_stretch", "for", "sensor at the gaiter or a second look"),
    ({}, "reduced_short_stretch", "out", "full compression is allowed"),
    ({f"{L}findings.skin_eczema": True}, "zinc_paste_covered", "for", "treats the eczema"),
    ({}, "zinc_paste_covered", "against", "easily sensitised"),
    ({f"{P}allergies": ["latex"]}, "wool_gauze_cohesive", "out", "allergy to latex"),
    ({f"{P}allergies": ["preservatives"]}, "zinc_paste_covered", "out", "allergy to preservatives"),
    ({f"{P}does_not_tolerate": ["elastic"]}, "four_layer", "out", "does not tolerate elastic"),
    ({f"{P}does_not_tolerate": ["cohesive"]}, "wool_gauze_cohesive", "out", "tolerate cohesive"),
    ({f"{P}footwear": "ordinary shoe"}, "four_layer", "against", "too bulky"),
    ({f"{P}footwear": "cam boot"}, "four_layer", "for", "has room"),
    ({f"{P}rebandaged_by": "self"}, "four_layer", "against", "cannot put it on again"),
    ({f"{P}rebandaged_by": "carer"}, "wool_short_stretch", "for", "can put it on again"),
    ({f"{P}rebandaged_by": "nobody"}, "wool_short_stretch", "against", "loses a third to a half"),
    ({f"{L}purpose": "support"}, "four_layer", "out", "light support only"),
    ({f"{L}purpose": "support"}, "light_support", "for", "free at the toes"),
    ({}, "light_support", "out", "presses too little"),
    ({f"{L}purpose": "palliative", f"{P}rebandaged_by": "carer"}, "reduced_elastic", "for",
     "the carer laying it tighter adds least"),
    ({}, "reduced_elastic", "out", "full compression is allowed"),
]  # fmt: skip


def patient(policy: Policy, made: Case | None = None, **changes) -> Patient:
    made = made or case(**changes)
    return Patient(made, made.legs[Side.RIGHT], decide(made, policy).legs[Side.RIGHT])


def said(who: Patient, name: str, catalogue: Catalogue) -> list[Argument]:
    system = next(one for one in shipped_catalogue().systems_for(22.5) if one.name == name)
    return arguments(who, system, materials_of(system, catalogue.materials))


@pytest.mark.parametrize(("changes", "name", "side", "words"), TABLE)
def test_published_choice_rules(
    changes: dict, name: str, side: str, words: str, policy: Policy, catalogue: Catalogue
) -> None:
    found = said(patient(policy, **changes), name, catalogue)
    verdicts = {argument.verdict for argument in found if words in str(argument.text)}
    assert verdicts == {Bearing(side)}


def test_every_rule_speaks_somewhere_and_every_argument_names_its_source(
    policy: Policy, catalogue: Catalogue
) -> None:
    """Words, then the source in brackets; the table and two rare cases make every rule speak."""
    bare_gauze = System("bare", "Bare", (LayerRecipe("coarse_gauze"),), frozenset(), 7)
    spoke = set()
    for changes, _, _, _ in (*TABLE, ({f"{P}rebandaged_by": "self"}, "", "", "")):
        who = patient(policy, **changes)
        for system in (*shipped_catalogue().systems_for(22.5), bare_gauze):
            materials = materials_of(system, catalogue.materials)
            for rule in RULES:
                argument = rule(who, system.traits, materials)
                if argument is None:
                    continue
                spoke.add(rule)
                words, _, source = argument.text.text.partition(" (")
                assert words.strip(), argument
                assert source.endswith(")"), argument
                assert len(source) > 5, argument
    assert spoke == set(RULES)


# A reason of harm outweighs one of healing and one of comfort together, and two of healing
# weigh as much as one of harm: 4, 2 and 1 are the smallest numbers for which both hold.
@pytest.mark.parametrize(
    ("changes", "name", "words", "weight"),
    [
        ({f"{L}arterial.dorsalis_pedis_mmhg": 92}, "wool_short_stretch", "inelastic: low at", 4),
        ({f"{L}findings.skin_eczema": True}, "zinc_paste_covered", "treats the eczema", 4),
        ({}, "four_layer", "HR 1.31", 2),
        ({f"{P}mobility": "bed"}, "four_layer", "without a calf pump", 2),
        ({}, "wool_gauze_long_stretch", "RR 1.83", 1),
        ({f"{P}footwear": "ordinary shoe"}, "four_layer", "too bulky", 1),
        ({}, "zinc_paste_covered", "easily sensitised", 1),
    ],
)
def test_harm_weighs_more_than_healing_and_healing_more_than_comfort(
    changes: dict, name: str, words: str, weight: int, policy: Policy, catalogue: Catalogue
) -> None:
    found = said(patient(policy, **changes), name, catalogue)
    assert [one.weight for one in found if words in one.text] == [weight]


def test_the_balance_is_what_speaks_for_less_what_speaks_against() -> None:
    weights = [(Bearing.FOR, 4), (Bearing.FOR, 1), (Bearing.AGAINST, 2), (Bearing.OUT, 4)]
    assert balance([Argument(verdict, weight, "") for verdict, weight in weights]) == 3
    assert balance([]) == 0


# Changes; system; words that must not be said: the other side of each rule's condition.
SILENT = [
    ({f"{L}findings.pitting_grade": 2}, "wool_short_stretch", "much swelling"),
    ({W: {"place": "gaiter", "exudate": "moderate"}}, "wool_gauze_long_stretch", "heavy exudate"),
    ({}, "wool_gauze_long_stretch", "HR 1.31"),
    ({f"{L}purpose": "oedema"}, "four_layer", "HR 1.31"),
    ({f"{L}arterial.dorsalis_pedis_mmhg": 92, f"{L}arterial.posterior_tibial_mmhg": 92},
     "four_layer", "HR 1.31"),
    ({f"{P}mobility": "walks"}, "four_layer", "calf pump"),
    ({f"{P}mobility": "walks", f"{L}findings.ankle_stiff": True}, "wool_short_stretch",
     "high working pressure"),
    ({f"{P}footwear": "ordinary shoe"}, "wool_short_stretch", "too bulky"),
    ({f"{P}footwear": "cam boot"}, "wool_short_stretch", "has room"),
    ({f"{P}rebandaged_by": "clinic"}, "four_layer", "put it on again"),
    ({f"{P}rebandaged_by": "carer"}, "wool_gauze_cohesive", "can put it on again"),
    ({f"{P}rebandaged_by": "nobody"}, "zinc_paste_covered", "nobody re-bandages"),
    ({f"{P}rebandaged_by": "nobody"}, "four_layer", "nobody re-bandages"),
    ({f"{L}purpose": "palliative", f"{P}rebandaged_by": "clinic"}, "reduced_elastic", "adds least"),
    ({f"{P}rebandaged_by": "carer"}, "reduced_elastic", "adds least"),
    ({f"{L}findings.skin_eczema": True}, "zinc_paste_covered", "easily sensitised"),
    ({}, "four_layer", "eczema"),
    ({"bandager.training": "untrained"}, "wool_short_stretch", "untrained"),
    ({}, "four_layer", "untrained"),
    ({"bandager.training": "untrained"}, "zinc_paste_covered", "sure hands"),
    ({}, "zinc_paste_covered", "friable"),
    ({f"{L}purpose": "palliative"}, "reduced_elastic", "heals better than reduced"),
    ({}, "wool_short_stretch", "heals better than reduced"),
    ({}, "wool_short_stretch", "at rest, high on walking"),
    ({f"{L}purpose": "support"}, "reduced_elastic", "light support only"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "name", "words"), SILENT)
def test_a_rule_is_silent_where_its_condition_does_not_hold(
    changes: dict, name: str, words: str, policy: Policy, catalogue: Catalogue
) -> None:
    found = said(patient(policy, **changes), name, catalogue)
    assert not any(words in argument.text for argument in found)


@pytest.mark.parametrize(
    ("changes", "usual", "regular", "days", "why"),
    [
        # NICE CKS: a new bandage is looked at within 24 to 48 hours.
        ({}, 7, 7, 2, "first check of a new bandage"),
        ({f"{L}tolerated_mmhg": 60}, 7, 7, 7, "usual for this system"),
        ({f"{L}tolerated_mmhg": 60}, 4, 4, 4, "usual for this system"),
        ({}, 2, 2, 2, "usual for this system"),
        # Twice weekly with heavy exudate or much swelling.
        ({f"{L}tolerated_mmhg": 60, W: {"place": "gaiter", "exudate": "heavy"}}, 7, 3, 3,
         "heavy exudate or much swelling"),
        ({f"{L}tolerated_mmhg": 60, f"{L}findings.pitting_grade": 3}, 7, 3, 3, "much swelling"),
        ({f"{L}tolerated_mmhg": 60, f"{L}findings.pitting_grade": 2}, 7, 7, 7, "usual"),
        ({f"{L}tolerated_mmhg": 60, f"{L}findings.pitting_grade": 3}, 3, 3, 3, "usual"),
        ({f"{L}findings.pitting_grade": 3}, 7, 3, 2, "first check of a new bandage"),
    ],
)  # fmt: skip
def test_days_to_the_next_change(
    changes: dict, usual: int, regular: int, days: int, why: str, policy: Policy
) -> None:
    who = patient(policy, **changes)
    assert regular_change_days(who, usual) == regular
    found = change_days(who, usual)
    assert found[0] == days
    assert why in found[1]


def test_a_reduced_bandage_is_looked_at_within_its_hours(policy: Policy) -> None:
    who = patient(policy, with_pressures(130, 92, **{f"{L}tolerated_mmhg": 40}))
    first = who.decision.first_look_days
    assert first is not None
    words = f"every reduced bandage is looked at within {24 * first} hours"
    days, why = change_days(who, 7)
    assert (days, why.text) == (first, words)
    assert change_days(who, first)[1].text == "usual for this system"


def test_a_steep_fabric_is_told_with_its_three_numbers() -> None:
    argument = steep_argument(Steepness(12.4, 20.6, 11.5))
    assert argument.verdict is Bearing.AGAINST
    assert "2 mm more on the marks take it from 12 to 21 mmHg" in argument.text
    assert "spread it over 12 mmHg, wider than the range" in argument.text


# --- every rule on both sides of every condition --------------------------------------------

BY_NAME = {rule.__name__.strip("_"): rule for rule in RULES}
T = Trait
INELASTIC, ONLY = frozenset({Effect.INELASTIC}), frozenset({Effect.INELASTIC_ONLY})
DOUBT = frozenset({Effect.QUESTIONS_LEVEL})
SUPPORTED, OEDEMA = {f"{L}purpose": "support"}, {f"{L}purpose": "oedema"}
UNTRAINED = {"bandager.training": "untrained"}
WOUND = {"place": "gaiter"}


def walking(how: str) -> dict:
    return {f"{P}mobility": how}


def by(who: str) -> dict:
    return {f"{P}rebandaged_by": who}


def wound(**findings) -> dict:
    return {W: {**WOUND, **findings}}


# Rule; what is changed about the ordinary case (an ulcer without a wound's findings, walks,
# trained hands); traits of the system; materials; effects of the arteries; verdict, if any.
# Each row differs from another of its rule by one condition.
TRUTH = [
    ("purpose", SUPPORTED, {T.LIGHT}, "", None, None),
    ("purpose", SUPPORTED, {T.LIGHT, T.SUPPORT}, "", None, "for"),
    ("purpose", SUPPORTED, {T.SUPPORT}, "", None, "out"),
    ("purpose", SUPPORTED, {T.ELASTIC}, "", None, "out"),
    ("purpose", {}, {T.LIGHT, T.SUPPORT}, "", None, "out"),
    ("purpose", {}, {T.LIGHT}, "", None, None),
    ("purpose", {}, {T.ELASTIC}, "", None, None),
    ("level", {}, {T.LIGHT}, "", None, "out"),
    ("level", {}, {T.REDUCED}, "", None, "out"),
    ("level", OEDEMA, {T.REDUCED}, "", None, "out"),
    ("level", {}, {T.ELASTIC}, "", None, None),
    ("level", {f"{L}purpose": "palliative"}, {T.LIGHT}, "", None, None),
    ("arteries", {}, {T.ELASTIC}, "long_stretch_elastic", None, None),
    ("arteries", {}, {T.INELASTIC}, "short_stretch", None, None),
    ("arteries", {}, {T.INELASTIC}, "short_stretch", INELASTIC, "for"),
    ("arteries", {}, {T.ELASTIC}, "long_stretch_elastic", INELASTIC, "against"),
    ("arteries", {}, {T.INELASTIC}, "short_stretch cohesive_elastic", INELASTIC, "for"),
    ("arteries", {}, {T.INELASTIC}, "short_stretch", ONLY, "for"),
    ("arteries", {}, {T.INELASTIC}, "cohesive_elastic", ONLY, "out"),
    ("arteries", {}, {T.ELASTIC}, "orthopaedic_wool", ONLY, "against"),
    ("arteries", {}, {T.ELASTIC}, "long_stretch_elastic", DOUBT, None),
    ("reduced_inelastic", {}, {T.REDUCED, T.INELASTIC}, "", INELASTIC, "for"),
    ("reduced_inelastic", {}, {T.REDUCED, T.INELASTIC, T.COHESIVE}, "", INELASTIC, "for"),
    ("reduced_inelastic", {}, {T.REDUCED, T.INELASTIC}, "", None, None),
    ("reduced_inelastic", {}, {T.REDUCED}, "", INELASTIC, None),
    ("reduced_inelastic", {}, {T.INELASTIC}, "", INELASTIC, None),
    ("calf_pump", walking("chair"), {T.INELASTIC}, "", None, "against"),
    ("calf_pump", walking("bed"), {T.INELASTIC}, "", None, "against"),
    ("calf_pump", walking("chair"), {T.ELASTIC}, "", None, "for"),
    ("calf_pump", walking("chair"), {T.PASTE}, "", None, None),
    ("calf_pump", walking("walks"), {T.INELASTIC}, "", None, "for"),
    ("calf_pump", walking("walks"), {T.ELASTIC}, "", None, None),
    ("calf_pump", walking("walks with aid"), {T.INELASTIC}, "", None, None),
    ("calf_pump", {**walking("walks"), f"{L}findings.ankle_stiff": True}, {T.INELASTIC}, "", None,
     "against"),
    ("calf_pump", {**walking("walks"), f"{L}findings.ankle_stiff": True}, {T.ELASTIC}, "", None,
     "for"),
    ("healing", {}, {T.MANY_LAYERS, T.ELASTIC}, "", None, "for"),
    ("healing", {}, {T.MANY_LAYERS}, "", None, None),
    ("healing", {}, {T.ELASTIC}, "", None, "for"),
    ("healing", {}, {T.ELASTIC, T.LIGHT}, "", None, None),
    ("healing", {}, {T.INELASTIC}, "", None, None),
    ("healing", OEDEMA, {T.ELASTIC}, "", None, None),
    ("healing", {}, {T.ELASTIC}, "", INELASTIC, None),
    ("swelling", {f"{L}findings.pitting_grade": 3}, {T.INELASTIC}, "", None, "for"),
    ("swelling", {f"{L}findings.pitting_grade": 4}, {T.INELASTIC}, "", None, "for"),
    ("swelling", {f"{L}findings.pitting_grade": 3}, {T.ELASTIC}, "", None, None),
    ("swelling", {f"{L}findings.pitting_grade": 2}, {T.INELASTIC}, "", None, None),
    ("swelling", {f"{L}findings.pitting_grade": None}, {T.INELASTIC}, "", None, None),
    ("exudate", wound(exudate="heavy"), set(), "short_stretch", None, "for"),
    ("exudate", wound(exudate="heavy"), set(), "short_stretch cohesive_elastic", None, "against"),
    ("exudate", wound(exudate="light"), set(), "cohesive_elastic", None, None),
    ("exudate", {}, set(), "cohesive_elastic", None, None),
    ("friable_paste", wound(friable=True), {T.PASTE}, "", None, "against"),
    ("friable_paste", {f"{L}findings.skin_fragile": True}, {T.PASTE}, "", None, "against"),
    ("friable_paste", {**wound(friable=True), **UNTRAINED}, {T.PASTE}, "", None, "out"),
    ("friable_paste", {**wound(friable=True), **UNTRAINED}, {T.ELASTIC}, "", None, None),
    ("friable_paste", {**wound(friable=False), **UNTRAINED}, {T.PASTE}, "", None, None),
    ("friable_paste", wound(friable=False), {T.PASTE}, "", None, None),
    ("friable_paste", {}, {T.PASTE}, "", None, None),
    ("unsure_hands", UNTRAINED, {T.PASTE}, "", None, "against"),
    ("unsure_hands", UNTRAINED, {T.MANY_LAYERS}, "", None, "against"),
    ("unsure_hands", UNTRAINED, {T.ELASTIC}, "", None, None),
    ("unsure_hands", {}, {T.PASTE, T.MANY_LAYERS}, "", None, None),
    ("eczema", {f"{L}findings.skin_eczema": True}, {T.PASTE}, "", None, "for"),
    ("eczema", {f"{L}findings.skin_weeping": True}, {T.PASTE}, "", None, "for"),
    ("eczema", {f"{L}findings.skin_eczema": True}, {T.ELASTIC}, "", None, None),
    ("eczema", {}, {T.PASTE}, "", None, "against"),
    ("next_to_skin", {}, set(), "coarse_gauze short_stretch", None, "against"),
    ("next_to_skin", {}, set(), "orthopaedic_wool coarse_gauze", None, None),
    ("next_to_skin", {}, set(), "coarse_gauze short_stretch", INELASTIC, "out"),
    ("next_to_skin", {}, set(), "coarse_gauze short_stretch", ONLY, "out"),
    ("next_to_skin", {}, set(), "coarse_gauze short_stretch", DOUBT, "out"),
    ("next_to_skin", wound(over_bone=True), set(), "coarse_gauze short_stretch", None, "out"),
    ("next_to_skin", wound(over_bone=False), set(), "coarse_gauze short_stretch", None, "against"),
    ("footwear", {f"{P}footwear": "ordinary shoe"}, {T.MANY_LAYERS}, "", None, "against"),
    ("footwear", {f"{P}footwear": "wide shoe"}, {T.MANY_LAYERS}, "", None, "for"),
    ("footwear", {f"{P}footwear": "cam boot"}, {T.MANY_LAYERS}, "", None, "for"),
    ("footwear", {f"{P}footwear": "cam boot"}, {T.ELASTIC}, "", None, None),
    ("footwear", {f"{P}footwear": None}, {T.MANY_LAYERS}, "", None, None),
    ("rebandaging", by("self"), {T.MANY_LAYERS}, "", None, "against"),
    ("rebandaging", by("carer"), {T.PASTE}, "", None, "against"),
    ("rebandaging", by("self"), {T.ELASTIC}, "", None, "for"),
    ("rebandaging", by("carer"), {T.INELASTIC}, "", None, "for"),
    ("rebandaging", by("self"), {T.COHESIVE}, "", None, None),
    ("rebandaging", by("nobody"), {T.INELASTIC}, "", None, "against"),
    ("rebandaging", by("nobody"), {T.INELASTIC, T.PASTE}, "", None, None),
    ("rebandaging", by("nobody"), {T.ELASTIC}, "", None, None),
    ("rebandaging", by("clinic"), {T.MANY_LAYERS, T.INELASTIC}, "", None, None),
    ("allergy", {f"{P}allergies": ["latex"]}, set(), "cohesive_elastic", None, "out"),
    ("allergy", {f"{P}allergies": ["latex"]}, set(), "orthopaedic_wool", None, None),
    ("tolerance", {f"{P}does_not_tolerate": ["elastic"]}, {T.ELASTIC}, "", None, "out"),
    ("tolerance", {f"{P}does_not_tolerate": ["elastic"]}, {T.INELASTIC}, "", None, None),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "changes", "traits", "keys", "effects", "verdict"), TRUTH)
def test_a_rule_speaks_where_its_conditions_hold_and_only_there(
    rule: str, changes: dict, traits: set, keys: str, effects, verdict, policy, catalogue
) -> None:
    who = patient(policy, **changes)
    decision = who.decision.model_copy(update={"effects": effects or frozenset()})
    found = BY_NAME[rule](
        Patient(who.case, who.leg, decision),
        frozenset(traits),
        [catalogue[key] for key in keys.split()],
    )
    assert (found and found.verdict.value) == verdict


# Aim; who lays it again; traits; whether a low aim speaks for it: mild is up to 20 mmHg.
@pytest.mark.parametrize(
    ("high_mmhg", "who", "traits", "speaks"),
    [
        (20.0, "self", {T.LIGHT}, True),
        (20.0, "carer", {T.LIGHT}, True),
        (18.0, "self", {T.LIGHT}, True),
        (21.0, "self", {T.LIGHT}, False),
        (None, "self", {T.LIGHT}, False),
        (20.0, "clinic", {T.LIGHT}, False),
        (20.0, "self", {T.ELASTIC}, False),
    ],
)
def test_a_light_bandage_is_for_a_low_aim_that_others_lay_again(
    high_mmhg, who, traits, speaks, policy
) -> None:
    one = patient(policy, **by(who))
    aim = high_mmhg and Aim(low_mmhg=10.0, high_mmhg=high_mmhg, source="invented")
    decision = one.decision.model_copy(update={"aim": aim})
    found = BY_NAME["low_aim"](Patient(one.case, one.leg, decision), frozenset(traits), [])
    assert (found is not None) is speaks


@pytest.mark.parametrize(
    ("outcome", "offered_low", "left_out"),
    [
        (Outcome.FULL, False, True),
        (Outcome.FULL, None, True),
        (Outcome.FULL, True, False),
        (Outcome.REDUCED, False, False),
    ],
)
def test_reduced_bandages_are_left_out_where_full_compression_is_allowed_and_wanted(
    outcome, offered_low, left_out, policy
) -> None:
    one = patient(policy)
    aim = None
    if offered_low is not None:
        aim = Aim(low_mmhg=20.0, high_mmhg=30.0, source="invented", offered_low=offered_low)
    decision = one.decision.model_copy(update={"outcome": outcome, "aim": aim})
    found = BY_NAME["level"](Patient(one.case, one.leg, decision), frozenset({T.REDUCED}), [])
    assert (found is not None) is left_out


def test_a_reason_names_the_first_material_at_fault(policy, catalogue) -> None:
    """Both elastic layers are at fault on arteries that need inelastic only."""
    one = patient(policy, **wound(exudate="heavy"))
    decision = one.decision.model_copy(update={"effects": ONLY})
    who = Patient(one.case, one.leg, decision)
    keys = ("light_elastic", "cohesive_elastic")
    layers = [catalogue[key] for key in keys]
    found = BY_NAME["arteries"](who, frozenset({T.ELASTIC}), layers)
    assert catalogue["light_elastic"].title.lower() in str(found.text)
    closed = [one.model_copy(update={"breathes": False}) for one in layers]
    found = BY_NAME["exudate"](who, frozenset({T.ELASTIC}), closed)
    assert catalogue["light_elastic"].title.lower() in str(found.text)


@pytest.mark.parametrize(
    ("first", "usual", "tolerated", "days", "hours"),
    # Looked at after so many days where the level is reduced, never later than usual.
    [(1, 7, 60, 1, "24"), (2, 7, 60, 2, "48"), (2, 2, 60, 2, None), (3, 2, 60, 2, None),
     (None, 7, 60, 7, None), (1, 7, None, 1, "24"), (3, 7, None, 2, "48"), (2, 3, None, 2, "48")],
)  # fmt: skip
def test_the_first_look_is_the_soonest_of_what_asks_for_one(
    first, usual, tolerated, days, hours, policy
) -> None:
    one = patient(policy, **{f"{L}tolerated_mmhg": tolerated})
    decision = one.decision.model_copy(update={"first_look_days": first})
    found, why = change_days(Patient(one.case, one.leg, decision), usual)
    assert found == days
    assert ("hours" in str(why)) is (hours is not None)
    assert hours is None or hours in str(why)


@pytest.mark.parametrize(
    ("changes", "usual", "days"),
    [
        ({}, 7, 7),
        (wound(exudate="heavy"), 7, 3),
        (wound(exudate="heavy"), 2, 2),
        (wound(exudate="light"), 7, 7),
        ({f"{L}findings.pitting_grade": 3}, 7, 3),
        ({f"{L}findings.pitting_grade": 4}, 7, 3),
        ({f"{L}findings.pitting_grade": 2}, 7, 7),
        ({f"{L}findings.pitting_grade": None}, 7, 7),
    ],
)
def test_much_exudate_or_swelling_is_changed_every_third_day(changes, usual, days, policy) -> None:
    assert regular_change_days(patient(policy, **changes), usual) == days
