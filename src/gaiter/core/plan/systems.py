"""The bandage systems that a plan chooses among, as ordered layers of generic materials."""

from dataclasses import dataclass

from gaiter.core.bandage.technique import Pattern


@dataclass(frozen=True)
class LayerRecipe:
    """How one material is applied in a system.

    Attributes
    ----------
    material : str
        Key in the catalogue.
    patterns : tuple[Pattern, ...]
        Patterns that may be chosen.
    overlaps : tuple[float, ...]
        Overlaps that may be chosen, as a share of the width.
    note : str
        What the bandager must know, printed beside the layer.
    """

    material: str
    patterns: tuple[Pattern, ...] = (Pattern.SPIRAL,)
    overlaps: tuple[float, ...] = (0.5,)
    note: str = ""


@dataclass(frozen=True)
class System:
    """A bandage system.

    Attributes
    ----------
    name, title : str
        Key, and name for a reader.
    layers : tuple[LayerRecipe, ...]
        From the skin outwards; one of them presses.
    """

    name: str
    title: str
    layers: tuple[LayerRecipe, ...]


_WOOL = LayerRecipe(
    "orthopaedic_wool",
    note="No stretch. Build up hollows and bony places as listed below.",
)
_GAUZE = LayerRecipe("coarse_gauze", note="Just taut enough to lie smooth; it holds the wool.")
_UP_THE_LEG = (Pattern.SPIRAL, Pattern.HERRINGBONE)
_HALF_OR_TWO_THIRDS = (0.5, 2 / 3)

SYSTEMS = (
    System(
        "wool_gauze_long_stretch",
        "Three layers with long-stretch elastic bandage",
        (
            _WOOL,
            _GAUZE,
            LayerRecipe("long_stretch_elastic", _UP_THE_LEG, _HALF_OR_TWO_THIRDS),
        ),
    ),
    System(
        "wool_gauze_cohesive",
        "Three layers with cohesive bandage",
        (
            _WOOL,
            _GAUZE,
            LayerRecipe("cohesive_elastic", _UP_THE_LEG, _HALF_OR_TWO_THIRDS),
        ),
    ),
    System(
        "wool_short_stretch",
        "Wool with short-stretch bandage",
        (_WOOL, LayerRecipe("short_stretch", _UP_THE_LEG, _HALF_OR_TWO_THIRDS)),
    ),
)
