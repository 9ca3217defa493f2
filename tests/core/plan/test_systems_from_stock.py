"""Bandage systems as the stock lets them be made."""

import pytest

from gaiter.core.landmark import Landmark
from gaiter.core.plan.systems import LayerRecipe, System, Trait, from_stock, materials_of
from gaiter.files.catalogue_file import shipped_catalogue


def system(name: str, ankle_cm: float = 22.0):
    return next(one for one in shipped_catalogue().systems_for(ankle_cm) if one.name == name)


def without(*keys: str):
    materials = shipped_catalogue().materials
    return {key: one for key, one in materials.items() if key not in keys}


@pytest.mark.parametrize(
    ("ankle_cm", "keys"),
    [
        (25.0, ["light_support", "light_elastic", "cohesive_elastic"]),
        (25.1, ["long_stretch_elastic", "cohesive_elastic"]),
        (30.0, ["long_stretch_elastic", "cohesive_elastic"]),
        (30.1, ["light_elastic", "long_stretch_elastic", "cohesive_elastic"]),
    ],
)
def test_the_build_of_four_layers_changes_above_25_and_30_cm(ankle_cm: float, keys) -> None:
    made = system("four_layer", ankle_cm)
    assert [layer.material for layer in made.layers] == ["orthopaedic_wool", *keys]


def test_every_material_of_every_system_is_in_the_catalogue() -> None:
    for ankle_cm in (22, 27, 32):
        for one in shipped_catalogue().systems_for(ankle_cm):
            assert {layer.material for layer in one.layers} <= set(shipped_catalogue().materials)


def test_names_are_their_own_and_only_light_support_ends_at_the_calf() -> None:
    every = shipped_catalogue().systems_for(22.0)
    assert len({one.name for one in every}) == len({one.title for one in every}) == len(every)
    ends = {one.name: one.end for one in every}
    assert ends.pop("light_support") is Landmark.CALF
    assert set(ends.values()) == {Landmark.BELOW_KNEE}


@pytest.mark.parametrize(
    ("name", "days"),
    # A week for several components, twice a week for short-stretch and light ones.
    [("four_layer", 7), ("zinc_paste_covered", 7), ("wool_short_stretch", 4), ("light_support", 3)],
)
def test_usual_days_between_changes(name: str, days: int) -> None:
    assert system(name).change_days == days


def test_in_stock_a_system_is_made_as_listed() -> None:
    made, missing = from_stock(system("four_layer"), without())
    assert (made, missing.text) == (system("four_layer"), "")
    keys = [material.key for material in materials_of(made, without())]
    assert keys == [layer.material for layer in made.layers]


def test_gauze_that_is_out_is_left_out_and_said() -> None:
    made, missing = from_stock(system("wool_gauze_long_stretch"), without("coarse_gauze"))
    assert missing.text == ""
    assert [layer.material for layer in made.layers] == ["orthopaedic_wool", "long_stretch_elastic"]
    assert [one.text for one in made.substituted] == [
        "Coarse gauze is out: the next layer holds the wool, lay it smooth.",
    ]


def test_the_inelastic_cohesive_bandage_makes_the_system_inelastic() -> None:
    made, missing = from_stock(system("wool_gauze_cohesive"), without("cohesive_elastic"))
    assert missing.text == ""
    assert made.layers[-1].material == "cohesive_inelastic"
    assert made.layers[-1].overlaps == system("wool_gauze_cohesive").layers[-1].overlaps
    assert made.traits == {Trait.INELASTIC, Trait.COHESIVE}
    gone = without("cohesive_elastic", "cohesive_inelastic")
    assert (
        from_stock(system("wool_gauze_cohesive"), gone)[1].text
        == "cohesive elastic is not in stock"
    )


def test_a_layer_that_is_the_systems_purpose_is_not_left_out() -> None:
    """Of light support two layers are all there is; of four layers the crepe only holds."""
    gone = without("light_support")
    assert from_stock(system("light_support"), gone)[1].text == "light support is not in stock"
    made, missing = from_stock(system("four_layer"), gone)
    assert missing.text == ""
    assert len(made.layers) == 3


def test_what_nothing_replaces_is_missing() -> None:
    made, missing = from_stock(system("wool_short_stretch"), without("short_stretch"))
    assert missing.text == "short stretch is not in stock"
    assert made == system("wool_short_stretch")


def test_reduced_short_stretch_stops_at_seven_tenths() -> None:
    assert system("reduced_short_stretch").layers[-1].largest_stretch == 0.7
    assert system("wool_short_stretch").layers[-1].largest_stretch is None


def test_an_elastic_layer_under_an_inelastic_cover_keeps_a_system_elastic() -> None:
    """Nothing here only holds the wool: the long-stretch layer presses."""
    keys = ("orthopaedic_wool", "long_stretch_elastic", "cohesive_elastic")
    traits = frozenset({Trait.ELASTIC, Trait.COHESIVE})
    own = System("own", "Own", tuple(LayerRecipe(key) for key in keys), traits, 7)
    made, missing = from_stock(own, without("cohesive_elastic"))
    assert not missing
    assert made.layers[-1].material == "cohesive_inelastic"
    assert made.traits == traits
    # Left out or in stock as listed, a system is what it was.
    assert from_stock(own, without())[0].traits == traits
    gauze = System("own", "Own", (LayerRecipe("coarse_gauze"), *own.layers), traits, 7)
    assert from_stock(gauze, without("coarse_gauze"))[0].traits == traits


def test_a_layer_lies_half_over_the_last_turn_unless_its_system_says_otherwise() -> None:
    """Half overlapping is two layers everywhere, the usual way."""
    assert LayerRecipe("short_stretch").overlaps == (0.5,)


def test_of_two_layers_none_is_left_out() -> None:
    """Gauze over wool is the whole system: without the gauze only wool would be left."""
    layers = (LayerRecipe("orthopaedic_wool"), LayerRecipe("coarse_gauze"))
    two = System("two", "Two", layers, frozenset({Trait.SUPPORT}), 3)
    made, missing = from_stock(two, without("coarse_gauze"))
    assert (made, missing.text) == (two, "coarse gauze is not in stock")
