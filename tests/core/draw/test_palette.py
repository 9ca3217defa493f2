from itertools import pairwise

import pytest

from gaiter.core.draw import palette


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("name", ["INK", "QUIET", "ACCENT", "GOOD", "WATCH", "STOP"])
def test_text_colours_have_contrast_on_paper(name: str) -> None:
    """4.5 to 1, WCAG 2.2 AA."""
    dark, light = luminance(getattr(palette, name)), luminance(palette.PAPER)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


@pytest.mark.parametrize("steps", [3, 6, 12])
def test_the_pressure_ramp_darkens_evenly(steps: int) -> None:
    """Lightness falls step by step, so that it reads in grey."""
    lights = [luminance(colour) ** (1 / 2.2) for colour in palette.pressure_colours(steps)]
    falls = [before - after for before, after in pairwise(lights)]
    assert min(falls) > 0
    assert max(falls) < 2 * min(falls)
