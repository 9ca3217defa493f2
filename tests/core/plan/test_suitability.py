"""Published choice rules as a table of cases (what speaks for and against a system, and why)."""

import pytest

from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import Side
from gaiter.core.plan import LegPlan, plan
from gaiter.core.plan.alternatives import KINDS
from gaiter.core.plan.suitability import RULES
from gaiter.core.policy import Policy
from gaiter.files.catalogue_file import shipped_catalogue
from tests.strategies import case, with_pressures

L, P, W = "legs.right.", "person.", "legs.right.wound"
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


def test_every_argument_names_its_source() -> None:
    """Rules end in a source in brackets; a rule without one would not."""
    assert len(RULES) == 17


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
