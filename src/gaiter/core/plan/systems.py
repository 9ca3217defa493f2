"""The bandage systems that a plan chooses among, as ordered layers of generic materials.

Component lists: four-layer and three-layer systems of the Wirral trial (Evidence-Based Nursing);
the builds by ankle girth are from memory, not verified.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.fabric import Material
from gaiter.core.landmark import Landmark


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
    note : str
        What the bandager must know, printed beside the layer.
    only_holds : bool
        Whether it only holds the wool: just taut, no mark of its own.
    largest_stretch : float or None
        Largest stretch in this system, as a fraction; None: the material's own.
    """

    material: str
    patterns: tuple[Pattern, ...] = (Pattern.SPIRAL,)
    overlaps: tuple[float, ...] = (0.5,)
    note: str = ""
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
    substituted : tuple[str, ...]
        What replaces a material that has run out, in words.
    """

    name: str
    title: str
    layers: tuple[LayerRecipe, ...]
    traits: frozenset[Trait]
    change_days: int
    end: Landmark = Landmark.BELOW_KNEE
    substituted: tuple[str, ...] = ()


_WOOL = LayerRecipe("orthopaedic_wool", note="Soft, next to the skin.")
_GAUZE = LayerRecipe("coarse_gauze", note="Just taut enough to lie smooth; it holds the wool.")
_WOOL_OVER_PASTE = LayerRecipe("orthopaedic_wool", note="Over the paste; no stretch.")
_PASTE = LayerRecipe("zinc_paste", note="No tension; pleat at every turn, it tightens on drying.")
_HOLDING_CREPE = LayerRecipe(
    "light_support",
    note="It only holds the wool, no tighter than the layer over it; the mark there is for both.",
    only_holds=True,
)
_UP_THE_LEG = (Pattern.SPIRAL, Pattern.HERRINGBONE)
_HALF_OR_TWO_THIRDS = (0.5, 2 / 3)


def _pressing(material: str) -> LayerRecipe:
    return LayerRecipe(material, _UP_THE_LEG, _HALF_OR_TWO_THIRDS)


# Seven tenths of its usual tension, where 2 mm of marks are an eighth of the pressure, not a third
# (our choice, no source).
_REDUCED_STRETCH = 0.7
_REDUCED_SHORT_STRETCH = LayerRecipe(
    "short_stretch",
    _UP_THE_LEG,
    _HALF_OR_TWO_THIRDS,
    note="At low tension, well short of its full stretch. Confirm with a sensor at the gaiter, or "
    "let a second person read the marks.",
    largest_stretch=_REDUCED_STRETCH,
)

# Ankle girths at which the build of a four-layer bandage changes [cm]; from memory.
_MEDIUM_ANKLE_CM, _LARGE_ANKLE_CM = 25.0, 30.0


def bandage_systems(ankle_girth_cm: float) -> tuple[System, ...]:
    """Every system, its layers chosen for this ankle (girth over the wool) [cm]."""
    return (
        System(
            "zinc_paste_covered",
            "Zinc paste bandage with a cohesive cover",
            (_PASTE, _WOOL_OVER_PASTE, _pressing("cohesive_elastic")),
            frozenset({Trait.PASTE, Trait.COHESIVE, Trait.INELASTIC, Trait.MANY_LAYERS}),
            7,
        ),
        System(
            "wool_gauze_long_stretch",
            "Three layers with long-stretch elastic bandage",
            (_WOOL, _GAUZE, _pressing("long_stretch_elastic")),
            frozenset({Trait.ELASTIC}),
            7,
        ),
        System(
            "wool_gauze_cohesive",
            "Three layers with cohesive bandage",
            (_WOOL, _GAUZE, _pressing("cohesive_elastic")),
            frozenset({Trait.ELASTIC, Trait.COHESIVE}),
            7,
        ),
        System(
            "four_layer",
            "Four layers",
            (_WOOL, *_four_layer_build(ankle_girth_cm)),
            frozenset({Trait.ELASTIC, Trait.COHESIVE, Trait.MANY_LAYERS}),
            7,
        ),
        System(
            "wool_short_stretch",
            "Wool with short-stretch bandage",
            (_WOOL, _pressing("short_stretch")),
            frozenset({Trait.INELASTIC}),
            4,
        ),
        System(
            "reduced_short_stretch",
            "Reduced: wool with short-stretch bandage at low tension",
            (_WOOL, _REDUCED_SHORT_STRETCH),
            frozenset({Trait.INELASTIC, Trait.REDUCED}),
            4,
        ),
        System(
            "reduced_elastic",
            "Reduced: wool with light elastic bandage",
            (_WOOL, _pressing("light_elastic")),
            frozenset({Trait.ELASTIC, Trait.LIGHT}),
            4,
        ),
        System(
            "light_support",
            "Light support for a sprain or tendinitis",
            (_WOOL, LayerRecipe("light_support", _UP_THE_LEG, _HALF_OR_TWO_THIRDS)),
            frozenset({Trait.SUPPORT, Trait.LIGHT}),
            3,
            end=Landmark.CALF,
        ),
    )


def _four_layer_build(ankle_girth_cm: float) -> tuple[LayerRecipe, ...]:
    crepe, cover = _HOLDING_CREPE, LayerRecipe("cohesive_elastic")
    if ankle_girth_cm <= _MEDIUM_ANKLE_CM:
        return (crepe, LayerRecipe("light_elastic"), cover)
    if ankle_girth_cm <= _LARGE_ANKLE_CM:
        return (LayerRecipe("long_stretch_elastic"), cover)
    return (LayerRecipe("light_elastic"), LayerRecipe("long_stretch_elastic"), cover)


# What may replace a material that has run out; None: the layer is left out.
_SUBSTITUTES: Mapping[str, tuple[str | None, str]] = {
    "coarse_gauze": (None, "Coarse gauze is out: the next layer holds the wool, lay it smooth."),
    "cohesive_elastic": (
        "cohesive_inelastic",
        "Elastic cohesive bandage is out: the inelastic one replaces it, at its own stretch.",
    ),
    "light_support": (None, "Light support bandage is out: the next layer holds the wool."),
}


def from_stock(system: System, materials: Mapping[str, Material]) -> tuple[System, str]:
    """The system as it can be made from the stock, and what is missing (empty when nothing)."""
    layers: list[LayerRecipe] = []
    words: list[str] = []
    for recipe in system.layers:
        if recipe.material in materials:
            layers.append(recipe)
            continue
        other, text = _SUBSTITUTES.get(recipe.material, (recipe.material, ""))
        # Where this layer is the system's purpose, leaving it out would make another system.
        if other is None and len(system.layers) > 2:
            words.append(text)
        elif other is not None and other in materials:
            layers.append(replace(recipe, material=other))
            words.append(text)
        else:
            return system, f"{recipe.material.replace('_', ' ')} is not in stock"
    traits = system.traits
    if "cohesive_inelastic" in {layer.material for layer in layers}:
        traits = (traits - {Trait.ELASTIC}) | {Trait.INELASTIC}
    return replace(system, layers=tuple(layers), traits=traits, substituted=tuple(words)), ""


def materials_of(system: System, materials: Mapping[str, Material]) -> Sequence[Material]:
    """The materials of a system's layers, in order."""
    return [materials[recipe.material] for recipe in system.layers]
