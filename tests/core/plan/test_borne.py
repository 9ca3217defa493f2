"""Allergy by what a material may contain, intolerance by what a system is."""

import pytest

from gaiter.core.case import Allergen, Person
from gaiter.core.plan.borne import allergic_to, not_borne, not_tolerated
from gaiter.core.plan.systems import Trait
from gaiter.files.catalogue_file import shipped_catalogue


def layers(*keys: str):
    return [shipped_catalogue()[key] for key in keys]


def test_an_allergy_names_the_material_and_what_it_may_contain() -> None:
    person = Person(allergies=(Allergen.LATEX, Allergen.PRESERVATIVES))
    cohesive, wool = layers("cohesive_elastic", "orthopaedic_wool")
    assert Allergen.LATEX in cohesive.allergens
    assert wool.allergens == ()
    (words,) = (why.text for why in allergic_to(person, [wool, cohesive, cohesive]))
    assert words.startswith("allergy to ")
    assert "latex" in words
    assert words.endswith(f"which {cohesive.title.lower()} may contain")


def test_several_allergens_stand_in_order_of_their_names() -> None:
    (material,) = layers("cohesive_elastic")
    both = material.model_copy(update={"allergens": (Allergen.LATEX, Allergen.COLOPHONY)})
    person = Person(allergies=(Allergen.LATEX, Allergen.COLOPHONY))
    (words,) = (why.text for why in allergic_to(person, [both]))
    assert words.startswith("allergy to colophony, latex, ")


@pytest.mark.parametrize("allergies", [None, (), (Allergen.PRESERVATIVES,)])
def test_no_shared_allergen_no_words(allergies) -> None:
    assert allergic_to(Person(allergies=allergies), layers("cohesive_elastic")) == ()


def test_what_is_not_tolerated_is_a_trait_of_the_system() -> None:
    person = Person(does_not_tolerate=("elastic", "cohesive"))
    (why,) = not_tolerated(person, {Trait.COHESIVE})
    assert why.text == "does not tolerate cohesive bandages"
    assert not_tolerated(person, {Trait.INELASTIC, Trait.PASTE}) == ()
    assert len(not_tolerated(person, {Trait.COHESIVE, Trait.ELASTIC})) == 2


def test_both_are_asked_and_allergy_comes_first() -> None:
    person = Person(allergies=(Allergen.LATEX,), does_not_tolerate=("elastic",))
    words = not_borne(person, layers("cohesive_elastic"), {Trait.ELASTIC})
    assert [one.text.split()[0] for one in words] == ["allergy", "does"]
