"""Whether a person bears the materials of a bandage: allergy and intolerance."""

from collections.abc import Sequence, Set

from gaiter.core.case import Person
from gaiter.core.fabric import Material
from gaiter.core.plan.systems import Trait
from gaiter.core.words import Said, words

# What a person does not tolerate, and the trait of a system that has it.
_INTOLERANCE = {"elastic": Trait.ELASTIC, "cohesive": Trait.COHESIVE}


def not_borne(
    person: Person, materials: Sequence[Material], traits: Set[Trait]
) -> tuple[Said, ...]:
    """Words for every layer that a person is allergic to or does not tolerate.

    Parameters
    ----------
    person : Person
        With allergies and intolerances as said.
    materials : sequence of Material
        Of the layers, from the skin outwards.
    traits : set of Trait
        Of the bandage system.

    Returns
    -------
    tuple[Said, ...]
        Empty where the bandage is borne.

    Examples
    --------
    >>> [why.text for why in not_borne(Person(does_not_tolerate=("elastic",)), (), {Trait.ELASTIC})]
    ['does not tolerate elastic bandages']
    """
    return (*allergic_to(person, materials), *not_tolerated(person, traits))


def allergic_to(person: Person, materials: Sequence[Material]) -> tuple[Said, ...]:
    """A sentence for every material that may contain what a person is allergic to.

    Parameters
    ----------
    person : Person
        With allergies as said.
    materials : sequence of Material
        Of the layers, from the skin outwards.

    Returns
    -------
    tuple[str, ...]

    Examples
    --------
    >>> from gaiter.core.case import Allergen
    >>> person = Person(allergies=["latex"])
    >>> cohesive = Material.model_construct(title="Cohesive", allergens=(Allergen.LATEX,))
    >>> [why.text for why in allergic_to(person, [cohesive])]
    ['allergy to latex, which cohesive may contain']
    """
    found: dict[str, Said] = {}
    for material in materials:
        shared = set(material.allergens) & set(person.allergies or ())
        if shared:
            said = Said(
                "allergy to {allergens}, which {material} may contain",
                {
                    "allergens": words(sorted(allergen.value for allergen in shared)),
                    "material": Said(material.title.lower()),
                },
                "allergy",
            )
            found.setdefault(said.text, said)
    return tuple(found.values())


def not_tolerated(person: Person, traits: Set[Trait]) -> tuple[Said, ...]:
    """A sentence for every trait of a system that a person does not tolerate.

    Parameters
    ----------
    person : Person
        With intolerances as said.
    traits : set of Trait
        Of the bandage system.

    Returns
    -------
    tuple[str, ...]

    Examples
    --------
    >>> person = Person(does_not_tolerate=["cohesive"])
    >>> [why.text for why in not_tolerated(person, {Trait.COHESIVE, Trait.ELASTIC})]
    ['does not tolerate cohesive bandages']
    """
    return tuple(
        Said("does not tolerate {kind} bandages", {"kind": Said(name)}, "intolerance")
        for name in person.does_not_tolerate
        if _INTOLERANCE[name] in traits
    )
