"""Materials by generic kind, and the catalogue that holds them."""

from collections.abc import Mapping
from itertools import pairwise
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from gaiter.core.case import Allergen
from gaiter.core.fabric.curve import StretchCurve
from gaiter.core.pressure.laplace import ring_mean_mmhg, thicknesses_from_overlap
from gaiter.core.units import LAPLACE_MMHG_CM2_PER_N

# Bandage classes are stated on this ankle (BS 7505; girth, width and overlap from memory).
REFERENCE_ANKLE_CM, REFERENCE_OVERLAP = 23.0, 0.5

# Width of wool, and of bandages on foot and ankle (common practice, no source) [cm].
USUAL_WIDTH_CM = 10.0

Positive = Annotated[float, Field(gt=0)]


class Thickness(BaseModel):
    """Thickness of a material as wrapped, half overlapping [cm]."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    low_cm: Annotated[float, Field(ge=0)]
    high_cm: Annotated[float, Field(ge=0, le=3)]
    source: str

    @property
    def planned_cm(self) -> float:
        """The middle of the range, used for planning [cm]."""
        return (self.low_cm + self.high_cm) / 2


class Material(BaseModel):
    """A kind of roll.

    Stretches are fractions of the relaxed length. A material without a pressure class presses
    nothing in the calculation.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    key: str
    title: str
    kind: Literal["padding", "retention", "elastic", "inelastic", "rigid", "tube"]
    widths_cm: tuple[Positive, ...] = Field(min_length=1)
    relaxed_length_cm: Positive
    length_source: str
    class_mmhg: Positive | None = None
    class_source: str = ""
    locking_stretch: Positive | None = None
    locking_source: str = ""
    usual_stretch: Annotated[float, Field(ge=0)] = 0.0
    least_stretch: Annotated[float, Field(ge=0)] = 0.0
    largest_stretch: Annotated[float, Field(ge=0)] = 0.0
    stretch_source: str = ""
    thickness: Thickness | None = None
    measured: StretchCurve | None = None
    allergens: tuple[Allergen, ...] = ()
    cohesive: bool = False
    breathes: bool
    washable: bool
    note: str

    @model_validator(mode="after")
    def _stretches_in_order(self) -> Self:
        if self.class_mmhg is None:
            return self
        if self.kind in ("rigid", "tube"):
            return self
        if self.locking_stretch is None:
            raise ValueError(f"{self.key}: a pressing bandage needs locking_stretch")
        limits = (
            0,
            self.least_stretch,
            self.usual_stretch,
            self.largest_stretch,
            self.locking_stretch,
        )
        if not all(a < b for a, b in pairwise(limits)):
            raise ValueError(
                f"{self.key}: stretches must rise from least over usual and largest to locking; "
                f"received {limits[1:]}"
            )
        return self

    @property
    def usual_width_cm(self) -> float:
        """Width for foot and ankle: 10 cm where there is one, else the narrowest [cm]."""
        return USUAL_WIDTH_CM if USUAL_WIDTH_CM in self.widths_cm else min(self.widths_cm)

    @property
    def stretches(self) -> bool:
        """Whether its pressure is set by stretch, along a stretch curve."""
        return self.class_mmhg is not None and self.locking_stretch is not None

    @property
    def presses(self) -> bool:
        """Whether its tension counts in the plan."""
        return self.stretches or self.kind == "rigid"

    @property
    def resting_tension_n_per_cm(self) -> float:
        """Largest tension that a source names for a material without stretch [N/cm]."""
        if self.stretches or self.class_mmhg is None:
            raise ValueError(f"{self.title} has no resting tension: its stretch sets the pressure")
        return _class_tension_n_per_cm(self.class_mmhg)

    @property
    def curve(self) -> StretchCurve:
        """Its stretch curve, the clinic's own where a bench test gave one."""
        if self.measured is not None:
            return self.measured
        if self.class_mmhg is None or self.locking_stretch is None:
            raise ValueError(f"{self.title} has no stretch curve: it presses nothing in a plan")
        tension = _class_tension_n_per_cm(self.class_mmhg)
        return StretchCurve(self.usual_stretch, tension, self.locking_stretch)


def _class_tension_n_per_cm(pressure_mmhg: float) -> float:
    """Tension that gives a pressure on the reference ankle [N/cm]."""
    thicknesses = thicknesses_from_overlap(REFERENCE_OVERLAP)
    return pressure_mmhg * REFERENCE_ANKLE_CM / (LAPLACE_MMHG_CM2_PER_N * thicknesses)


def class_pressure_mmhg(material: Material) -> float:
    """Pressure on the reference ankle at usual stretch [mmHg]: 23 cm girth, half overlap."""
    return ring_mean_mmhg(
        float(material.curve.tension_n_per_cm(material.usual_stretch)),
        REFERENCE_ANKLE_CM,
        thicknesses_from_overlap(REFERENCE_OVERLAP),
    )


class Catalogue(BaseModel):
    """Materials by key, with the fingerprint of the file they came from."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    materials: Mapping[str, Material]
    sha256: str

    def __getitem__(self, key: str) -> Material:
        return self.materials[key]


def catalogue_from_mapping(mapping: Mapping[str, Mapping[str, Any]], sha256: str) -> Catalogue:
    """Catalogue of a parsed file: one table for each material, its key as the table's name.

    Raises
    ------
    pydantic.ValidationError
        Naming the field that is wrong.
    """
    materials = {key: Material(key=key, **fields) for key, fields in mapping.items()}
    return Catalogue(materials=materials, sha256=sha256)
