"""Drawings of a leg as the record knows it."""

from typing import Any

from pydantic import ValidationError

from gaiter.core.case import Leg
from gaiter.core.draw.leg_drawing import bare_leg_drawing
from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.leg.completion import Completion, complete_measurements

_MEASURED = ("leg.girth_cm.", "leg.position_cm.", "leg.foot_length_cm")


def leg_of(values: dict[str, Any]) -> Leg | None:
    """The leg that a set of measurements describes; None while it is not a whole one."""
    mapping: dict[str, Any] = {"purpose": "maintenance"}
    for path, value in values.items():
        amputated = path == "leg.findings.forefoot_amputation"
        if value is None or not (path.startswith(_MEASURED) or amputated):
            continue
        _, *parts = path.split(".")
        table = mapping
        for part in parts[:-1]:
            table = table.setdefault(part, {})
        table[parts[-1]] = value
    try:
        return Leg.model_validate(mapping)
    except ValidationError:
        return None


def completed(values: dict[str, Any]) -> Completion | None:
    """Complete measurements; None while too little is measured or it makes no leg."""
    leg = leg_of(values)
    return complete_measurements(leg) if leg is not None else None


def outline(side: str, values: dict[str, Any], before: dict[str, Any] | None = None) -> str:
    """SVG of the leg as measured; empty while it cannot be drawn."""
    now = completed(values)
    then = completed(before) if before else None
    if now is None:
        return ""
    try:
        drawing = bare_leg_drawing(
            now.measurements, Side(side), then.measurements if then is not None else None
        )
    except InputError:
        return ""
    return drawing.to_text()


def outline_then_and_now(side: str, series: list[tuple[Any, dict[str, Any]]]) -> str:
    """The leg now, and at the first visit that measured it as a broken line."""
    known: dict[str, Any] = {}
    drawable: list[dict[str, Any]] = []
    for _, values in series:
        known |= {path: value for path, value in values.items() if value is not None}
        if leg_of(known) is not None:
            drawable.append(dict(known))
    if not drawable:
        return ""
    first, last = drawable[0], drawable[-1]
    return outline(side, last, first if first != last and len(drawable) > 1 else None)
