"""What to take from stock for this bandage and for a week of it."""

import math
from collections.abc import Mapping, Sequence

from gaiter.core.fabric import Material
from gaiter.core.plan.document import Layer, Supply, SystemPlan
from gaiter.core.words import Said

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

    Parameters
    ----------
    layers : sequence of Layer
        Of a plan, from the skin outwards.
    materials : sequence of Material
        One for each.
    change_every_days : int
        Days between changes, at least 1.

    Returns
    -------
    tuple[Supply, ...]
        One for each layer, then the tape.

    Notes
    -----
    Three strips of 8 cm of tape: common practice, no source.

    Examples
    --------
    Changed every third day, a roll that is not washed is taken three times a week.

    >>> wool = Material.model_construct(key="wool", title="Wool", washable=False)
    >>> layer = Layer.model_construct(rolls=2, width_cm=10.0, leg_width_cm=None)
    >>> supply = supplies_for([layer], [wool], change_every_days=3)[0]
    >>> supply.title.text, supply.now.text, supply.week.text
    ('Wool, 10 cm wide', '2 rolls', '6 rolls')
    """
    changes = math.ceil(_WEEK_DAYS / change_every_days)
    supplies = []
    for layer, material in zip(layers, materials, strict=True):
        now = layer.rolls
        week = now * (min(changes, 2) if material.washable else changes)
        for_week = _rolls(week)
        if material.washable and changes > 1:
            for_week = Said("{rolls}, wash", {"rolls": for_week})
        supplies.append(
            Supply(
                material=material.key,
                title=_title(material, layer),
                now=_rolls(now),
                week=for_week,
                rolls=now,
            )
        )
    supplies.append(
        Supply(
            material="tape",
            title=Said("Tape"),
            now=Said(
                "{strips} strips of {length} cm",
                {"strips": _TAPE_STRIPS, "length": _TAPE_STRIP_CM},
            ),
            week=Said(
                "{strips} strips, {length} cm",
                {
                    "strips": _TAPE_STRIPS * changes,
                    "length": _TAPE_STRIPS * _TAPE_STRIP_CM * changes,
                },
            ),
        )
    )
    return tuple(supplies)


def rolls_to_take(system: SystemPlan) -> Mapping[tuple[str, float], int]:
    """Rolls of one bandage by material and width [cm], as the sheet says, extra wool and pads in.

    Of a layer in two widths the narrow one, for foot and ankle, is one roll: foot and ankle take
    less than that.

    Parameters
    ----------
    system : SystemPlan
        A system of a plan.

    Returns
    -------
    Mapping
        Rolls by material key and width [cm].

    Examples
    --------
    >>> layer = Layer.model_construct(material="wool", width_cm=10.0, leg_width_cm=None)
    >>> supply = Supply(material="wool", title="Wool", now="2 rolls", week="6 rolls", rolls=2)
    >>> rolls_to_take(SystemPlan.model_construct(layers=(layer,), supplies=(supply,)))
    {('wool', 10.0): 2}
    """
    counts: dict[tuple[str, float], int] = {}
    # One supply stands for each layer, in the same order; tape comes after them.
    for layer, supply in zip(system.layers, system.supplies, strict=False):
        rolls = _as_said(supply) if supply.rolls is None else supply.rolls
        up_the_leg = layer.width_cm if layer.leg_width_cm is None else layer.leg_width_cm
        on_the_foot = min(1, rolls)
        for width_cm, count in ((layer.width_cm, on_the_foot), (up_the_leg, rolls - on_the_foot)):
            if count:
                key = (layer.material, width_cm)
                counts[key] = counts.get(key, 0) + count
    return counts


def _as_said(supply: Supply) -> int:
    """Rolls of a supply that an earlier program wrote in words only, such as '2 rolls'."""
    return int(supply.now.text.split()[0])


def _rolls(count: int) -> Said:
    return Said("{count} roll" if count == 1 else "{count} rolls", {"count": count})


def _title(material: Material, layer: Layer) -> Said:
    title, width = Said(material.title), layer.width_cm
    if layer.leg_width_cm is None:
        return Said("{title}, {width:g} cm wide", {"title": title, "width": width})
    return Said(
        "{title}, {width:g} and {leg_width:g} cm wide",
        {"title": title, "width": width, "leg_width": layer.leg_width_cm},
    )
