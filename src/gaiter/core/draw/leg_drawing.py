"""The leg with its turns, from the front and the inner side, drawn with one pen."""

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from gaiter.core.arrays import Array
from gaiter.core.bandage.path import SAMPLES_PER_TURN
from gaiter.core.bandage.strips import Strips
from gaiter.core.draw.palette import ACCENT, INK, PAPER, QUIET
from gaiter.core.draw.svg import Drawing, Pen
from gaiter.core.draw.view import Direction, View
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.measurements import LegMeasurements
from gaiter.core.leg.surface import Surface, normals_at, points_at
from gaiter.core.plan.document import LegPlan, SystemPlan
from gaiter.core.plan.padded_leg import BandagedLeg
from gaiter.core.plan.rebuilt import laid_layers
from gaiter.core.words import Said, Translate, Value, joined

Screen = Callable[[Array], Array]

PIXELS_PER_CM = 9.0
_MARGIN, _LABEL_WIDTH = 8.0, 122.0
_DISC_RADIUS = 8.0
# Discs closer than this would touch.
_DISC_GAP = 2 * _DISC_RADIUS + 2
_MEASURED, _ESTIMATED = "{place} {girth:.1f} cm", "{place} ≈ {girth:.1f} cm"
_LABELLED = (
    Landmark.METATARSAL_HEADS, Landmark.ANKLE, Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE
)  # fmt: skip


def leg_drawing(
    leg: LegPlan, system: SystemPlan, bandaged_leg: BandagedLeg, translate: Translate = str
) -> Drawing:
    """Front and inner side of the leg with the numbered turns of the outermost layer.

    Parameters
    ----------
    leg : LegPlan
        A planned leg.
    system : SystemPlan
        One of its systems.
    bandaged_leg : BandagedLeg
        The leg, as :func:`gaiter.core.plan.rebuilt.bandaged_leg_of` builds it.
    translate : callable
        From a template of its words to the same in the reader's language.

    Returns
    -------
    Drawing

    Examples
    --------
    >>> from gaiter.core.bandage.pattern import Pattern
    >>> from gaiter.core.bandage.wool import Build
    >>> from gaiter.core.landmark import Landmark as L
    >>> from gaiter.core.plan.document import Layer, PaddingUnder
    >>> girth = dict(zip(L, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
    >>> place = dict(zip([m for m in L if m is not L.HEEL_INSTEP],
    ...                  (19.5, 14.5, 12.0, 19.5, 31.0, 39.0)))
    >>> wool = PaddingUnder(
    ...     even_cm=0.5, layer_cm=0.5, build=Build.EVEN, end=L.BELOW_KNEE, text="", extra_turns=0
    ... )
    >>> layer = Layer.model_construct(
    ...     title="Elastic", turns=14, presses=True, pattern=Pattern.SPIRAL, overlap=0.5,
    ...     width_cm=10.0, leg_width_cm=None,
    ... )
    >>> system = SystemPlan.model_construct(
    ...     title="Two layers", padding=wool, pads_mm={}, layers=(layer,)
    ... )
    >>> leg = LegPlan.model_construct(side=Side.RIGHT)
    >>> drawing = leg_drawing(leg, system, BandagedLeg(LegMeasurements(26.5, girth, place)))
    >>> "<title>right leg with two layers</title>" in drawing.to_text()
    True
    """
    strips = laid_layers(bandaged_leg, system)[-1].strips
    pressing = [layer for layer in system.layers if layer.presses][-1]
    title = Said(
        "{side} leg with {system}",
        {"side": Said(leg.side.value), "system": Said(system.title.lower())},
    )
    turns = Said(
        "{title}, {pattern}, {turns} turns from the {start} to just below the knee; turn numbers "
        "in order.",
        {
            "title": Said(pressing.title),
            "pattern": Said(pressing.pattern.value),
            "turns": pressing.turns,
            "start": Said(bandaged_leg.measured.start.label),
        },
    )
    return _side_by_side(
        [
            _view(strips.surface, leg.side, bandaged_leg.measured, d, translate, strips)
            for d in Direction
        ],
        title,
        turns,
        translate,
    )


def bare_leg_drawing(
    measured: LegMeasurements,
    side: Side,
    before: LegMeasurements | None = None,
    translate: Translate = str,
) -> Drawing:
    """Front and inner side of a leg without a bandage, as its measurements make it.

    Parameters
    ----------
    measured : LegMeasurements
        The leg now.
    side : Side
        Which leg.
    before : LegMeasurements or None
        The same leg earlier, drawn as a broken line behind it.
    translate : callable
        From a template of its words to the same in the reader's language.

    Returns
    -------
    Drawing

    Examples
    --------
    >>> from gaiter.core.landmark import Landmark as L
    >>> girth = dict(zip(L, (23.5, 24.5, 33.0, 22.5, 27.0, 37.0, 34.0)))
    >>> place = dict(zip([m for m in L if m is not L.HEEL_INSTEP],
    ...                  (19.5, 14.5, 12.0, 19.5, 31.0, 39.0)))
    >>> drawing = bare_leg_drawing(LegMeasurements(26.5, girth, place), Side.RIGHT)
    >>> "calf 37.0 cm" in drawing.to_text()
    True
    """
    surface = leg_surface(measured)
    earlier = leg_surface(before) if before is not None else None
    facts = joined(Said(_MEASURED, _girth_values(landmark, measured)) for landmark in _LABELLED)
    if before is not None:
        facts = Said("{girths}; the broken line is the leg before", {"girths": facts})
    return _side_by_side(
        [_view(surface, side, measured, d, translate, before=earlier) for d in Direction],
        Said("{side} leg as measured", {"side": Said(side.value)}),
        facts,
        translate,
    )


def _girth_said(landmark: Landmark, measured: LegMeasurements) -> Said:
    estimated = f"girth_cm.{landmark}" in measured.estimated
    return Said(_ESTIMATED if estimated else _MEASURED, _girth_values(landmark, measured))


def _girth_values(landmark: Landmark, measured: LegMeasurements) -> dict[str, Value]:
    return {"place": Said(landmark.label), "girth": measured.girth_cm[landmark]}


def _side_by_side(
    views: Sequence[Drawing], title: Said, description: Said, translate: Translate
) -> Drawing:
    width = sum(view.width for view in views)
    height = max(view.height for view in views)
    whole = Drawing(width, height, title, description, translate)
    left = 0.0
    for view in views:
        whole.place(view, left, height - view.height)
        left += view.width
    return whole


def _view(  # one view: the leg, how it is seen, and what lies on or behind it
    surface: Surface,
    side: Side,
    measured: LegMeasurements,
    direction: Direction,
    translate: Translate,
    strips: Strips | None = None,
    before: Surface | None = None,
) -> Drawing:
    view = View(direction, side)
    outline = view.outline(surface)
    toes = _toes(view, surface.points_cm, measured.foot_length_cm)
    behind = [view.outline(before)] if before is not None else []
    everything = np.concatenate([outline, toes, *behind])
    low, high = everything.min(axis=0), everything.max(axis=0)
    labels = _LABEL_WIDTH if direction is Direction.INNER_SIDE else 0.0
    size = (high - low) * PIXELS_PER_CM + [2 * _MARGIN, 2 * _MARGIN + 8]
    seen = Said("seen from the {direction}", {"direction": Said(direction.value)})
    drawing = Drawing(size[0] + labels, size[1] + 18, seen, "", translate)
    label_left = labels if side is Side.LEFT else 0.0

    def screen(points: Array) -> Array:
        placed: Array = (points - low) * PIXELS_PER_CM + [
            _MARGIN + label_left,
            _MARGIN + 18,
        ]
        return placed

    caption = Said(
        "{side} leg, {direction}",
        {"side": Said(side.value), "direction": Said(direction.value)},
    )
    drawing.text(_MARGIN + label_left, 14, caption, fill=QUIET, font_size=13)
    drawing.curve(screen(toes), stroke=QUIET, stroke_width=1, stroke_dasharray="3 3")
    drawing.curve(screen(outline), closed=True, fill=PAPER)
    # Seen over the hollow in front of the ankle a straight edge would leave the leg.
    inside = drawing.clipped(screen(outline), f"leg-{side}-{direction.replace(' ', '-')}")
    discs = _turns(inside, strips, view, screen) if strips is not None else []
    drawing.curve(screen(outline), closed=True, stroke=INK, stroke_width=1.5)
    for earlier in behind:
        drawing.curve(
            screen(earlier), closed=True, stroke=ACCENT, stroke_width=1.2, stroke_dasharray="5 4"
        )
    _discs(drawing, discs)
    if labels:
        _landmarks(drawing, surface, view, screen, measured)
    return drawing


def _toes(view: View, points: Array, foot_length_cm: float) -> Array:
    """A plain line for the toes, which stay free, from the top of the foot to its sole."""
    first = points[0]
    angles = len(first)
    top, sole = first[0], first[angles // 2]
    tip = np.array([foot_length_cm, 0.0, 0.0])
    t = np.linspace(0, 1, 15)[:, None]
    if view.direction is Direction.INNER_SIDE:
        corner = np.array([tip[0], 0.0, top[2] * 0.75])
        curve = (1 - t) ** 2 * top + 2 * t * (1 - t) * corner + t**2 * tip
        return view.project(np.concatenate([curve, [sole]]))
    inner, outer = first[angles // 4], first[3 * angles // 4]
    ball = (inner + outer) / 2
    front = np.array([2 * (tip[0] - ball[0]), 0.0, -ball[2]])
    curve = (1 - t) * inner + t * outer + 2 * t * (1 - t) * front
    return view.project(curve)


def _turns(drawing: Pen, strips: Strips, view: View, screen: Screen) -> list[tuple[int, Array]]:
    """Draws every visible part of every turn, first turn first; returns where discs may go."""
    surface, s, angle = strips.surface, strips.lane_s_cm, strips.lane_angle
    low, lower_middle, high = (points_at(surface, s[lane], angle[lane]) for lane in (0, 2, -1))
    seen = view.visible(normals_at(surface, s[0], angle[0]))
    low_px, high_px = screen(view.project(low)), screen(view.project(high))
    disc_px = screen(view.project(lower_middle))
    last = len(strips.path.turn) - 1
    discs = []
    for turn in range(strips.turns):
        samples = np.arange(turn * SAMPLES_PER_TURN, min((turn + 1) * SAMPLES_PER_TURN, last) + 1)
        runs = _runs(samples[seen[samples]])
        for run in runs:
            band = np.concatenate([low_px[run], high_px[run[::-1]]])
            drawing.curve(band, closed=True, fill=PAPER, stroke=PAPER, stroke_width=0.4)
            drawing.curve(low_px[run], stroke=INK, stroke_width=0.6)
            drawing.curve(high_px[run], stroke=INK, stroke_width=0.6)
        if runs:
            longest = max(runs, key=len)
            inner = longest[len(longest) // 5 : -len(longest) // 5 or None]
            discs.append((turn + 1, disc_px[inner]))
    if seen[last]:
        end = points_at(surface, strips.path.s_cm[-1:], strips.path.angle[-1:])
        x, y = screen(view.project(end))[0]
        drawing.curve(_roll(x, y), stroke=ACCENT, stroke_width=1.2)
    return discs


def _roll(x: float, y: float) -> Array:
    """The roll at the leading edge: a spiral about its core."""
    around = np.linspace(0, 5 * np.pi, 60)
    radius = 1 + _DISC_RADIUS * around / (5 * np.pi)
    return np.stack([x + radius * np.cos(around), y + radius * np.sin(around)], axis=-1)


def _runs(samples: npt.NDArray[np.intp]) -> list[npt.NDArray[np.intp]]:
    """Consecutive samples, each part at least two long."""
    if not len(samples):
        return []
    parts = np.split(samples, np.flatnonzero(np.diff(samples) > 1) + 1)
    return [part for part in parts if len(part) > 1]


def _discs(drawing: Drawing, discs: Sequence[tuple[int, Array]]) -> None:
    """Numbered discs, near the middle of their turn, clear of those already there."""
    placed: list[Array] = []
    for turn, places in discs:
        off_middle = np.abs(np.linspace(-1, 1, len(places)))
        gap = np.full(len(places), np.inf)
        if placed:
            gap = np.linalg.norm(places[:, None] - np.array(placed), axis=-1).min(axis=1)
        # Clear of the others first; then the nearer the middle, the better.
        best = int(np.argmax(np.minimum(gap, _DISC_GAP) - _DISC_RADIUS * off_middle))
        if gap[best] < _DISC_GAP / 2:
            continue
        x, y = places[best]
        placed.append(places[best])
        drawing.circle(x, y, _DISC_RADIUS, fill="#FFFFFF", stroke=ACCENT, stroke_width=1)
        drawing.text(
            x,
            y + 4,
            str(turn),
            font_size=11.5,
            text_anchor="middle",
            fill=ACCENT,
            font_weight="600",
        )


def _landmarks(
    drawing: Drawing, surface: Surface, view: View, screen: Screen, measured: LegMeasurements
) -> None:
    """A tick on the back of the leg at each landmark, with its girth."""
    back = np.full(1, np.pi)
    out = 1 if view.side is Side.RIGHT else -1
    lowest = screen(view.outline(surface))[:, 1].max()
    for landmark in _LABELLED:
        s = np.array([surface.landmark_s_cm[landmark]])
        if s[0] < surface.start_s_cm:
            continue
        x, y = screen(view.project(points_at(surface, s, back)))[0]
        # The sole's label goes under the whole foot, the others behind the leg.
        on_sole = landmark is Landmark.METATARSAL_HEADS
        below = lowest + 12 - y if on_sole else 3.5
        drawing.line(x, y, x + out * 8, y, stroke=QUIET, stroke_width=1)
        drawing.text(
            x + out * 11,
            y + below,
            _girth_said(landmark, measured),
            font_size=11.5,
            fill=QUIET,
            text_anchor="start" if out > 0 else "end",
        )
