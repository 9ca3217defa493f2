"""The controls of the plan page: what may be changed, and what an address asks for."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.errors import InputError
from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import ENDS, FOOT_SITES, Landmark
from gaiter.core.plan import Adjustment, LayerChange, SystemPlan
from gaiter.core.plan.adjust import LARGEST_PAD_MM
from gaiter.core.plan.document import Layer
from gaiter.core.plan.system_list import LARGEST_OVERLAP, LEAST_OVERLAP
from gaiter.records.typed import number_in


@dataclass(frozen=True)
class LayerControls:
    """What may be changed of one pressing layer; stretch and overlap in per cent."""

    material: str
    title: str
    stretch: int
    least: int
    largest: int
    overlap: int
    pattern: str
    mark_spacing: str
    stretches: bool


@dataclass(frozen=True)
class Controls:
    """Every control with its present value."""

    system: str
    layers: tuple[LayerControls, ...]
    start: str
    end: str
    pads: tuple[tuple[str, int], ...]
    starts: tuple[tuple[str, str], ...] = tuple((s.value, s.label) for s in FOOT_SITES)
    ends: tuple[tuple[str, str], ...] = tuple((e.value, e.label) for e in ENDS)
    patterns: tuple[str, ...] = tuple(pattern.value for pattern in Pattern)
    least_overlap: int = round(100 * LEAST_OVERLAP)
    largest_overlap: int = round(100 * LARGEST_OVERLAP)
    largest_pad: int = round(LARGEST_PAD_MM)


def controls_of(
    system: SystemPlan, computed: SystemPlan, catalogue: Catalogue, start: Landmark
) -> Controls:
    """The controls as a system stands; pads at every place that needs one now or as computed."""
    points = (*computed.pressure_points, *system.pressure_points)
    places = dict.fromkeys((*(point.place for point in points), *system.pads_mm))
    return Controls(
        system=system.name,
        layers=tuple(_layer(layer, catalogue) for layer in system.layers if layer.presses),
        start=(system.padding.start or start).value,
        end=system.padding.end.value,
        pads=tuple((place, round(system.pads_mm.get(place, 0))) for place in places),
    )


def _layer(layer: Layer, catalogue: Catalogue) -> LayerControls:
    material = catalogue[layer.material]
    return LayerControls(
        material=layer.material,
        title=layer.title,
        stretch=round(layer.stretch_percent),
        least=round(100 * material.least_stretch),
        largest=round(100 * material.largest_stretch),
        overlap=round(100 * layer.overlap),
        pattern=layer.pattern.value,
        mark_spacing=f"{layer.mark_spacing_cm:.1f}" if layer.mark_spacing_cm else "",
        # What only holds the wool is just taut: there is nothing to choose.
        stretches=layer.mark_spacing_cm is not None,
    )


def adjustment_of(asked: Mapping[str, str], computed: SystemPlan) -> Adjustment:
    """What an address asks to change of a computed system; what it repeats is no change.

    Raises
    ------
    InputError
        If a number is none, or a choice is unknown.
    """
    layers = {}
    for layer in computed.layers:
        if not layer.presses:
            continue
        stretch = _share(asked, f"stretch.{layer.material}", _("Stretch"))
        overlap = _share(asked, f"overlap.{layer.material}", _("Overlap"))
        pattern = asked.get(f"pattern.{layer.material}") or None
        if pattern is not None and pattern not in list(Pattern):
            raise InputError(_("Pattern must be spiral or herringbone: choose one."))
        if stretch is not None and round(100 * stretch) == round(layer.stretch_percent):
            stretch = None
        if overlap is not None and round(100 * overlap) == round(100 * layer.overlap):
            overlap = None
        change = LayerChange(
            stretch, overlap, Pattern(pattern) if pattern not in (None, layer.pattern) else None
        )
        if change != LayerChange():
            layers[layer.material] = change
    pads = {}
    for name, text in asked.items():
        place = name.removeprefix("pad.")
        if not name.startswith("pad.") or text == "":
            continue
        chosen = _number(text, _("Padding"))
        if round(chosen) != round(computed.pads_mm.get(place, 0)):
            pads[place] = chosen
    return Adjustment(
        system=computed.name,
        layers=layers,
        start=_landmark(asked.get("start"), computed.padding.start),
        end=_landmark(asked.get("end"), computed.padding.end),
        pads_mm=pads,
    )


def _landmark(text: str | None, computed: Landmark | None) -> Landmark | None:
    if not text:
        return None
    if text not in list(Landmark):
        raise InputError(_("Start and end are places of the leg: choose one of the list."))
    chosen = Landmark(text)
    return None if chosen is computed else chosen


def _share(asked: Mapping[str, str], name: str, what: str) -> float | None:
    text = asked.get(name, "")
    return _number(text, what) / 100 if text else None


def _number(text: str, what: str) -> float:
    try:
        return number_in(text)
    except ValueError:
        raise InputError(
            _("%(what)s must be a number; received %(text)r: correct it.")
            % {"what": what, "text": text[:40]}
        ) from None
