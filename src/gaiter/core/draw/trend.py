"""A few values one after the other: dots on a line, each with its number."""

from collections.abc import Sequence

from gaiter.core.draw.palette import ACCENT, INK, QUIET, RULE
from gaiter.core.draw.svg import Drawing
from gaiter.core.words import Said, Several, Translate

_WIDTH, _HEIGHT, _LEFT, _RIGHT, _TOP, _BOTTOM = 520.0, 200.0, 44.0, 16.0, 24.0, 40.0


def trend_drawing(
    values: Sequence[float], what: Said, across: Said, translate: Translate = str
) -> Drawing:
    """Values upwards from 0, in order across.

    Parameters
    ----------
    values : sequence of float
        At least one, 0 or more.
    what, across : Said
        What the values are with their unit, and what is counted across.
    translate : callable
        From a template of its words to the same in the reader's language.

    Returns
    -------
    Drawing

    Examples
    --------
    >>> what = Said("mmHg at the gaiter")
    >>> text = trend_drawing([40.0, 36.0], what, Said("visit")).to_text()
    >>> "mmHg at the gaiter, by visit: 1: 40, 2: 36" in text
    True
    """
    facts = Several(
        tuple(
            Said("{number}: {value:.0f}", {"number": n, "value": value})
            for n, value in enumerate(values, start=1)
        )
    )
    described = Said(
        "{what}, by {across}: {facts}", {"what": what, "across": across, "facts": facts}
    )
    drawing = Drawing(_WIDTH, _HEIGHT, what, described, translate)
    step = next(s for s in (1, 2, 5, 10, 20, 50, 100) if max(values) / s <= 5)
    top = step * (int(max(values) // step) + 1)

    def x(number: int) -> float:
        return _LEFT + (number + 0.5) / len(values) * (_WIDTH - _LEFT - _RIGHT)

    def y(value: float) -> float:
        return _HEIGHT - _BOTTOM - value / top * (_HEIGHT - _TOP - _BOTTOM)

    for tick in range(0, top + 1, step):
        drawing.line(_LEFT, y(tick), _WIDTH - _RIGHT, y(tick), stroke=RULE, stroke_width=0.7)
        drawing.text(_LEFT - 6, y(tick) + 4, str(tick), text_anchor="end", fill=QUIET, font_size=10)
    points = [(x(number), y(value)) for number, value in enumerate(values)]
    drawing.curve(points, stroke=ACCENT, stroke_width=1.5)
    # Every number where there is room, else every few.
    every = max(1, len(values) // 12)
    for number, (across_px, up_px) in enumerate(points):
        drawing.circle(across_px, up_px, 4, fill=INK)
        if number % every == 0:
            drawing.text(
                across_px, up_px - 9, f"{values[number]:.0f}", text_anchor="middle", font_size=11
            )
            drawing.text(
                across_px, _HEIGHT - _BOTTOM + 15, str(number + 1),
                text_anchor="middle", fill=QUIET, font_size=10,
            )  # fmt: skip
    drawing.text(_LEFT - 30, 12, what, fill=QUIET, font_size=10)
    drawing.text(_WIDTH - _RIGHT, _HEIGHT - 8, across, text_anchor="end", fill=QUIET, font_size=10)
    return drawing
