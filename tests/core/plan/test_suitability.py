"""Published choice rules as a table of cases (what speaks for and against a system, and why)."""

from datetime import date

import pytest

from gaiter.core.case import Case
from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import Side
from gaiter.core.plan import LegPlan, plan
from gaiter.core.plan.alternatives import KINDS
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
from gaiter.core.plan.systems import LayerRecipe, System, materials_of
from gaiter.core.policy import Policy
from gaiter.core.safety import decide
from gaiter.files.catalogue_file import shipped_catalogue
from tests.strategies import case, with_pressures

L, P, W = "legs.right.", "person.", "legs.right.wound"
TODAY = date(2026, 11, 25)
TITLES = set(shipped_catalogue().titles.values())


def planned(policy: Policy, catalogue: Catalogue, **changes) -> LegPlan:
    return plan(case(**changes), policy, catalogue, samples=256).legs[Side.RIGHT]


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


@pytest.mark.parametrize(("changes", "name", "side", "words"), TABLE)
def test_published_choice_rules(
    changes: dict, name: str, side: str, words: str, policy: Policy, catalogue: Catalogue
) -> None:
    leg = planned(policy, catalogue, **changes)
    if side == "out":
        assert name not in {system.name for system in leg.systems}
        assert any(words in reason for reason in leg.excluded)
        return
    system = next(system for system in leg.systems if system.name == name)
    reasons = system.reasons_for if side == "for" else system.reasons_against
    assert any(words in reason for reason in reasons), reasons


def test_every_system_is_either_planned_or_left_out_with_a_reason(
    policy: Policy, catalogue: Catalogue
) -> None:
    for changes in ({}, {f"{L}purpose": "support"}, {f"{P}allergies": ["latex"]}):
        leg = planned(policy, catalogue, **changes)
        names = {system.name for system in leg.systems}

        def left_out(titles, said=leg.excluded) -> int:
            return sum(any(words.startswith(f"{title}: ") for words in said) for title in titles)

        assert len(names) + left_out(TITLES) == len(TITLES)
        assert len(leg.alternatives) + left_out(kind.title for kind in KINDS) == len(KINDS)
        assert all(": " in reason for reason in leg.excluded)


def patient(policy: Policy, made: Case | None = None, **changes) -> Patient:
    made = made or case(**changes)
    return Patient(made, made.legs[Side.RIGHT], decide(made, policy).legs[Side.RIGHT])


def said(who: Patient, name: str, catalogue: Catalogue) -> list[Argument]:
    system = next(one for one in shipped_catalogue().systems_for(22.5) if one.name == name)
    return arguments(who, system, materials_of(system, catalogue.materials))


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
                words, _, source = argument.text.partition(" (")
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
    assert change_days(who, 7) == (first, words)
    assert change_days(who, first)[1] == "usual for this system"


def test_a_steep_fabric_is_told_with_its_three_numbers() -> None:
    argument = steep_argument(Steepness(12.4, 20.6, 11.5))
    assert argument.verdict is Bearing.AGAINST
    assert "2 mm more on the marks take it from 12 to 21 mmHg" in argument.text
    assert "spread it over 12 mmHg, wider than the range" in argument.text


def test_the_next_visit_is_the_day_of_the_change(policy: Policy, catalogue: Catalogue) -> None:
    """25 November and two days, and seven."""
    for changes, day in (({}, date(2026, 11, 27)), ({f"{L}tolerated_mmhg": 60}, date(2026, 12, 2))):
        leg = plan(
            case(**changes), policy, catalogue, samples=64, systems=frozenset({"four_layer"})
        ).legs[Side.RIGHT]
        assert leg.next_visit == day
        assert (leg.systems[0].regular_days, leg.systems[0].change_days) == (7, (day - TODAY).days)


def test_poor_arteries_never_have_coarse_gauze_next_to_the_skin(
    policy: Policy, catalogue: Catalogue
) -> None:
    stock = {"coarse_gauze": {"rolls": 9}, "long_stretch_elastic": {"rolls": 9}}
    made = plan(with_pressures(130, 92, stock=stock), policy, catalogue, samples=256)
    assert made.legs[Side.RIGHT].systems == ()


def test_ankle_girth_bands_of_the_four_layer_build(policy: Policy, catalogue: Catalogue) -> None:
    """18-25 cm four, 25-30 cm high power and cohesive, above 30 cm light and high and cohesive."""
    for ankle, calf, keys in (
        (22.0, 37.0, ["light_support", "light_elastic", "cohesive_elastic"]),
        (27.0, 42.0, ["long_stretch_elastic", "cohesive_elastic"]),
        (31.0, 45.0, ["light_elastic", "long_stretch_elastic", "cohesive_elastic"]),
    ):
        leg = planned(
            policy,
            catalogue,
            **{
                f"{L}girth_cm": {
                    "metatarsal_heads": 24.0, "ankle": ankle, "calf": calf,
                    "below_knee": calf - 3, "heel_instep": 35.0,
                }
            },
        )  # fmt: skip
        system = next(s for s in leg.systems if s.name == "four_layer")
        assert [layer.material for layer in system.layers if layer.presses] == keys


def test_what_runs_out_is_replaced_or_left_out_and_said(
    policy: Policy, catalogue: Catalogue
) -> None:
    stock = {
        key: {"rolls": 9} for key in ("orthopaedic_wool", "cohesive_inelastic", "short_stretch")
    }
    leg = planned(policy, catalogue, stock=stock)
    cohesive = next(s for s in leg.systems if s.name == "wool_gauze_cohesive")
    assert [layer.material for layer in cohesive.layers] == [
        "orthopaedic_wool",
        "cohesive_inelastic",
    ]
    assert any("Elastic cohesive bandage is out" in words for words in cohesive.reasons_against)
    assert any("Coarse gauze is out" in words for words in cohesive.reasons_against)


def test_the_first_bandage_is_seen_within_two_days_then_by_exudate(
    policy: Policy, catalogue: Catalogue
) -> None:
    first = planned(policy, catalogue)
    assert (first.next_visit - case().today).days == 2
    known = planned(policy, catalogue, **{f"{L}tolerated_mmhg": 60})
    wet = planned(
        policy,
        catalogue,
        **{f"{L}tolerated_mmhg": 60, W: {"place": "gaiter", "exudate": "heavy"}},
    )
    assert (known.next_visit - case().today).days == known.systems[0].change_days > 3
    assert (wet.next_visit - case().today).days == 3
