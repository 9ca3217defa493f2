"""Systems as data: what a list may say, what it may not, and that no list loosens a safety rule."""

from copy import deepcopy
from typing import Any

import pytest

from gaiter.core.case import Allergen
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import LegPlan, plan
from gaiter.core.plan.system_catalogue import BandageCatalogue, SystemsError, changed_by
from gaiter.core.plan.system_checks import faults_of
from gaiter.core.plan.system_list import ListedSystem, SystemList
from gaiter.core.plan.systems import Trait, from_stock
from gaiter.core.policy import Policy
from tests.strategies import case

WOOL, SHORT = {"material": "orthopaedic_wool"}, {"material": "short_stretch"}
LONG, COVER = {"material": "long_stretch_elastic"}, {"material": "cohesive_elastic"}
OWN: dict[str, Any] = {
    "title": "Wool with short-stretch bandage in the clinic's way",
    "source": "the clinic's own practice",
    "traits": ["inelastic"],
    "change_days": 3,
    "layers": [WOOL, {**SHORT, "patterns": ["herringbone"], "overlaps": [0.5]}],
    "reasons_for": [{"text": "our nurses are trained in it", "source": "the clinic"}],
    "reasons_against": [{"text": "slips on thin legs", "source": "the clinic's audit"}],
}


def clinic_list(*without: str, **systems: dict[str, Any]) -> SystemList:
    said = {"schema": "gaiter.systems/1", "name": "Heron Ford", "version": "1"}
    return SystemList.model_validate({**said, "without": list(without), "systems": systems})


def with_own(shipped: BandageCatalogue, *without: str, **systems: Any) -> BandageCatalogue:
    return changed_by(shipped, clinic_list(*without, **systems), sha256="c" * 64)


def planned(catalogue: BandageCatalogue, policy: Policy, **changes: Any) -> LegPlan:
    return plan(case(**changes), policy, catalogue, samples=256).legs[Side.RIGHT]


def test_an_added_system_is_planned_with_its_layers_and_its_own_reasons(policy, catalogue) -> None:
    leg = planned(with_own(catalogue, own=OWN), policy)
    made = next(system for system in leg.systems if system.name == "own")
    assert [layer.material for layer in made.layers] == ["orthopaedic_wool", "short_stretch"]
    assert made.layers[1].pattern == "herringbone"
    assert "our nurses are trained in it (the clinic)" in [why.text for why in made.reasons_for]
    assert "slips on thin legs (the clinic's audit)" in [why.text for why in made.reasons_against]


def test_a_plan_names_the_list_and_what_it_changed(policy, catalogue) -> None:
    own = with_own(catalogue, "four_layer", own=OWN)
    versions = plan(case(), policy, own, samples=256).versions
    assert versions.systems_sha256 == "c" * 64
    assert tuple(map(str, versions.systems_changes)) == (
        "bandage system taken out: Four layers (Heron Ford, version 1)",
        f"bandage system added: {OWN['title']}, components from the clinic's own practice "
        f"(Heron Ford, version 1)",
    )
    shipped = plan(case(), policy, catalogue, samples=256).versions
    assert shipped.systems_sha256 == catalogue.systems_sha256
    assert shipped.systems_changes == ()


def test_a_system_taken_out_is_neither_planned_nor_excused(policy, catalogue) -> None:
    leg = planned(with_own(catalogue, "four_layer"), policy)
    assert "four_layer" not in {system.name for system in leg.systems}
    assert not [text for text in leg.excluded if text.text.startswith("Four layers")]


def test_what_is_added_moves_no_number_of_the_shipped_ones(policy, catalogue) -> None:
    before = {system.name: system for system in planned(catalogue, policy).systems}
    added = with_own(catalogue, own=OWN)
    after = {system.name: system for system in planned(added, policy).systems}
    assert after.pop("own")
    assert after == before


# The layers of a four-layer bandage by ankle girth, as the builds were tabled before they were
# data: an ankle of exactly 25 or 30 cm belongs to the smaller build.
@pytest.mark.parametrize(
    ("ankle_cm", "layers"),
    [
        (18.0, "light_support light_elastic"),
        (25.0, "light_support light_elastic"),
        (25.1, "long_stretch_elastic"),
        (30.0, "long_stretch_elastic"),
        (30.1, "light_elastic long_stretch_elastic"),
    ],
)
def test_the_four_layer_build_follows_the_ankle(catalogue, ankle_cm: float, layers: str) -> None:
    four = next(one for one in catalogue.systems_for(ankle_cm) if one.name == "four_layer")
    wanted = ["orthopaedic_wool", *layers.split(), "cohesive_elastic"]
    assert [recipe.material for recipe in four.layers] == wanted


def test_shipped_systems_end_where_they_did(catalogue) -> None:
    ends = {one.name: one.end for one in catalogue.systems_for(22.0)}
    assert ends.pop("light_support") is Landmark.CALF
    assert set(ends.values()) == {Landmark.BELOW_KNEE}


# --- a list loosens nothing ---------------------------------------------------------------


def test_an_allergy_binds_an_added_system(policy, catalogue) -> None:
    own = OWN | {"title": "Covered", "traits": ["elastic", "cohesive"], "layers": [WOOL, COVER]}
    leg = planned(with_own(catalogue, own=own), policy, **{"person.allergies": [Allergen.LATEX]})
    assert "own" not in {system.name for system in leg.systems}
    assert [t for t in leg.excluded if t.text.startswith("Covered: allergy to latex")]


@pytest.mark.parametrize(
    ("refused", "layers", "traits"),
    [
        ("elastic", [WOOL, LONG], ["elastic"]),
        ("cohesive", [WOOL, COVER], ["elastic", "cohesive"]),
    ],
)
def test_what_is_not_tolerated_binds_an_added_system(
    policy, catalogue, refused, layers, traits
) -> None:
    own = OWN | {"layers": layers, "traits": traits}
    leg = planned(with_own(catalogue, own=own), policy, **{"person.does_not_tolerate": [refused]})
    words = f"{OWN['title']}: does not tolerate {refused} bandages"
    assert [text for text in leg.excluded if text.text.startswith(words)]


def test_the_maximum_binds_an_added_system(policy, catalogue) -> None:
    """Every chance above the maximum of an added system is within what policy allows, or no fit."""
    changes = {f"legs.right.arterial.{name}_mmhg": 92 for name in
               ("dorsalis_pedis", "posterior_tibial")}  # fmt: skip
    own = OWN | {"layers": [WOOL, SHORT], "reasons_for": OWN["reasons_for"]}
    leg = planned(with_own(catalogue, own=own), policy, **changes)
    assert leg.decision.maximum_mmhg == policy["reduced_maximum_mmhg"]
    made = next(system for system in leg.systems if system.name == "own")
    within = all(site.chance_above_maximum <= policy["chance_above_maximum"] for site in made.sites
                 if site.target_low_mmhg is not None)  # fmt: skip
    assert within or made.outcome.value == "cannot be reached"


def test_inelastic_only_leaves_an_elastic_layer_out_whatever_the_list_says(
    policy, catalogue
) -> None:
    """Mixed disease with both arteries low asks for inelastic only: judged by the material."""
    from gaiter.core.plan.suitability import Bearing, Patient, arguments
    from gaiter.core.safety import Effect, decide

    own = OWN | {
        "title": "Mixed",
        "traits": ["inelastic", "elastic"],
        "layers": [WOOL, SHORT, LONG],
    }
    made = next(s for s in with_own(catalogue, own=own).systems_for(22.0) if s.name == "own")
    asked = case()
    decision = decide(asked, policy).legs[Side.RIGHT]
    decision = decision.model_copy(update={"effects": frozenset({Effect.INELASTIC_ONLY})})
    patient = Patient(asked, asked.legs[Side.RIGHT], decision)
    materials = [catalogue[recipe.material] for recipe in made.layers]
    out = [a.text for a in arguments(patient, made, materials) if a.verdict is Bearing.OUT]
    assert any("only inelastic may be used" in text for text in out)


def test_own_reasons_never_outweigh_one_reason_about_harm(policy, catalogue) -> None:
    """Three reasons of comfort stand against one about harm; a fourth is refused."""
    from gaiter.core.plan.suitability import Patient, arguments, balance
    from gaiter.core.safety import Effect, decide

    praise = [{"text": f"good, reason {n}", "source": "the clinic"} for n in range(3)]
    own = OWN | {"traits": ["elastic"], "layers": [WOOL, LONG], "reasons_for": praise,
                 "reasons_against": []}  # fmt: skip
    plain = own | {"reasons_for": []}
    asked = case()
    decision = decide(asked, policy).legs[Side.RIGHT]
    decision = decision.model_copy(update={"effects": frozenset({Effect.INELASTIC})})
    patient = Patient(asked, asked.legs[Side.RIGHT], decision)

    def weight(said: dict[str, Any]) -> int:
        system = ListedSystem.model_validate(said).on_ankle("own", 22.0)
        return balance(arguments(patient, system, [catalogue[r.material] for r in system.layers]))

    assert weight(own) - weight(plain) == 3
    harm = [a.weight for a in arguments(
        patient, ListedSystem.model_validate(plain).on_ankle("own", 22.0),
        [catalogue["orthopaedic_wool"], catalogue["long_stretch_elastic"]],
    ) if "poor arteries need inelastic" in a.text]  # fmt: skip
    assert harm == [4]
    with pytest.raises(ValueError, match="at most 3"):
        ListedSystem.model_validate(own | {"reasons_for": [*praise, praise[0]]})


# What a list may not say: what is changed in the clinic's own system, the field, the words.
FAULTS = [
    ({"layers": [WOOL, {"material": "kite"}]}, "layers.1.material", "kite is not in the catalogue"),
    ({"layers": [WOOL, {"material": "tubular_elastic"}]}, "layers.1.material", "pulled on"),
    ({"layers": [WOOL, {**SHORT, "largest_stretch": 0.85}]}, "layers.1.largest_stretch",
     "must be 0.35 to 0.8, as short_stretch allows; received 0.85"),
    ({"layers": [{**WOOL, "largest_stretch": 0.5}, SHORT]}, "layers.0.largest_stretch",
     "stretched to press"),
    ({"layers": [WOOL, {**SHORT, "only_holds": True}]}, "layers.1.only_holds", "at most 10 mmHg"),
    ({"layers": [WOOL]}, "layers", "nothing that is stretched to press"),
    ({"layers": [WOOL, SHORT, SHORT]}, "layers", "hold short_stretch more than once"),
    ({"layers": [WOOL, {**SHORT, "ankle_to_cm": 25.0}]}, "layers",
     "nothing that is stretched to press on some ankle girths"),
    ({"layers": [WOOL, SHORT, {"material": "light_support", "only_holds": True}]}, "layers",
     "has nothing stretched over it"),
    ({"traits": ["light"], "layers": [WOOL, {"material": "light_elastic"}]}, "traits",
     "must hold elastic, for it is made of light_elastic"),
    ({"traits": ["elastic"], "layers": [WOOL, COVER]}, "traits", "must hold cohesive"),
    ({"traits": ["elastic"]}, "traits", "cannot hold elastic, for no layer that presses is"),
    ({"traits": ["inelastic"], "layers": [WOOL, LONG]}, "traits", "cannot hold inelastic"),
    ({"traits": ["inelastic", "zinc paste"]}, "traits", "no layer is zinc paste"),
    ({"traits": ["inelastic", "light"]}, "traits",
     "cannot hold light, for short_stretch gives more than 20 mmHg"),
    ({"traits": ["inelastic", "support"]}, "traits", "cannot hold support"),
    ({"traits": ["inelastic", "reduced"]}, "traits", "largest_stretch of its own"),
    ({"traits": ["elastic", "light"], "layers": [WOOL, {"material": "light_support"}]}, "traits",
     "must hold support, for it is made of light_support"),
    ({"traits": ["inelastic", "cohesive"],
      "layers": [{"material": "zinc_paste"}, WOOL, COVER]}, "traits", "must hold zinc paste"),
    ({"traits": ["inelastic", "elastic", "cohesive"],
      "layers": [WOOL, {"material": "light_elastic"}, SHORT, COVER]}, "traits",
     "must hold many layers"),
    ({"title": "FOUR LAYERS"}, "title", "is the title of four_layer as well"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "field", "words"), FAULTS)
def test_a_list_that_cannot_be_is_refused(catalogue, changes, field: str, words: str) -> None:
    with pytest.raises(SystemsError, match=words) as refused:
        with_own(catalogue, own={**deepcopy(OWN), **changes})
    assert f"systems.own.{field}" in {field for field, _text in refused.value.faults}


@pytest.mark.parametrize("name", ["four-layer", "Four", "1st", "x"])
def test_a_name_is_made_of_small_letters(catalogue, name: str) -> None:
    listed = {name: ListedSystem.model_validate(OWN)}
    assert "small letters" in faults_of(listed, catalogue.materials)[0][1]


def test_a_shipped_name_is_not_taken_by_another(catalogue) -> None:
    with pytest.raises(SystemsError, match="four_layer: is the name of a shipped system"):
        with_own(catalogue, "four_layer", four_layer=OWN)


def test_only_shipped_systems_can_be_taken_out(catalogue) -> None:
    with pytest.raises(SystemsError, match="five_layer is no shipped system; they are zinc_paste"):
        with_own(catalogue, "five_layer")


def test_something_is_left(catalogue) -> None:
    with pytest.raises(SystemsError, match="takes every system out"):
        with_own(catalogue, *catalogue.systems)


def test_a_catalogue_with_a_false_claim_cannot_be_made_by_another_way(catalogue) -> None:
    false = ListedSystem.model_validate(OWN | {"traits": ["elastic"]})
    with pytest.raises(ValueError, match="cannot hold elastic"):
        BandageCatalogue(
            materials=catalogue.materials,
            sha256="",
            systems={"own": false},
            systems_sha256="",
        )


# --- what the stock makes of a system ------------------------------------------------------


def left(catalogue: BandageCatalogue, *out: str) -> dict[str, Any]:
    return {key: one for key, one in catalogue.materials.items() if key not in out}


def test_an_inelastic_cover_makes_inelastic_only_what_has_no_elastic_layer_left(catalogue) -> None:
    stock = left(catalogue, "cohesive_elastic")
    systems = {one.name: one for one in catalogue.systems_for(22.0)}
    three, missing = from_stock(systems["wool_gauze_cohesive"], stock)
    assert not missing
    assert three.traits == {Trait.INELASTIC, Trait.COHESIVE}
    four, missing = from_stock(systems["four_layer"], stock)
    assert not missing
    assert four.layers[-1].material == "cohesive_inelastic"
    assert Trait.ELASTIC in four.traits
    assert Trait.INELASTIC not in four.traits


def test_who_does_not_tolerate_elastic_gets_no_light_elastic_under_an_inelastic_cover(
    policy, catalogue
) -> None:
    stock = {key: {"rolls": 9} for key in left(catalogue, "cohesive_elastic")}
    leg = planned(catalogue, policy, stock=stock, **{"person.does_not_tolerate": ["elastic"]})
    assert "four_layer" not in {system.name for system in leg.systems}


def test_a_layer_that_presses_is_never_left_out(catalogue) -> None:
    own = OWN | {
        "traits": ["support", "light"],
        "layers": [WOOL, {"material": "coarse_gauze"}, {"material": "light_support"}],
    }
    made = ListedSystem.model_validate(own).on_ankle("own", 22.0)
    _made, missing = from_stock(made, left(catalogue, "light_support"))
    assert missing.text == "light support is not in stock"
    thinner, missing = from_stock(made, left(catalogue, "coarse_gauze"))
    assert not missing
    assert [one.material for one in thinner.layers] == ["orthopaedic_wool", "light_support"]


def test_a_layer_with_a_stretch_of_its_own_is_not_replaced(catalogue) -> None:
    own = OWN | {
        "traits": ["elastic", "cohesive", "reduced"],
        "layers": [WOOL, {**COVER, "largest_stretch": 0.31}],
    }
    made = ListedSystem.model_validate(own).on_ankle("own", 22.0)
    assert "not in stock" in from_stock(made, left(catalogue, "cohesive_elastic"))[1]
