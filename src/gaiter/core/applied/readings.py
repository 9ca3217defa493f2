"""What was read on a bandage that lies: mark spacings, overlaps, a sensor's pressures.

Marks stand 10 cm apart on the relaxed roll. Their spacing is read layer by layer on the visible
edge, before the next layer covers them.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from gaiter.core.case.fields import Day, answered, measured
from gaiter.core.errors import InputError
from gaiter.core.landmark import LEG_SITES, Landmark, Side
from gaiter.core.plan.document import Layer, LegPlan, Plan, SystemPlan
from gaiter.core.record import Record
from gaiter.core.sensor_site import SENSOR_SITES
from gaiter.core.words import AND, Said, joined

RELAXED_CM = 10.0
SPACING_PLACES = LEG_SITES


class Spacing(Record):
    """Distance between two marks along the visible edge of a layer."""

    layer: Annotated[int, measured("Number of the layer on the plan", 1, 9, "number")]
    place: Annotated[Landmark, Field(description="ankle, gaiter, calf or below_knee")]
    cm: Annotated[
        float, measured("Between marks 10 cm apart on the relaxed roll", RELAXED_CM, 30, "cm")
    ]

    @model_validator(mode="after")
    def _up_the_leg(self) -> Self:
        if self.place not in SPACING_PLACES:
            raise InputError(
                Said(
                    "place of a mark spacing must be {places}; received {place}: read it up the "
                    "leg, where turns lie evenly",
                    {"places": ", ".join(SPACING_PLACES), "place": self.place.value},
                )
            )
        return self


class Overlap(Record):
    """How much of the width lies on the turn before, read once for a layer."""

    layer: Annotated[int, measured("Number of the layer on the plan", 1, 9, "number")]
    cm: Annotated[float, measured("Part of the width that lies on the turn before", 0, 30, "cm")]


class SensorValue(Record):
    """Resting pressure at a reading site, the person lying."""

    place: Annotated[
        Landmark, Field(description="gaiter, ankle, calf, below_knee, instep or metatarsal_heads")
    ]
    mmhg: Annotated[float, measured("Pressure under the whole bandage", 0, 150, "mmHg")]

    @model_validator(mode="after")
    def _where_sensors_are_read(self) -> Self:
        if self.place not in SENSOR_SITES:
            raise InputError(
                Said(
                    "place of a sensor value must be a reading site, {sites}; received {place}: "
                    "read it there",
                    {"sites": ", ".join(SENSOR_SITES), "place": self.place.value},
                )
            )
        return self


class Readings(Record):
    """The document, ``gaiter.readings/1``: one leg, one bandage."""

    document: Annotated[Literal["gaiter.readings/1"], Field(alias="schema")]
    case: Annotated[
        str | None, Field(max_length=80, description="The case's reference, as the plan shows it")
    ] = None
    on: Annotated[Day | None, Field(description="The day of the plan")] = None
    side: Side
    system: Annotated[str, Field(description="Name of the bandage system that was applied")]
    spacings: tuple[Spacing, ...] = ()
    overlaps: tuple[Overlap, ...] = ()
    sensor: tuple[SensorValue, ...] = ()
    confirmed: Annotated[
        bool, answered("All of it was read a second time; contradictions stand as they are")
    ] = False

    @model_validator(mode="after")
    def _something_once(self) -> Self:
        if not (self.spacings or self.sensor):
            raise InputError(
                "readings must hold at least one mark spacing or one sensor value; received "
                "none: an overlap alone does not tell the pressure"
            )
        for name, keys in (
            ("spacings", [f"layer {s.layer}, {s.place}" for s in self.spacings]),
            ("overlaps", [f"layer {o.layer}" for o in self.overlaps]),
            ("sensor", [str(s.place) for s in self.sensor]),
        ):
            twice = {key for key in keys if keys.count(key) > 1}
            if twice:
                raise InputError(
                    Said(
                        "{name} must hold each layer and place once; received {twice} twice: "
                        "leave one out or enter their mean",
                        {"name": name, "twice": str(min(twice))},
                    )
                )
        return self


def read_system(plan: Plan, readings: Readings) -> tuple[LegPlan, SystemPlan]:
    """The leg and the system of a plan that the readings belong to.

    Parameters
    ----------
    plan : Plan
        What it was bandaged by.
    readings : Readings
        What was read.

    Returns
    -------
    leg : LegPlan
        The leg.
    system : SystemPlan
        The system that was applied.

    Raises
    ------
    InputError
        If they belong to another plan, leg, system or layer, or cannot have been read there.

    Examples
    --------
    >>> from datetime import date
    >>> from types import SimpleNamespace
    >>> site = SimpleNamespace(landmark=Landmark.GAITER)
    >>> made = SystemPlan.model_construct(
    ...     name="two layers", basis=SimpleNamespace(), layers=(), sites=(site,)
    ... )
    >>> plan = Plan.model_construct(
    ...     case=SimpleNamespace(reference=None), today=date(2026, 1, 1),
    ...     legs={Side.RIGHT: LegPlan.model_construct(systems=(made,))},
    ... )
    >>> readings = Readings(
    ...     document="gaiter.readings/1", side="right", system="two layers",
    ...     sensor=[{"place": "gaiter", "mmhg": 38}],
    ... )
    >>> read_system(plan, readings)[1].name
    'two layers'
    """
    for name, theirs, ours in (
        ("case", readings.case, plan.case.reference),
        ("on", readings.on, plan.today),
    ):
        if theirs is not None and theirs != ours:
            raise InputError(
                Said(
                    "{name} must be the plan's, {ours}; received {theirs}: these readings belong "
                    "to another plan",
                    {"name": name, "ours": str(ours), "theirs": str(theirs)},
                )
            )
    leg = plan.legs.get(readings.side)
    if leg is None or not leg.systems:
        planned = [Said(side.value) for side, one in plan.legs.items() if one.systems]
        sides = joined(planned, AND) or Said("none")
        raise InputError(
            Said(
                "side must be a leg with a plan ({sides}); received {side}: take the plan that was "
                "bandaged by",
                {"sides": sides, "side": Said(readings.side.value)},
            )
        )
    system = next((s for s in leg.systems if s.name == readings.system), None)
    if system is None:
        names = ", ".join(s.name for s in leg.systems)
        raise InputError(
            Said(
                "system must be one of this plan ({names}); received {system}: these readings "
                "belong to another plan",
                {"names": names, "system": readings.system},
            )
        )
    if system.basis is None:
        raise InputError(
            "the plan was made by an earlier version that kept no spread: plan the case again"
        )
    for spacing in readings.spacings:
        _check_spacing(spacing, _pressing(system, spacing.layer, Said("a mark spacing")))
    for overlap in readings.overlaps:
        _check_overlap(overlap, _pressing(system, overlap.layer, Said("an overlap")))
    shown = [site.landmark for site in system.sites]
    for value in readings.sensor:
        if value.place not in shown:
            raise InputError(
                Said(
                    "place of a sensor value must be a reading site of this plan ({sites}); "
                    "received {place}: read it there",
                    {"sites": ", ".join(shown), "place": value.place.value},
                )
            )
    return leg, system


def _pressing(system: SystemPlan, number: int, what: Said) -> Layer:
    pressing = {layer.number: layer for layer in system.layers if layer.fabric}
    if number not in pressing:
        known = joined(
            Said("{number} ({title})", {"number": n, "title": Said(layer.title.lower())})
            for n, layer in pressing.items()
        )
        raise InputError(
            Said(
                "layer of {what} must be one that stretches and presses: {known}; received "
                "{number}: correct the number",
                {
                    "what": what,
                    "known": known or Said("none here"),
                    "number": number,
                },
            )
        )
    return pressing[number]


def _check_spacing(spacing: Spacing, layer: Layer) -> None:
    if layer.fabric is None:
        return
    locks_cm = RELAXED_CM * (1 + layer.fabric.locking_stretch)
    if spacing.cm >= locks_cm:
        raise InputError(
            Said(
                "mark spacing of layer {layer} must be below {locks:.1f} cm, where its fabric "
                "locks; received {spacing:g} cm: read it again, or test the roll on the bench",
                {"layer": layer.number, "locks": locks_cm, "spacing": spacing.cm},
            )
        )


def _check_overlap(overlap: Overlap, layer: Layer) -> None:
    width = layer.leg_width_cm or layer.width_cm
    most = 0.9 * width
    if overlap.cm > most:
        raise InputError(
            Said(
                "overlap of layer {layer} must be 0 to {most:.1f} cm of its {width:g} cm; received "
                "{overlap:g} cm: read how much of the width lies on the turn before",
                {"layer": layer.number, "most": most, "width": width, "overlap": overlap.cm},
            )
        )
