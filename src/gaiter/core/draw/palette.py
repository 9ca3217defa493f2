"""Colours of paper and screen. A colour never says anything alone: sign and word come with it."""

from collections.abc import Sequence

PAPER, INK, QUIET, RULE = "#FBF8F3", "#22252B", "#5F646C", "#D9D3C8"
ACCENT, TINT = "#6A2C5B", "#F1E4EC"
GOOD, WATCH, STOP = "#2F6B4F", "#8A5A00", "#9B1C1C"

# A name that ends in a digit has to stand in quotation marks, or a browser reads none of the line.
FONT = "'Source Sans 3', 'Source Sans Pro', sans-serif"

# Ends and middle of the pressure ramp in OKLab (Ottosson 2020): lightness, a, b. Sand, ochre,
# plum; lightness falls in equal steps, so that it reads in grey.
_RAMP_OKLAB = ((0.93, 0.005, 0.035), (0.66, 0.04, 0.10), (0.38, 0.09, -0.03))


def pressure_colours(steps: int) -> list[str]:
    """Colours from the lowest to the highest pressure, even in a perceptual space.

    Examples
    --------
    >>> len(pressure_colours(5))
    5
    """
    low, middle, high = _RAMP_OKLAB
    colours = []
    for step in range(steps):
        share = step / max(steps - 1, 1)
        lightness = low[0] + share * (high[0] - low[0])
        ends, within = (
            ((low, middle), 2 * share) if share < 0.5 else ((middle, high), 2 * share - 1)
        )
        a, b = (ends[0][i] + within * (ends[1][i] - ends[0][i]) for i in (1, 2))
        colours.append(_hexadecimal((lightness, a, b)))
    return colours


def _hexadecimal(oklab: Sequence[float]) -> str:
    """OKLab to sRGB (Ottosson 2020), clipped to the gamut."""
    lightness, a, b = oklab
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    medium = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    linear = (
        4.0767416621 * long - 3.3077115913 * medium + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * medium - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * medium + 1.7076147010 * short,
    )
    channels = (
        12.92 * c if c <= 0.0031308 else 1.055 * c ** (1 / 2.4) - 0.055
        for c in (min(max(value, 0.0), 1.0) for value in linear)
    )
    return "#" + "".join(f"{round(255 * channel):02X}" for channel in channels)
