"""Changes made to a computed system by hand, and the limits within which they are taken."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.errors import InputError
from gaiter.core.landmark import ENDS, FOOT_SITES, Landmark
from gaiter.core.plan.design import Design
from gaiter.core.plan.layers import FixedLayer, PressingLayer
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.system_list import LARGEST_OVERLAP, LEAST_OVERLAP
from gaiter.core.words import OR, Said, words

# Thickest pad that may be chosen at a bony place [mm]; the largest step that the plan proposes.
LARGEST_PAD_MM = 20.0


@dataclass(frozen=True)
class LayerChange:
    """What somebody chose for one pressing layer; None keeps what was computed.

    Attributes
    ----------
    stretch : float or None
        Over relaxed length, as a fraction, from the ankle up.
    foot_stretch : float or None
        On foot and ankle; None keeps the share of the leg's that was computed.
    overlap : float or None
        Share of the width.
    pattern : Pattern or None
        How it goes up the leg.

    Examples
    --------
    >>> LayerChange(stretch=0.4).overlap is None
    True
    """

    stretch: float | None = None
    overlap: float | None = None
    pattern: Pattern | None = None
    foot_stretch: float | None = None


@dataclass(frozen=True)
class Adjustment:
    """Changes to one system; pads in mm at places by their name, 0 takes the plan's own away.

    Attributes
    ----------
    system : str
        Name of the system.
    layers : Mapping[str, LayerChange]
        By material.
    start, end : Landmark or None
        Where the bandage starts and ends; None keeps the plan's.
    pads_mm : Mapping[str, float]
        Thickness by place, 0 to 20 [mm].

    Raises
    ------
    InputError
        If a start, an end or a pad is outside what can be bandaged.

    Examples
    --------
    >>> [str(one) for one in Adjustment("wool_short_stretch", pads_mm={"heel": 6}).in_words()]
    ['heel: pad of 6 mm']
    """

    system: str
    layers: Mapping[str, LayerChange] = field(default_factory=dict)
    start: Landmark | None = None
    end: Landmark | None = None
    pads_mm: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse what cannot be bandaged."""
        _one_of(Said("start"), self.start, FOOT_SITES)
        _one_of(Said("end"), self.end, ENDS)
        for place, thickness in self.pads_mm.items():
            if not 0 <= thickness <= LARGEST_PAD_MM:
                raise InputError(
                    Said(
                        "padding at the {place} must be 0 to {largest:g} mm; received "
                        "{thickness:g}: correct it",
                        {
                            "place": Said(place),
                            "largest": LARGEST_PAD_MM,
                            "thickness": thickness,
                        },
                    )
                )

    @property
    def changes_nothing(self) -> bool:
        """Whether the computed system is asked for.

        Returns
        -------
        bool

        Examples
        --------
        >>> Adjustment("wool_short_stretch").changes_nothing
        True
        """
        changed = any(change != LayerChange() for change in self.layers.values())
        return not (changed or self.start or self.end or self.pads_mm)

    def in_words(self) -> tuple[Said, ...]:
        """Every change in words, for the record and the sheet.

        Returns
        -------
        tuple[Said, ...]

        Examples
        --------
        >>> change = {"short_stretch": LayerChange(stretch=0.6)}
        >>> adjustment = Adjustment("wool_short_stretch", change, end=Landmark.CALF)
        >>> [one.text for one in adjustment.in_words()]
        ['short stretch: stretch 60%', 'ends at the calf']
        """
        words = []
        for material, change in self.layers.items():
            name = Said(material.replace("_", " "))
            if change.stretch is not None:
                words.append(
                    Said(
                        "{material}: stretch {stretch:.0%}",
                        {"material": name, "stretch": change.stretch},
                    )
                )
            if change.overlap is not None:
                words.append(
                    Said(
                        "{material}: overlap {overlap:.0%}",
                        {"material": name, "overlap": change.overlap},
                    )
                )
            if change.pattern is not None:
                pattern = Said(change.pattern.value)
                words.append(Said("{material}: {pattern}", {"material": name, "pattern": pattern}))
        if self.start:
            words.append(Said("starts at the {place}", {"place": Said(self.start.label)}))
        if self.end:
            words.append(Said("ends at the {place}", {"place": Said(self.end.label)}))
        words += [
            Said("{place}: pad of {mm:g} mm", {"place": Said(place), "mm": mm})
            if mm
            else Said("{place}: no pad", {"place": Said(place)})
            for place, mm in self.pads_mm.items()
        ]
        return tuple(words)


def chosen_by_hand(
    adjustment: Adjustment, layers: Sequence[PressingLayer], computed: Design
) -> list[FixedLayer]:
    """Every pressing layer as chosen, the computed design where nothing was.

    Parameters
    ----------
    adjustment : Adjustment
        What somebody chose.
    layers : sequence of PressingLayer
        Of the system, from the skin outwards.
    computed : Design
        As computed.

    Returns
    -------
    list[FixedLayer]
        One for each layer.

    Raises
    ------
    InputError
        If a stretch or an overlap lies outside what the material and the technique allow.

    Examples
    --------
    The foot keeps its share of the stretch.

    >>> from types import SimpleNamespace
    >>> from gaiter.core.plan.systems import LayerRecipe
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> elastic = shipped_catalogue()["long_stretch_elastic"]
    >>> laid = SimpleNamespace(geometry=Geometry(Pattern.SPIRAL, 0.5, 10.0))
    >>> computed = SimpleNamespace(
    ...     layers=[SimpleNamespace(laid=laid, stretch=0.5, foot_stretch=0.5)]
    ... )
    >>> change = Adjustment("elastic", {elastic.key: LayerChange(stretch=0.4, overlap=0.6)})
    >>> layer = PressingLayer(LayerRecipe(elastic.key), elastic)
    >>> found = chosen_by_hand(change, [layer], computed)[0]
    >>> found.stretch, found.foot_stretch, found.geometry.overlap
    (0.4, 0.4, 0.6)
    """
    fixed = []
    for layer, was in zip(layers, computed.layers, strict=True):
        change = adjustment.layers.get(layer.material.key, LayerChange())
        geometry, name = was.laid.geometry, layer.material.title.lower()
        if change.overlap is not None and not LEAST_OVERLAP <= change.overlap <= LARGEST_OVERLAP:
            raise InputError(
                Said(
                    "overlap of the {material} must be {least:.0%} to {largest:.0%} of the width; "
                    "received {overlap:.0%}: choose one between",
                    {
                        "material": Said(name),
                        "least": LEAST_OVERLAP,
                        "largest": LARGEST_OVERLAP,
                        "overlap": change.overlap,
                    },
                )
            )
        stretch, foot = was.stretch, was.foot_stretch
        if change.stretch is not None and not layer.rests:
            least, largest = layer.material.least_stretch, layer.material.largest_stretch
            if not least <= change.stretch <= largest:
                raise InputError(
                    Said(
                        "stretch of the {material} must be {least:.0%} to {largest:.0%}; received "
                        "{stretch:.0%}: choose one between",
                        {
                            "material": Said(name),
                            "least": least,
                            "largest": largest,
                            "stretch": change.stretch,
                        },
                    )
                )
            share = was.foot_stretch / was.stretch if was.stretch else 1.0
            stretch = change.stretch
            foot = share * stretch if change.foot_stretch is None else change.foot_stretch
            foot = min(max(least, foot), largest)
        elif change.stretch is not None and layer.only_holds:
            # Just taut: it may lie below the least stretch of the same fabric laid to press.
            stretch = foot = min(change.stretch, layer.material.largest_stretch)
        fixed.append(
            FixedLayer(
                Geometry(
                    change.pattern or geometry.pattern,
                    change.overlap or geometry.overlap,
                    geometry.width_cm,
                    geometry.leg_width_cm,
                ),
                stretch,
                foot,
            )
        )
    return fixed


def _one_of(name: Said, value: Landmark | None, allowed: Sequence[Landmark]) -> None:
    if value is not None and value not in allowed:
        raise InputError(
            Said(
                "{name} must be {allowed}; received {value}: choose one of them",
                {
                    "name": name,
                    "allowed": words((landmark.label for landmark in allowed), OR),
                    "value": Said(value.label),
                },
            )
        )
