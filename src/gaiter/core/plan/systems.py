"""A bandage system for one leg, as ordered layers of materials, and what the stock makes of it.

Which systems there are is data: :mod:`gaiter.core.plan.system_list`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.fabric import Material
from gaiter.core.landmark import Landmark
from gaiter.core.words import NOTHING, Said


class Trait(StrEnum):
    """What a system is like; reasons for and against rest on it."""

    ELASTIC = "elastic"
    INELASTIC = "inelastic"
    COHESIVE = "cohesive"
    MANY_LAYERS = "many layers"
    PASTE = "zinc paste"
    LIGHT = "light"
    REDUCED = "reduced"
    SUPPORT = "support"


@dataclass(frozen=True)
class LayerRecipe:
    """How one material is applied in a system.

    Attributes
    ----------
    material : str
        Key in the catalogue.
    patterns, overlaps : tuple
        Patterns and overlaps (share of the width) that may be chosen.
    note : Said
        What the bandager must know, printed beside the layer.
    only_holds : bool
        Whether it only holds the wool: just taut, no mark of its own.
    largest_stretch : float or None
        Largest stretch in this system, as a fraction; None: the material's own.

    Examples
    --------
    Unless said otherwise a layer goes up in a spiral, half overlapping:

    >>> recipe = LayerRecipe("long_stretch_elastic")
    >>> recipe.patterns[0].value, recipe.overlaps
    ('spiral', (0.5,))
    """

    material: str
    patterns: tuple[Pattern, ...] = (Pattern.SPIRAL,)
    overlaps: tuple[float, ...] = (0.5,)
    note: Said = NOTHING
    only_holds: bool = False
    largest_stretch: float | None = None


@dataclass(frozen=True)
class System:
    """A bandage system.

    Attributes
    ----------
    name, title : str
        Key, and name for a reader.
    layers : tuple[LayerRecipe, ...]
        From the skin outwards.
    traits : frozenset[Trait]
        What it is like.
    change_days : int
        Usual days between changes; exudate and swelling shorten them.
    end : Landmark
        Where it ends.
    substituted : tuple[Said, ...]
        What replaces a material that has run out, in words.
    reasons_for, reasons_against : tuple[Said, ...]
        What its list says for and against it, each with its source.

    Examples
    --------
    >>> layers = (LayerRecipe("orthopaedic_wool"), LayerRecipe("long_stretch_elastic"))
    >>> System("own", "Own system", layers, frozenset({Trait.ELASTIC}), change_days=7).end.label
    'below knee'
    """

    name: str
    title: str
    layers: tuple[LayerRecipe, ...]
    traits: frozenset[Trait]
    change_days: int
    end: Landmark = Landmark.BELOW_KNEE
    substituted: tuple[Said, ...] = ()
    reasons_for: tuple[Said, ...] = ()
    reasons_against: tuple[Said, ...] = ()


# What may replace a material that has run out; None: the layer is left out.
_SUBSTITUTES: Mapping[str, tuple[str | None, Said]] = {
    "coarse_gauze": (
        None,
        Said("Coarse gauze is out: the next layer holds the wool, lay it smooth."),
    ),
    "cohesive_elastic": (
        "cohesive_inelastic",
        Said("Elastic cohesive bandage is out: the inelastic one replaces it, at its own stretch."),
    ),
    "light_support": (None, Said("Light support bandage is out: the next layer holds the wool.")),
}


def from_stock(system: System, materials: Mapping[str, Material]) -> tuple[System, Said]:
    """The system as it can be made from the stock, and what is missing.

    Parameters
    ----------
    system : System
        As it is listed.
    materials : Mapping[str, Material]
        The stock, by name.

    Returns
    -------
    System, Said
        With what replaces a material that is out, in words; the second is empty when nothing is
        missing.

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> stock = dict(shipped_catalogue().materials)
    >>> layers = (LayerRecipe("orthopaedic_wool"), LayerRecipe("cohesive_elastic"))
    >>> system = System("own", "Own system", layers, frozenset({Trait.ELASTIC}), change_days=7)
    >>> del stock["cohesive_elastic"]
    >>> made, missing = from_stock(system, stock)
    >>> made.layers[1].material, [trait.value for trait in made.traits], bool(missing)
    ('cohesive_inelastic', ['inelastic'], False)
    >>> del stock["cohesive_inelastic"]
    >>> from_stock(system, stock)[1].text
    'cohesive elastic is not in stock'
    """
    layers: list[LayerRecipe] = []
    words: list[Said] = []
    for recipe in system.layers:
        if recipe.material in materials:
            layers.append(recipe)
            continue
        other, text = _SUBSTITUTES.get(recipe.material, (recipe.material, NOTHING))
        # Where this layer is the system's purpose, leaving it out would make another system.
        if other is None and _may_be_left_out(recipe) and len(system.layers) > 2:
            words.append(text)
        elif other is not None and other in materials and _may_be_replaced(recipe, other, system):
            layers.append(replace(recipe, material=other))
            words.append(text)
        else:
            name = Said(recipe.material.replace("_", " "))
            return system, Said("{material} is not in stock", {"material": name}, "not_in_stock")
    traits = system.traits
    if layers != list(system.layers) and _is_now_inelastic(layers, materials):
        traits = (traits - {Trait.ELASTIC}) | {Trait.INELASTIC}
    return replace(system, layers=tuple(layers), traits=traits, substituted=tuple(words)), NOTHING


def _may_be_left_out(recipe: LayerRecipe) -> bool:
    """Whether a layer adds no pressure that was wanted."""
    return recipe.only_holds or recipe.material == "coarse_gauze"


def _may_be_replaced(recipe: LayerRecipe, other: str, system: System) -> bool:
    """Whether another material can take a layer's place: not one whose stretch was chosen."""
    return recipe.largest_stretch is None and other not in {one.material for one in system.layers}


def _is_now_inelastic(layers: Sequence[LayerRecipe], materials: Mapping[str, Material]) -> bool:
    """Whether every layer that presses by stretch is inelastic after a replacement."""
    stretched = [
        materials[layer.material]
        for layer in layers
        if materials[layer.material].stretches and not layer.only_holds
    ]
    return all(material.kind == "inelastic" for material in stretched)


def materials_of(system: System, materials: Mapping[str, Material]) -> Sequence[Material]:
    """The materials of a system's layers.

    Parameters
    ----------
    system : System
        Made of materials that are all there.
    materials : Mapping[str, Material]
        By name.

    Returns
    -------
    sequence of Material
        From the skin outwards.

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> layers = (LayerRecipe("orthopaedic_wool"), LayerRecipe("long_stretch_elastic"))
    >>> system = System("own", "Own system", layers, frozenset({Trait.ELASTIC}), change_days=7)
    >>> [one.presses for one in materials_of(system, shipped_catalogue().materials)]
    [False, True]
    """
    return [materials[recipe.material] for recipe in system.layers]
