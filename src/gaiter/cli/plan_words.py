"""What ``gaiter plan`` prints of a plan: for each leg what matters before anybody bandages."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from gaiter.core.landmark import Landmark

if TYPE_CHECKING:
    from gaiter.core.plan import LegPlan, SystemPlan
    from gaiter.core.plan.pressures import PressurePoint, SitePressure


def heading(leg: "LegPlan") -> str:
    """What stands over the lines of a leg."""
    return f"{leg.side.value.capitalize()} leg, {leg.purpose}"


def leg_words(leg: "LegPlan") -> Iterator[str]:
    """Decision, the system planned first, what presses too much, and when to come back."""
    yield f"  {leg.headline_words}"
    for reason in leg.decision.reasons:
        if reason.code in leg.decision.limiting:
            yield f"  - {reason.text}"
    if leg.status_reason.text not in (leg.decision.headline, leg.headline_words.text):
        yield f"  {leg.status_reason}"
    for question in leg.surface.questions if leg.surface else ():
        yield f"  Question: {question}"
    if leg.systems:
        system = leg.systems[0]
        yield f"  System: {system.title}; {system.outcome_reason}"
        yield from (f"    {line}" for line in system_words(system, leg.chance_allowed))
        if leg.next_visit:
            yield f"  Next visit: {leg.next_visit} ({system.change_reason})"


def system_words(system: "SystemPlan", chance_allowed: float | None) -> Iterator[str]:
    """Likely pressure, chances, how it is judged, places above their maximum, pads and layers."""
    yield from _chances(system)
    yield from map(str, system.round_words)
    if system.to_accept:
        yield f"A prescriber has to accept by name: {', '.join(system.to_accept)}"
    above = list(_above_maximum(system, chance_allowed))
    yield from above or ["Above its maximum: no place"]
    pads = ", ".join(f"{place} {mm:.0f} mm" for place, mm in system.pads_mm.items())
    yield f"Pads of wool: {pads or 'none'}"
    yield from map(str, filter(None, (system.padding.text, system.dressing)))
    yield from _layers(system)


def _chances(system: "SystemPlan") -> Iterator[str]:
    gaiter = next((site for site in system.sites if site.landmark is Landmark.GAITER), None)
    every = f"{system.chance_every_site_in_range:.0%} at every judged site at once"
    if gaiter is None:
        yield f"Chance in range: {every}"
        return
    yield (
        f"Likely at the gaiter: {gaiter.median_mmhg:.0f} mmHg "
        f"({gaiter.low_mmhg:.0f}–{gaiter.high_mmhg:.0f} in nine of ten bandages)"
    )
    own = "" if gaiter.chance_in_range is None else f"{gaiter.chance_in_range:.0%} at the gaiter, "
    yield f"Chance in range: {own}{every}"


def _above_maximum(system: "SystemPlan", chance_allowed: float | None) -> Iterator[str]:
    """Every place above its maximum, by name and with its numbers, what it rests on said."""
    for point in system.pressure_points:
        if point.exceeds:
            yield _point(point)
    for site in system.sites:
        if chance_allowed is not None and site.chance_above_maximum > chance_allowed:
            yield _site(site, chance_allowed)
    for skin in system.often_above:
        yield (
            f"Above its maximum: skin at {skin.place}, {skin.area_cm2:.0f} cm² above "
            f"{skin.limit_mmhg:.0f} mmHg in most bandages"
        )


def _point(point: "PressurePoint") -> str:
    pad = f" with its pad of {point.padding_mm:.0f} mm on" if point.padding_mm else ""
    overstated = " (surface overstates this place)" if point.overstated else ""
    return (
        f"Above its maximum: {point.place}, up to {point.high_mmhg:.0f} mmHg{pad}, its maximum "
        f"is {point.maximum_mmhg:.0f}{overstated}"
    )


def _site(site: "SitePressure", chance_allowed: float) -> str:
    maximum = "its maximum" if site.maximum_mmhg is None else f"{site.maximum_mmhg:.0f} mmHg"
    return (
        f"Above its maximum: {site.landmark.label}, up to {site.high_mmhg:.0f} mmHg, above "
        f"{maximum} with a chance of {site.chance_above_maximum:.1%} ({chance_allowed:.1%} allowed)"
    )


def _layers(system: "SystemPlan") -> Iterator[str]:
    for layer in system.layers:
        marks = (
            f", 10 cm marks {layer.mark_spacing_cm:.1f} cm apart on the leg"
            if layer.mark_spacing_cm
            else ""
        )
        if layer.foot_mark_spacing_cm:
            marks += f", {layer.foot_mark_spacing_cm:.1f} cm on foot and ankle"
        rolls = "1 roll" if layer.rolls == 1 else f"{layer.rolls} rolls"
        yield (
            f"{layer.number}. {layer.title}: {layer.pattern}, {layer.turns} turns, "
            f"overlap {layer.overlap:.0%}{marks}; {rolls}"
        )
