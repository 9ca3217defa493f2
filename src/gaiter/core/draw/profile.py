"""Pressure along the leg: ring mean, sites with their bands, target range, maximum."""

from collections.abc import Callable

from gaiter.core.draw.palette import ACCENT, INK, QUIET, RULE, STOP, TINT
from gaiter.core.draw.svg import Drawing
from gaiter.core.plan.document import LegPlan, SitePressure, SurfaceSummary, SystemPlan
from gaiter.core.plan.rebuilt import surface_of

_LEFT, _RIGHT, _TOP, _BOTTOM = 92.0, 16.0, 34.0, 40.0
_STEP_MMHG = 20

Scale = Callable[[float], float]


def pressure_profile(leg: LegPlan, system: SystemPlan, height: float = 380.0) -> Drawing:
    """Pressure in mmHg across, place along the leg upwards.

    Parameters
    ----------
    leg : LegPlan
        A planned leg.
    system : SystemPlan
        One of its systems.
    height : float
        Height of the drawing [px].

    Returns
    -------
    Drawing
    """
    summary = surface_of(leg)
    maximum = leg.decision.maximum_mmhg or 0.0
    most = max([maximum, *system.profile.high_mmhg, *(site.high_mmhg for site in system.sites)])
    top = _STEP_MMHG * (int(most // _STEP_MMHG) + 1)
    width = 360.0
    facts = "; ".join(_in_words(site) for site in system.sites)
    drawing = Drawing(
        width,
        height,
        f"Pressure along the {leg.side.value} leg",
        f"{facts}. Maximum at the gaiter {maximum:.0f} mmHg.",
    )
    s_low, s_high = system.profile.s_cm[0], system.profile.s_cm[-1]

    def x(pressure_mmhg: float) -> float:
        return _LEFT + pressure_mmhg / top * (width - _LEFT - _RIGHT)

    def y(s_cm: float) -> float:
        share = (s_cm - s_low) / (s_high - s_low)
        return height - _BOTTOM - share * (height - _TOP - _BOTTOM)

    for tick in range(0, top + 1, _STEP_MMHG):
        drawing.line(x(tick), y(s_low), x(tick), y(s_high), stroke=RULE, stroke_width=0.7)
        drawing.text(
            x(tick),
            height - _BOTTOM + 14,
            str(tick),
            text_anchor="middle",
            fill=QUIET,
            font_size=10,
        )
    drawing.text(
        (x(0) + x(top)) / 2,
        height - 8,
        "pressure, mmHg",
        text_anchor="middle",
        fill=QUIET,
    )
    places = [y(s) for s in system.profile.s_cm]
    low, middle, high = (
        [(x(value), row) for value, row in zip(values, places, strict=True)]
        for values in (
            system.profile.low_mmhg,
            system.profile.median_mmhg,
            system.profile.high_mmhg,
        )
    )
    drawing.curve([*low, *reversed(high)], closed=True, fill=RULE, fill_opacity=0.55)
    drawing.curve(middle, stroke=QUIET, stroke_width=1)
    _sites(drawing, summary, system, x, y)
    drawing.line(x(maximum), y(s_low), x(maximum), y(s_high) - 6, stroke=STOP, stroke_width=1.5)
    drawing.text(
        x(maximum),
        y(s_high) - 10,
        f"maximum {maximum:.0f}, {leg.decision.outcome.value.split(':')[0]}",
        text_anchor="middle",
        fill=STOP,
        font_size=10,
        font_weight="600",
    )
    return drawing


def _in_words(site: SitePressure) -> str:
    words = (
        f"{site.landmark.label}: likely {site.median_mmhg:.0f} mmHg "
        f"({site.low_mmhg:.0f} to {site.high_mmhg:.0f})"
    )
    if site.target_low_mmhg is None:
        return words
    return f"{words}, aim {site.target_low_mmhg:.0f} to {site.target_high_mmhg:.0f}"


def _sites(
    drawing: Drawing, summary: SurfaceSummary, system: SystemPlan, x: Scale, y: Scale
) -> None:
    """Target range, band and likely value at every reading site."""
    s_low, s_high = system.profile.s_cm[0], system.profile.s_cm[-1]
    for site in system.sites:
        row = y(min(max(summary.s_cm[site.landmark], s_low), s_high))
        if site.target_low_mmhg is not None and site.target_high_mmhg is not None:
            left, right = x(site.target_low_mmhg), x(site.target_high_mmhg)
            drawing.rectangle(
                left,
                row - 9,
                right - left,
                18,
                fill=TINT,
                stroke=ACCENT,
                stroke_width=0.8,
                stroke_dasharray="1 2",
            )
        drawing.line(x(site.low_mmhg), row, x(site.high_mmhg), row, stroke_width=1.5)
        for end in (site.low_mmhg, site.high_mmhg):
            drawing.line(x(end), row - 4, x(end), row + 4, stroke_width=1.5)
        middle = x(site.median_mmhg)
        drawing.circle(middle, row, 4, fill=INK)
        drawing.text(
            middle,
            row - 12,
            f"{site.median_mmhg:.0f}",
            text_anchor="middle",
            font_size=11,
            font_weight="600",
        )
        drawing.text(_LEFT - 8, row + 4, site.landmark.label, text_anchor="end", font_size=10.5)
