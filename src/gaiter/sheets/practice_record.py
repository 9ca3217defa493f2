"""The printable record of somebody's practice."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from gaiter.core.applied.document import Applied
from gaiter.core.draw.trend import trend_drawing
from gaiter.core.landmark import LEG_SITES
from gaiter.core.words import Said
from gaiter.sheets.render import rendered_pdf


@dataclass(frozen=True)
class Practised:
    """One attempt as the record prints it."""

    day: date
    task: str
    limb: str
    mean_off_mmhg: float
    applied: Applied


def practice_record_pdf(
    name: str, attempts: Sequence[Practised], yardsticks: Sequence[str], on: date
) -> bytes:
    """Attempts of one learner with their trend, for the competency file.

    Parameters
    ----------
    name : str
        The learner.
    attempts : sequence of Practised
        At least one, in order.
    yardsticks : sequence of str
        What published courses reached.
    on : date
        Day of printing.
    """
    content = {
        "name": name,
        "day": _day(on),
        "places": [landmark.label for landmark in LEG_SITES],
        "attempts": [_row(number, one) for number, one in enumerate(attempts, start=1)],
        "yardsticks": list(yardsticks),
    }
    values = [one.mean_off_mmhg for one in attempts]
    trend = trend_drawing(values, Said("mean off the plan, mmHg"), Said("attempt"))
    return rendered_pdf("practice.typ", content, {"trend": trend.to_text()}, on)


def _row(number: int, one: Practised) -> dict[str, Any]:
    off = {site.landmark: site.off_mmhg for site in one.applied.sites}
    return {
        "number": str(number),
        "day": _day(one.day),
        "task": one.task,
        "limb": one.limb,
        "off": [f"{off[p]:+.0f}" if p in off else "–" for p in LEG_SITES],
        "mean": f"{one.mean_off_mmhg:.0f}",
    }


def _day(on: date) -> str:
    return f"{on.day} {on:%b %Y}"
