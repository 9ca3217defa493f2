"""Materials by generic kind and the tension of their fabric."""

from gaiter.core.fabric.catalogue import (
    Catalogue,
    Material,
    Thickness,
    catalogue_from_mapping,
    class_pressure_mmhg,
)
from gaiter.core.fabric.curve import StretchCurve

__all__ = [
    "Catalogue",
    "Material",
    "StretchCurve",
    "Thickness",
    "catalogue_from_mapping",
    "class_pressure_mmhg",
]
