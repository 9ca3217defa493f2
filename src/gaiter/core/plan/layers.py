"""A pressing layer: before it is designed, as somebody chose it, and designed."""

from dataclasses import dataclass

from gaiter.core.arrays import Array
from gaiter.core.fabric import Material
from gaiter.core.plan.laying import Geometry, LaidLayer
from gaiter.core.plan.systems import LayerRecipe


@dataclass(frozen=True)
class PressingLayer:
    """A layer that presses, before it is designed.

    Attributes
    ----------
    recipe : LayerRecipe
        How the system applies it.
    material : Material
        What it is made of.

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> PressingLayer(LayerRecipe("short_stretch"), shipped_catalogue()["short_stretch"]).rests
    False
    """

    recipe: LayerRecipe
    material: Material

    @property
    def only_holds(self) -> bool:
        """Whether it stretches but only holds the wool, just taut, without a mark of its own.

        Returns
        -------
        bool

        Examples
        --------
        >>> from gaiter.files.catalogue_file import shipped_catalogue
        >>> support = shipped_catalogue()["light_support"]
        >>> PressingLayer(LayerRecipe("light_support", only_holds=True), support).only_holds
        True
        """
        return self.recipe.only_holds and self.material.stretches

    @property
    def rests(self) -> bool:
        """Whether its tension is not the hands' to choose.

        Returns
        -------
        bool

        Examples
        --------
        >>> from gaiter.files.catalogue_file import shipped_catalogue
        >>> PressingLayer(LayerRecipe("zinc_paste"), shipped_catalogue()["zinc_paste"]).rests
        True
        """
        return self.only_holds or not self.material.stretches


@dataclass(frozen=True)
class FixedLayer:
    """A pressing layer as somebody chose it.

    Attributes
    ----------
    geometry : Geometry
        How it lies.
    stretch, foot_stretch : float
        Up the leg, and on foot and ankle, as fractions.

    Examples
    --------
    >>> from gaiter.core.bandage.pattern import Pattern
    >>> FixedLayer(Geometry(Pattern.SPIRAL, 0.5, 10.0), 0.5, 0.4).foot_stretch
    0.4
    """

    geometry: Geometry
    stretch: float
    foot_stretch: float


@dataclass(frozen=True)
class DesignedLayer:
    """A pressing layer with its geometry and its stretch.

    Attributes
    ----------
    laid : LaidLayer
        As it lies.
    material : Material
        What it is made of.
    stretch, foot_stretch : float
        Up the leg, and on foot and ankle, as fractions.
    rests : bool
        Whether its tension is not the hands' to choose.

    Examples
    --------
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> elastic = shipped_catalogue()["long_stretch_elastic"]
    >>> layer = DesignedLayer(None, elastic, stretch=0.5, foot_stretch=0.5)
    >>> [round(tension, 3) for tension in layer.tensions_n_per_cm]  # 40 x 23 / (2 x 471.278)
    [0.976, 0.976]
    """

    laid: LaidLayer
    material: Material
    stretch: float
    foot_stretch: float
    rests: bool = False

    @property
    def tensions_n_per_cm(self) -> tuple[float, float]:
        """Tension on foot and ankle, and up the leg [N/cm].

        Returns
        -------
        tuple[float, float]
            [N/cm].

        Examples
        --------
        >>> from gaiter.files.catalogue_file import shipped_catalogue
        >>> elastic = shipped_catalogue()["long_stretch_elastic"]
        >>> foot, leg = DesignedLayer(None, elastic, 0.5, foot_stretch=0.0).tensions_n_per_cm
        >>> foot, round(leg, 3)
        (0.0, 0.976)
        """
        return tuple(tension_n_per_cm(self.material, e) for e in (self.foot_stretch, self.stretch))  # type: ignore[return-value] # a pair by construction

    @property
    def pressure_map_mmhg(self) -> Array:
        """What it presses on every cell, without spread [mmHg].

        Returns
        -------
        ndarray, shape (rings, angles)

        Examples
        --------
        >>> import numpy as np
        >>> from types import SimpleNamespace
        >>> from gaiter.files.catalogue_file import shipped_catalogue
        >>> one = np.ones((1, 1))
        >>> laid = SimpleNamespace(part_maps=(0 * one, 40 * one))
        >>> layer = DesignedLayer(laid, shipped_catalogue()["long_stretch_elastic"], 0.5, 0.5)
        >>> layer.pressure_map_mmhg.round(1).tolist()  # 40 x 0.976
        [[39.0]]
        """
        foot, leg = self.tensions_n_per_cm
        foot_map, leg_map = self.laid.part_maps
        return foot * foot_map + leg * leg_map


def tension_n_per_cm(material: Material, stretch: float) -> float:
    """Tension of a material at a stretch; a fixed one where it does not stretch [N/cm].

    Parameters
    ----------
    material : Material
        What is stretched.
    stretch : float
        As a fraction, 0 up to below locking.

    Returns
    -------
    float
        [N/cm].

    Raises
    ------
    ValueError
        If the stretch is out of range.

    References
    ----------
    BS 7505 (class pressure on an ankle of 23 cm at half overlap, from memory): where a fabric's
    tension at usual stretch comes from.

    Examples
    --------
    40 x 23 / (2 x 471.278) at usual stretch:

    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> round(tension_n_per_cm(shipped_catalogue()["long_stretch_elastic"], 0.5), 3)
    0.976
    """
    if not material.stretches:
        return material.resting_tension_n_per_cm
    return float(material.curve.tension_n_per_cm(stretch))
