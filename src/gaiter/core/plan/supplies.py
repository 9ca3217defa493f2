"""What to take from stock for this bandage and for a week of it."""

import math
from collections.abc import Sequence

from gaiter.core.material import Material
from gaiter.core.plan.document import Layer, Supply

# Tape on both corners and the middle of the end, cut beforehand (common practice, no source).
_TAPE_STRIPS, _TAPE_STRIP_CM = 3, 8
_WEEK_DAYS = 7


def supplies_for(
    layers: Sequence[Layer],
    materials: Sequence[Material],
    change_every_days: int,
) -> tuple[Supply, ...]:
    """Rolls, tape and dressing cover for one bandage and for a week.

    Washable materials are washed and used again: a second set for the wash. A layer's rolls of
    wool include what build-up, pads and hollows take.
    """
    changes = math.ceil(_WEEK_DAYS / change_every_days)
    supplies = []
    for layer, material in zip(layers, materials, strict=True):
        now = layer.rolls
        week = now * (min(changes, 2) if material.washable else changes)
        reuse = ", wash" if material.washable and changes > 1 else ""
        supplies.append(
            Supply(
                material=material.key,
                title=f"{material.title}, {_widths(layer)}",
                now=_rolls(now),
                week=_rolls(week) + reuse,
            )
        )
    strips = f"{_TAPE_STRIPS} strips of {_TAPE_STRIP_CM} cm"
    supplies.append(
        Supply(
            material="tape",
            title="Tape",
            now=strips,
            week=f"{_TAPE_STRIPS * changes} strips, {_TAPE_STRIPS * _TAPE_STRIP_CM * changes} cm",
        )
    )
    return tuple(supplies)


def _rolls(count: int) -> str:
    return f"{count} roll" if count == 1 else f"{count} rolls"


def _widths(layer: Layer) -> str:
    if layer.leg_width_cm is None:
        return f"{layer.width_cm:g} cm wide"
    return f"{layer.width_cm:g} and {layer.leg_width_cm:g} cm wide"
