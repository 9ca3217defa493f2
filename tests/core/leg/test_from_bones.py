import pytest

from gaiter.core.leg import from_bones


def test_heights_agree_with_the_example_of_the_published_median_woman() -> None:
    """examples/anthropometry/women-50.toml, worked out by hand; a tape reads to 1 mm."""
    ankle = from_bones.ankle_height_cm(6.3)
    assert ankle == pytest.approx(10.3, abs=0.1)
    assert from_bones.calf_height_cm(ankle, 43.7) == pytest.approx(29.5, abs=0.1)
    assert from_bones.below_knee_height_cm(43.7) == pytest.approx(37.7, abs=0.1)
    assert from_bones.below_knee_girth_cm(37.2) == pytest.approx(34.2, abs=0.1)
