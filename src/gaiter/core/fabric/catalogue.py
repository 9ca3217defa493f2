"""Materials by generic kind, and the catalogue that holds them."""

from collections.abc import Mapping
from itertools import pairwise
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from gaiter.core.case import Allergen
from gaiter.core.errors import InputError
from gaiter.core.fabric.curve import StretchCurve
from gaiter.core.pressure.laplace import ring_mean_mmhg, thicknesses_from_overlap
from gaiter.core.units import LAPLACE_MMHG_CM2_PER_N
from gaiter.core.words import Said

# Bandage classes are stated on this ankle (BS 7505; girth, width and overlap from memory).
REFERENCE_ANKLE_CM, REFERENCE_OVERLAP = 23.0, 0.5

# Width of wool, and of bandages on foot and ankle (common practice, no source) [cm].
USUAL_WIDTH_CM = 10.0

Positive = Annotated[float, Field(gt=0)]


class Thickness(BaseModel):
    """Thickness of a material as wrapped, half overlapping.

    Attributes
    ----------
    low_cm, high_cm : float
        Bounds, 0 to 3 [cm].
    source : str
        Where they come from.

    References
    ----------
    Al Khaburi et al. Phlebology 2011;26(2):75-83: 5.65 mm a component is what the published 19.2 %
    over-estimate implies; the shipped wool is taken between nothing and that.

    Examples
    --------
    >>> round(Thickness(low_cm=0.2, high_cm=0.3, source="invented").planned_cm, 2)
    0.25
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    low_cm: Annotated[float, Field(ge=0)]
    high_cm: Annotated[float, Field(ge=0, le=3)]
    source: str

    @property
    def planned_cm(self) -> float:
        """The middle of the range, used for planning [cm].

        Returns
        -------
        float
            [cm].

        Examples
        --------
        >>> Thickness(low_cm=0.0, high_cm=0.5, source="invented").planned_cm
        0.25
        """
        return (self.low_cm + self.high_cm) / 2


class Material(BaseModel):
    """A kind of roll.

    Stretches are fractions of the relaxed length. A material without a pressure class presses
    nothing in the calculation.

    Attributes
    ----------
    key, title : str
        Name in files and for a reader.
    kind : str
        Generic kind.
    widths_cm : tuple[float, ...]
        Widths there are [cm], above 0.
    relaxed_length_cm : float
        Length of a relaxed roll [cm], above 0.
    class_mmhg : float or None
        Pressure class on the reference ankle [mmHg]; None presses nothing.
    locking_stretch, usual_stretch, least_stretch, largest_stretch : float
        Fractions; they rise from least over usual and largest to locking.
    thickness : Thickness or None
        As wrapped.
    measured : StretchCurve or None
        The clinic's own, from a bench test.
    allergens : tuple[Allergen, ...]
        What it may contain.
    breathes, washable : bool
        Properties.

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> shipped_catalogue()["long_stretch_elastic"].class_mmhg
    40.0
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
            raise InputError(
                Said("{key}: a pressing bandage needs locking_stretch", {"key": self.key})
            )
        limits = (
            0,
            self.least_stretch,
            self.usual_stretch,
            self.largest_stretch,
            self.locking_stretch,
        )
        if not all(a < b for a, b in pairwise(limits)):
            raise InputError(
                Said(
                    "{key}: stretches must rise from least over usual and largest to locking; "
                    "received {limits}",
                    {"key": self.key, "limits": str(limits[1:])},
                )
            )
        return self

    @property
    def usual_width_cm(self) -> float:
        """Width for foot and ankle: 10 cm where there is one, else the narrowest [cm].

        Returns
        -------
        float
            [cm].

        Notes
        -----
        Common practice, no source.

        Examples
        --------
        >>> Material.model_construct(widths_cm=(8.0, 10.0)).usual_width_cm
        10.0
        >>> Material.model_construct(widths_cm=(12.0, 7.5)).usual_width_cm
        7.5
        """
        return USUAL_WIDTH_CM if USUAL_WIDTH_CM in self.widths_cm else min(self.widths_cm)

    @property
    def stretches(self) -> bool:
        """Whether its pressure is set by stretch, along a stretch curve.

        Returns
        -------
        bool

        Examples
        --------
        >>> Material.model_construct(class_mmhg=20.0, locking_stretch=None).stretches
        False
        """
        return self.class_mmhg is not None and self.locking_stretch is not None

    @property
    def presses(self) -> bool:
        """Whether its tension counts in the plan.

        Returns
        -------
        bool

        Examples
        --------
        >>> Material.model_construct(kind="rigid", class_mmhg=20.0, locking_stretch=None).presses
        True
        """
        return self.stretches or self.kind == "rigid"

    @property
    def resting_tension_n_per_cm(self) -> float:
        """Largest tension that a source names for a material without stretch [N/cm].

        Returns
        -------
        float
            [N/cm].

        Raises
        ------
        ValueError
            If its stretch sets the pressure, or it has no class.

        References
        ----------
        BS 7505 (reference ankle of 23 cm at half overlap, from memory).

        Examples
        --------
        20 x 23 / (471.278 x 2):

        >>> paste = Material.model_construct(title="Paste", class_mmhg=20.0, locking_stretch=None)
        >>> round(paste.resting_tension_n_per_cm, 3)
        0.488
        """
        if self.stretches or self.class_mmhg is None:
            raise ValueError(f"{self.title} has no resting tension: its stretch sets the pressure")
        return _class_tension_n_per_cm(self.class_mmhg)

    @property
    def curve(self) -> StretchCurve:
        """Its stretch curve, the clinic's own where a bench test gave one.

        Returns
        -------
        StretchCurve

        Raises
        ------
        ValueError
            If it has no class or no locking stretch and was not measured.

        References
        ----------
        BS 7505 (reference ankle of 23 cm at half overlap, from memory).

        Examples
        --------
        40 x 23 / (471.278 x 2):

        >>> from gaiter.files.catalogue_file import shipped_catalogue
        >>> round(shipped_catalogue()["long_stretch_elastic"].curve.usual_tension_n_per_cm, 3)
        0.976
        """
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
    """Pressure on the reference ankle at usual stretch [mmHg]: 23 cm girth, half overlap.

    Parameters
    ----------
    material : Material
        One that stretches.

    Returns
    -------
    float
        [mmHg].

    Raises
    ------
    ValueError
        If it has no stretch curve.

    References
    ----------
    BS 7505 (girth, width and overlap from memory).

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> round(class_pressure_mmhg(shipped_catalogue()["long_stretch_elastic"]), 6)
    40.0
    """
    return ring_mean_mmhg(
        float(material.curve.tension_n_per_cm(material.usual_stretch)),
        REFERENCE_ANKLE_CM,
        thicknesses_from_overlap(REFERENCE_OVERLAP),
    )


class Catalogue(BaseModel):
    """Materials by key, with the fingerprint of the file they came from.

    Attributes
    ----------
    materials : Mapping[str, Material]
        By key.
    sha256 : str
        Fingerprint.

    Examples
    --------
    >>> Catalogue(materials={}, sha256="").materials
    {}
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    materials: Mapping[str, Material]
    sha256: str

    def __getitem__(self, key: str) -> Material:
        return self.materials[key]


def catalogue_from_mapping(mapping: Mapping[str, Mapping[str, Any]], sha256: str) -> Catalogue:
    """Catalogue of a parsed file: one table for each material, its key as the table's name.

    Parameters
    ----------
    mapping : Mapping[str, Mapping]
        Fields of :class:`Material` but the key.
    sha256 : str
        Fingerprint of the file.

    Returns
    -------
    Catalogue

    Raises
    ------
    pydantic.ValidationError
        Naming the field that is wrong.

    Examples
    --------
    >>> wool = {
    ...     "title": "Wool", "kind": "padding", "widths_cm": [10], "relaxed_length_cm": 300,
    ...     "length_source": "invented", "breathes": True, "washable": False, "note": "",
    ... }
    >>> catalogue_from_mapping({"wool": wool}, sha256="")["wool"].usual_width_cm
    10.0
    """
    materials = {key: Material(key=key, **fields) for key, fields in mapping.items()}
    return Catalogue(materials=materials, sha256=sha256)
