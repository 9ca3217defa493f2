"""Materials by generic kind and the tension of their fabric."""

from gaiter.core.material.catalogue import (
    Allergen,
    Catalogue,
    Material,
    Thickness,
    catalogue_from_mapping,
    class_pressure_mmhg,
)
from gaiter.core.material.curve import StretchCurve

__all__ = [
    "Allergen",
    "Catalogue",
    "Material",
    "StretchCurve",
    "Thickness",
    "catalogue_from_mapping",
    "class_pressure_mmhg",
]
