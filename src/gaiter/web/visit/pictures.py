"""Drawings of a leg as the record knows it."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from gaiter.core.draw.leg_drawing import bare_leg_drawing
from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.leg.completion import Completion, complete_measurements
from gaiter.records.visit.case import measured_leg

_MEASURED = (
    "leg.girth_cm.", "leg.position_cm.", "leg.foot_length_cm", "leg.width_cm.", "leg.depth_cm."
)  # fmt: skip
# One without the other makes no leg; while the second is still to be typed, the tape draws it.
_PAIRED = {"leg.width_cm.": "leg.depth_cm.", "leg.depth_cm.": "leg.width_cm."}
_AMPUTATED = "leg.findings.forefoot_amputation"
# Drawings kept: some kilobytes each, and the same leg is looked at again and again.
_KEPT = 256

Measured = tuple[tuple[str, Any], ...]


def measured(values: Mapping[str, Any]) -> Measured:
    """The part of a set of values that makes the shape of a leg."""
    return tuple(
        sorted(
            (path, value)
            for path, value in values.items()
            if value is not None
            and (path.startswith(_MEASURED) or path == _AMPUTATED)
            and not _half(path, values)
        )
    )


def _half(path: str, values: Mapping[str, Any]) -> bool:
    """Whether this is a width without its depth, or a depth without its width."""
    table, site = path[: path.rfind(".") + 1], path.rsplit(".", 1)[-1]
    return table in _PAIRED and values.get(_PAIRED[table] + site) is None


@lru_cache(_KEPT)
def completed(shape: Measured) -> Completion | None:
    """Complete measurements; None while too little is measured or it makes no leg."""
    leg = measured_leg(dict(shape))
    return complete_measurements(leg) if leg is not None else None


def outline(side: str, shape: Measured, before: Measured = ()) -> str:
    """SVG of the leg as measured, in the reader's language; empty while it cannot be drawn."""
    return _drawn(get_language() or "", side, shape, before)


@lru_cache(_KEPT)
def _drawn(_language: str, side: str, shape: Measured, before: Measured) -> str:
    now, then = completed(shape), completed(before) if before else None
    if now is None:
        return ""
    try:
        drawing = bare_leg_drawing(
            now.measurements, Side(side), then.measurements if then is not None else None, _
        )
    except InputError:
        return ""
    return drawing.to_text()


def outline_then_and_now(side: str, series: list[tuple[Any, dict[str, Any]]]) -> str:
    """The leg now, and at the first visit that measured it as a broken line."""
    known: dict[str, Any] = {}
    drawable: list[Measured] = []
    for _key, values in series:
        known |= {path: value for path, value in values.items() if value is not None}
        if completed(measured(known)) is not None:
            drawable.append(measured(known))
    if not drawable:
        return ""
    first, last = drawable[0], drawable[-1]
    return outline(side, last, first if first != last else ())
