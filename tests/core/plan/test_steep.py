"""Too steep for the hands: worked out by hand on the generic curve."""

import pytest

from gaiter.core.plan.steep import USUAL_STEEPNESS, Steepness
from gaiter.core.policy import Policy


@pytest.mark.parametrize(
    ("likely", "two_more", "hands", "expected"),
    [
        # Range 10 to 20: 2 mm are 9 mmHg and the hands spread over 12.
        (12, 21, 12, True),
        # Steady hands, or a gentle curve: no reason against.
        (12, 21, 9, False),
        (12, 13, 12, False),
        # Exactly 15 % of the range, policy's share, is still allowed.
        (12, 13.5, 12, False),
        (12, 13.6, 12, True),
    ],
)
def test_both_the_hands_and_the_curve_must_exceed(
    likely, two_more, hands, expected, policy: Policy
) -> None:
    assert Steepness(likely, two_more, hands).too_steep(10, 20, policy) is expected


def test_the_usual_steepness_is_that_of_the_long_stretch_curve(catalogue) -> None:
    curve = catalogue["long_stretch_elastic"].curve
    relative = float(curve.slope_n_per_cm(0.5)) / float(curve.tension_n_per_cm(0.5))
    assert relative == pytest.approx(USUAL_STEEPNESS, abs=0.05)
