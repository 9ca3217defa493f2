"""Bandage systems as a document lists them: ``gaiter.systems/1``."""

import math
from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.case.fields import measured
from gaiter.core.errors import InputError
from gaiter.core.landmark import ENDS, Landmark
from gaiter.core.plan.systems import LayerRecipe, System, Trait
from gaiter.core.record import Record
from gaiter.core.words import Said, sourced

# Beyond these a layer leaves gaps or grows too thick (common practice, no source).
LEAST_OVERLAP, LARGEST_OVERLAP = 0.3, 0.75
# A reason of a list counts as one of comfort; so many of them cannot outweigh one about harm.
MOST_REASONS = 3


class ListedLayer(Record):
    """One material of a system and how it is laid; conditions say on which ankles it is used."""

    material: Annotated[str, Field(max_length=60, description="Name in the catalogue")]
    patterns: Annotated[
        tuple[Pattern, ...], Field(min_length=1, description="Patterns that may be chosen")
    ] = (Pattern.SPIRAL,)
    overlaps: Annotated[
        tuple[
            Annotated[float, measured("Overlap", LEAST_OVERLAP, LARGEST_OVERLAP, "of the width")],
            ...,
        ],
        Field(min_length=1, description="Overlaps that may be chosen"),
    ] = (0.5,)
    note: Annotated[str, Field(max_length=300, description="What the bandager must know")] = ""
    only_holds: Annotated[
        bool, Field(strict=True, description="It only holds the wool: just taut, no mark")
    ] = False
    largest_stretch: Annotated[
        float | None, measured("Largest stretch in this system", 0.01, 3, "over relaxed length")
    ] = None
    ankle_above_cm: Annotated[
        float | None, measured("Used where the ankle girth is above this", 13, 60, "cm")
    ] = None
    ankle_to_cm: Annotated[
        float | None, measured("Used where the ankle girth is this or less", 13, 60, "cm")
    ] = None

    @model_validator(mode="after")
    def _some_ankle(self) -> Self:
        low, high = self._ankles
        if low >= high:
            raise InputError(
                Said(
                    "ankle_above_cm must be below ankle_to_cm; received {low:g} and {high:g} cm: "
                    "correct them",
                    {"low": low, "high": high},
                )
            )
        return self

    @property
    def _ankles(self) -> tuple[float, float]:
        low, high = self.ankle_above_cm, self.ankle_to_cm
        return (-math.inf if low is None else low, math.inf if high is None else high)

    def used_on(self, ankle_girth_cm: float) -> bool:
        """Whether it belongs to the build for an ankle.

        Parameters
        ----------
        ankle_girth_cm : float
            Smallest girth of the ankle [cm].

        Returns
        -------
        bool

        Examples
        --------
        >>> layer = ListedLayer(material="light_elastic", ankle_above_cm=18, ankle_to_cm=25)
        >>> [layer.used_on(girth_cm) for girth_cm in (18, 18.1, 25, 25.1)]
        [False, True, True, False]
        """
        low, high = self._ankles
        return low < ankle_girth_cm <= high

    @property
    def recipe(self) -> LayerRecipe:
        """The layer as a plan uses it, without its conditions.

        Returns
        -------
        LayerRecipe

        Examples
        --------
        >>> ListedLayer(material="light_elastic", note="Just taut.").recipe.note.text
        'Just taut.'
        """
        return LayerRecipe(
            self.material,
            self.patterns,
            self.overlaps,
            Said(self.note),
            self.only_holds,
            self.largest_stretch,
        )


class OwnReason(Record):
    """What speaks for or against a system in general, on every leg."""

    text: Annotated[str, Field(min_length=3, max_length=200)]
    source: Annotated[str, Field(min_length=3, max_length=200)]

    @property
    def said(self) -> Said:
        """The reason with its source behind it.

        Returns
        -------
        Said

        Examples
        --------
        >>> OwnReason(text="light support", source="the clinic").said.text
        'light support (the clinic)'
        """
        return sourced(Said(self.text), Said(self.source))


class ListedSystem(Record):
    """One bandage system: its layers from the skin outwards, and what it is like."""

    title: Annotated[str, Field(min_length=3, max_length=120, description="Name for a reader")]
    source: Annotated[
        str, Field(min_length=3, max_length=300, description="Where the components come from")
    ]
    traits: Annotated[
        tuple[Trait, ...],
        Field(min_length=1, description="What it is like; reasons for and against rest on it"),
    ]
    change_days: Annotated[
        int, measured("Usual days between changes; weekly at most", 1, 7, "days")
    ]
    end: Annotated[Landmark, Field(description="Where it ends: below_knee or calf")] = (
        Landmark.BELOW_KNEE
    )
    layers: Annotated[tuple[ListedLayer, ...], Field(min_length=1, max_length=10)]
    reasons_for: Annotated[tuple[OwnReason, ...], Field(max_length=MOST_REASONS)] = ()
    reasons_against: Annotated[tuple[OwnReason, ...], Field(max_length=MOST_REASONS)] = ()

    @model_validator(mode="after")
    def _ends_where_it_can(self) -> Self:
        if self.end not in ENDS:
            raise InputError(
                Said(
                    "end must be {ends}; received {end}: choose one of them",
                    {
                        "ends": " or ".join(landmark.value for landmark in ENDS),
                        "end": self.end.value,
                    },
                )
            )
        return self

    def builds(self) -> tuple[tuple[ListedLayer, ...], ...]:
        """The layers on every kind of ankle that the conditions tell apart.

        Returns
        -------
        tuple of tuple of ListedLayer
            From the thinnest ankles to the thickest.

        Examples
        --------
        >>> thin = ListedLayer(material="light_elastic", ankle_to_cm=25)
        >>> thick = ListedLayer(material="long_stretch_elastic", ankle_above_cm=25)
        >>> system = ListedSystem(
        ...     title="Own system", source="invented", traits=("elastic",), change_days=7,
        ...     layers=(ListedLayer(material="orthopaedic_wool"), thin, thick),
        ... )
        >>> [build[1].material for build in system.builds()]
        ['light_elastic', 'long_stretch_elastic']
        """
        edges = {
            edge
            for layer in self.layers
            for edge in (layer.ankle_above_cm, layer.ankle_to_cm)
            if edge is not None
        }
        ankles = [*sorted(edges), math.inf]
        return tuple(tuple(one for one in self.layers if one.used_on(cm)) for cm in ankles)

    def on_ankle(self, name: str, girth_cm: float) -> System:
        """The system as it is built on one ankle.

        Parameters
        ----------
        name : str
            What the list calls it.
        girth_cm : float
            Smallest girth of the ankle [cm].

        Returns
        -------
        System

        Examples
        --------
        >>> from gaiter.files.catalogue_file import shipped_catalogue
        >>> listed = shipped_catalogue().systems["four_layer"]
        >>> [len(listed.on_ankle("four_layer", girth_cm).layers) for girth_cm in (25.0, 25.1)]
        [4, 3]
        """
        return System(
            name,
            self.title,
            tuple(layer.recipe for layer in self.layers if layer.used_on(girth_cm)),
            frozenset(self.traits),
            self.change_days,
            self.end,
            reasons_for=tuple(reason.said for reason in self.reasons_for),
            reasons_against=tuple(reason.said for reason in self.reasons_against),
        )


class SystemList(Record):
    """Bandage systems by name, with the name and version of who lists them.

    A clinic's own list adds its systems to the shipped ones; ``without`` takes shipped ones out.
    """

    document: Annotated[Literal["gaiter.systems/1"], Field(alias="schema")]
    name: Annotated[str, Field(min_length=1, max_length=120)]
    version: Annotated[str, Field(min_length=1, max_length=40)]
    without: Annotated[
        tuple[str, ...], Field(description="Shipped systems that this clinic does not use")
    ] = ()
    systems: Mapping[str, ListedSystem] = Field(default_factory=dict)

    @property
    def label(self) -> str:
        """Name and version in one.

        Returns
        -------
        str

        Examples
        --------
        >>> SystemList(document="gaiter.systems/1", name="Heron Ford", version="2").label
        'Heron Ford, version 2'
        """
        return self.said.text

    @property
    def said(self) -> Said:
        """Name and version, for any language.

        Returns
        -------
        Said

        Examples
        --------
        >>> SystemList.model_construct(name="Heron Ford", version="2").said.text
        'Heron Ford, version 2'
        """
        return Said("{name}, version {version}", {"name": self.name, "version": self.version})
