"""The unrolled leg: pressure on every part of the skin, with what needs an answer marked."""

import numpy as np

from gaiter.core.arrays import Array
from gaiter.core.draw.palette import INK, PAPER, QUIET, STOP, pressure_colours
from gaiter.core.draw.svg import Drawing
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.surface import Surface
from gaiter.core.plan.document import LegPlan, SystemPlan
from gaiter.core.plan.padded_leg import BandagedLeg
from gaiter.core.plan.pressures import PressurePoint
from gaiter.core.plan.skin_map import likely_skin_map
from gaiter.core.pressure.discs import bony_places
from gaiter.core.words import SEMICOLON, Said, Translate, Value, joined

_COLUMNS, _ROWS = 48, 44
_WIDTH, _HEIGHT = 350.0, 400.0
_LEFT, _TOP, _KEY = 98.0, 30.0, 84.0
_BACK = Said("back")
_SIDES = (
    (-180, _BACK),
    (-90, Said("outer")),
    (0, Said("front")),
    (90, Said("inner")),
    (180, _BACK),
)
_SHADES = 6


def surface_map(
    leg: LegPlan,
    system: SystemPlan,
    bandaged_leg: BandagedLeg,
    remainder: float,
    translate: Translate = str,
) -> Drawing:
    """Unrolled map of likely pressure, cut open along the back, toes below.

    Parameters
    ----------
    leg : LegPlan
        A planned leg.
    system : SystemPlan
        One of its systems.
    bandaged_leg : BandagedLeg
        The leg, as :func:`gaiter.core.plan.rebuilt.bandaged_leg_of` builds it.
    remainder : float
        Median of the theory remainder; the map is the theory times this.
    translate : callable
        From a template of its words to the same in the reader's language.

    Returns
    -------
    Drawing
        What arrives under the pads; hatched above the bony places' maximum, dotted where the
        fabric spans a hollow, crossed where skin is bare.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> from gaiter.core.bandage.pattern import Pattern
    >>> from gaiter.core.bandage.wool import Build
    >>> from gaiter.core.landmark import Landmark as L
    >>> from gaiter.core.leg.measurements import LegMeasurements
    >>> from gaiter.core.plan.document import Layer, PaddingUnder
    >>> girth = dict(zip(L, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
    >>> place = dict(zip([m for m in L if m is not L.HEEL_INSTEP],
    ...                  (19.5, 14.5, 12.0, 19.5, 31.0, 39.0)))
    >>> wool = PaddingUnder(
    ...     even_cm=0.5, layer_cm=0.5, build=Build.EVEN, end=L.BELOW_KNEE, text="", extra_turns=0
    ... )
    >>> layer = Layer.model_construct(
    ...     presses=True, pattern=Pattern.SPIRAL, overlap=0.5, width_cm=10.0, leg_width_cm=None,
    ...     tensions_n_per_cm=(1.0, 1.0),
    ... )
    >>> system = SystemPlan.model_construct(
    ...     padding=wool, pads_mm={}, layers=(layer,), pressure_points=(), bridged=(), gaps=()
    ... )
    >>> leg = LegPlan.model_construct(
    ...     side=Side.RIGHT, decision=SimpleNamespace(maximum_mmhg=50.0), maxima=None
    ... )
    >>> bandaged = BandagedLeg(LegMeasurements(26.5, girth, place))
    >>> "over 100" in surface_map(leg, system, bandaged, remainder=0.9).to_text()
    True
    """
    mapped = likely_skin_map(bandaged_leg, system, remainder)
    surface = mapped.surface
    maximum = leg.decision.maximum_mmhg or 0.0
    drawing = Drawing(
        _WIDTH + _KEY,
        _HEIGHT,
        Said("Pressure on the {side} leg, unrolled", {"side": Said(leg.side.value)}),
        _facts(system),
        translate,
    )
    limit = leg.maxima.bony_mmhg if leg.maxima else 2 * maximum
    steps = _steps(limit)
    _cells(drawing, surface, mapped.pressure_mmhg, mapped.thicknesses, steps, leg.side)
    _frame(drawing, surface, leg.side)
    names = {point.place: n for n, point in enumerate(system.pressure_points, start=1)}
    for where in bony_places(surface):
        if where.name in names:
            ring = round(float(where.weights @ where.rings))
            angle = float(np.angle(where.weights @ np.exp(1j * surface.angle[where.angles])))
            x, y = (
                _x(np.rad2deg(angle), leg.side),
                _y(surface, surface.s_cm[ring]),
            )
            drawing.circle(x, y, 8, fill="#FFFFFF", stroke=STOP, stroke_width=1.5)
            drawing.text(
                x, y + 4, str(names[where.name]), font_size=11, text_anchor="middle",
                font_weight="600", fill=STOP,
            )  # fmt: skip
    _key(drawing, steps, limit)
    return drawing


def _facts(system: SystemPlan) -> Said:
    points = [_point_said(n, point) for n, point in enumerate(system.pressure_points, start=1)]
    hollows = (
        Said("{place}, {depth:.0f} mm deep", {"place": Said(area.place), "depth": area.depth_mm})
        for area in system.bridged
    )
    bare = (
        Said("{place}, {area:.0f} cm²", {"place": Said(gap.place), "area": gap.area_cm2})
        for gap in system.gaps
    )
    return Said(
        "Pressure points: {points}. Spanned hollows: {hollows}. Bare skin: {bare}.",
        {
            "points": joined(points, SEMICOLON) or Said("none"),
            "hollows": joined(hollows, SEMICOLON) or Said("none"),
            "bare": joined(bare, SEMICOLON) or Said("none"),
        },
    )


def _point_said(number: int, point: PressurePoint) -> Said:
    values: dict[str, Value] = {
        "number": number,
        "place": Said(point.place),
        "likely": point.median_mmhg,
        "maximum": point.maximum_mmhg,
    }
    if not point.padding_mm:
        return Said("{number} {place}: likely {likely:.0f} mmHg, maximum {maximum:.0f}", values)
    return Said(
        "{number} {place}: likely {likely:.0f} mmHg, maximum {maximum:.0f}, under a pad of "
        "{padding:.0f} mm",
        {**values, "padding": point.padding_mm},
    )


def _steps(limit_mmhg: float) -> list[float]:
    """Rounded limits between shades; the last is where the hatch begins."""
    step = max(5, int(np.ceil(limit_mmhg / _SHADES / 5)) * 5)
    return [float(step * n) for n in range(1, _SHADES)] + [limit_mmhg]


def _x(degrees: float, side: Side) -> float:
    """Inner side on the right of a right leg seen from the front, as in the other drawing."""
    turned = (degrees + 180) % 360 - 180
    mirrored = turned if side is Side.RIGHT else -turned
    return _LEFT + (mirrored + 180) / 360 * (_WIDTH - _LEFT)


def _y(surface: Surface, s_cm: float) -> float:
    share = (s_cm - surface.start_s_cm) / (surface.end_s_cm - surface.start_s_cm)
    return _HEIGHT - 26 - share * (_HEIGHT - 26 - _TOP)


def _cells(
    drawing: Drawing,
    surface: Surface,
    pressure: Array,
    covered: Array,
    steps: list[float],
    side: Side,
) -> None:
    """Cell means of the fine map, each in its shade; signs for too much, nothing and bare."""
    inside = (surface.s_cm >= surface.start_s_cm) & (surface.s_cm <= surface.end_s_cm)
    angles = pressure.shape[1] // _COLUMNS
    blocks = np.array_split(np.flatnonzero(inside), _ROWS)
    colours = pressure_colours(_SHADES)
    width = (_WIDTH - _LEFT) / _COLUMNS
    for rows in blocks:
        top, bottom = _y(surface, surface.s_cm[rows[-1]]), _y(surface, surface.s_cm[rows[0]])
        height = bottom - top + (surface.s_cm[1] - surface.s_cm[0]) * 9
        mean = pressure[rows].reshape(len(rows), _COLUMNS, angles).mean(axis=(0, 2))
        thick = covered[rows].reshape(len(rows), _COLUMNS, angles).mean(axis=(0, 2))
        bare = thick < 0.5
        shades = np.where(bare, -1, np.minimum(np.searchsorted(steps, mean), _SHADES - 1))
        # From left to right on paper, neighbours of one shade as one rectangle.
        order = np.argsort([_x((c + 0.5) * 360 / _COLUMNS, side) for c in range(_COLUMNS)])
        runs = np.split(order, np.flatnonzero(np.diff(shades[order])) + 1)
        left = _LEFT
        for run in runs:
            shade = int(shades[run[0]])
            fill = PAPER if shade < 0 else colours[shade]
            drawing.rectangle(left, top, len(run) * width + 0.3, height, fill=fill)
            left += len(run) * width
        for place, column in enumerate(order):
            x = _LEFT + place * width
            if bare[column]:
                drawing.line(x, top, x + width, top + height, stroke_width=0.7)
                drawing.line(x, top + height, x + width, top, stroke_width=0.7)
            elif mean[column] > steps[-1]:
                drawing.line(x, top + height, x + width, top, stroke="#FFFFFF", stroke_width=1)
            elif mean[column] < 1:
                drawing.circle(x + width / 2, top + height / 2, 0.9, fill=INK)


def _frame(drawing: Drawing, surface: Surface, side: Side) -> None:
    for degrees, name in _SIDES:
        x = _LEFT if degrees == -180 else _WIDTH if degrees == 180 else _x(degrees, side)
        drawing.line(x, _TOP - 4, x, _TOP, stroke=QUIET)
        drawing.text(x, _TOP - 8, name, font_size=11, text_anchor="middle", fill=QUIET)
    for landmark in Landmark:
        s = surface.landmark_s_cm[landmark]
        if surface.start_s_cm <= s <= surface.end_s_cm:
            y = _y(surface, s)
            drawing.line(_LEFT - 5, y, _LEFT, y, stroke=QUIET)
            label = Said(landmark.label)
            drawing.text(_LEFT - 8, y + 4, label, font_size=10.5, text_anchor="end", fill=QUIET)


def _key(drawing: Drawing, steps: list[float], limit: float) -> None:
    colours = pressure_colours(_SHADES)
    x, y = _WIDTH + 16, _HEIGHT - 60
    drawing.text(x, y - _SHADES * 22 - 8, Said("likely mmHg"), font_size=10.5, fill=QUIET)
    for shade, colour in enumerate(colours):
        top = y - (shade + 1) * 22
        drawing.rectangle(x, top, 18, 20, fill=colour, stroke=QUIET, stroke_width=0.4)
        low = 0.0 if shade == 0 else steps[shade - 1]
        drawing.text(x + 23, top + 14, f"{low:.0f}–{steps[shade]:.0f}", font_size=10.5)
    drawing.rectangle(x, y + 4, 18, 14, fill=colours[-1], stroke=QUIET, stroke_width=0.4)
    drawing.line(x, y + 18, x + 18, y + 4, stroke="#FFFFFF")
    drawing.text(x + 23, y + 15, Said("over {limit:.0f}", {"limit": limit}), font_size=10.5)
    drawing.circle(x + 9, y + 28, 1.2, fill=INK)
    drawing.text(x + 23, y + 32, Said("spanned"), font_size=10.5)
    drawing.line(x + 4, y + 37, x + 14, y + 47)
    drawing.line(x + 4, y + 47, x + 14, y + 37)
    drawing.text(x + 23, y + 47, Said("bare"), font_size=10.5)
