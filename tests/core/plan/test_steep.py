"""Too steep for the hands: worked out by hand on the generic curve."""

from dataclasses import replace

import pytest

from gaiter.core.plan.steep import USUAL_STEEPNESS, Steepness, steepness_of
from gaiter.core.policy import Policy
from gaiter.core.spread.draws import Hands
from tests.core.plan.hand_made import (
    COHESIVE,
    ELASTIC,
    STRETCH,
    USUAL_N_PER_CM,
    built,
    slope_of,
    tension,
)

# The middle of the hand-made samples, 0.1 to 100 mmHg.
LIKELY = 50.05
# Nine tenths of a normal spread lie within 1.64485 standard deviations to either side.
NINE_TENTHS = 2 * 1.64485


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
        # Hands that spread over exactly the range are not beyond it.
        (12, 21, 10, False),
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


def wrong(bias: float = 0.1, scatter: float = 0.2) -> Hands:
    return Hands(bias_sd=bias, scatter_sd=scatter)


def test_one_layer_rises_as_its_curve_does_and_spreads_as_the_hands_do() -> None:
    """Spreads of day and turn add as squares; 2.6 of tension for one of stretch is the usual."""
    found = steepness_of(built("orthopaedic_wool", ELASTIC, hands=(wrong(),)).design)
    now = tension(STRETCH)
    assert found.likely_mmhg == pytest.approx(LIKELY)
    # 2 mm of marks 10 cm apart are 2 % of stretch.
    assert found.two_more_mmhg == pytest.approx(LIKELY * tension(STRETCH + 0.02) / now, rel=1e-4)
    relative = slope_of(STRETCH, USUAL_N_PER_CM, 2.18) / now
    hands = NINE_TENTHS * (0.1**2 + 0.2**2) ** 0.5 / 2.6 * LIKELY * relative
    assert found.hands_mmhg == pytest.approx(hands, rel=1e-3)


def test_near_locking_it_goes_half_of_the_way_that_is_left() -> None:
    """Short-stretch locks at 90 %: from 89 % the marks cannot go 2 % farther, only half of 1 %."""
    stretches = {"short_stretch": (0.89, 0.5)}
    design = built("orthopaedic_wool", "short_stretch", stretches=stretches).design
    now, more = (e / (1 - e / 0.9) for e in (0.89, 0.895))
    assert steepness_of(design).two_more_mmhg == pytest.approx(LIKELY * more / now, rel=1e-3)


@pytest.mark.parametrize("order", [(ELASTIC, COHESIVE), (COHESIVE, ELASTIC)])
def test_the_steepest_layer_counts_with_its_own_share_and_hands(order: tuple[str, str]) -> None:
    """Cohesive, locking at 108 %, is the steeper; each presses its share of the middle."""
    stretches = {ELASTIC: (0.5, 0.5), COHESIVE: (0.6, 0.6)}
    hands = tuple(wrong() if key == COHESIVE else wrong(0.3, 0.4) for key in order)
    found = steepness_of(built("orthopaedic_wool", *order, stretches=stretches, hands=hands).design)
    usual = 0.75 * USUAL_N_PER_CM
    now, more = (tension(e, usual, 1.08) for e in (0.6, 0.62))
    part = LIKELY * now / (now + tension(0.5))
    assert found.two_more_mmhg == pytest.approx(LIKELY + part * (more / now - 1), rel=1e-4)
    spread = NINE_TENTHS * 0.05**0.5 / 2.6 * part * slope_of(0.6, usual, 1.08) / now
    assert found.hands_mmhg == pytest.approx(spread, rel=1e-3)


def test_a_layer_that_only_holds_is_left_out() -> None:
    design = built("orthopaedic_wool", ELASTIC).design
    layers = tuple(replace(layer, rests=True) for layer in design.layers)
    found = steepness_of(replace(design, layers=layers))
    assert (found.likely_mmhg, found.two_more_mmhg, found.hands_mmhg) == (LIKELY, LIKELY, 0)


def test_of_two_layers_as_steep_the_inner_counts() -> None:
    """Each presses half of the middle; the hands of the first have 0.1 and 0.2."""
    hands = (wrong(), wrong(0.3, 0.4))
    found = steepness_of(built("orthopaedic_wool", ELASTIC, ELASTIC, hands=hands).design)
    relative = slope_of(STRETCH, USUAL_N_PER_CM, 2.18) / tension(STRETCH)
    spread = NINE_TENTHS * 0.05**0.5 / 2.6 * LIKELY / 2 * relative
    assert found.hands_mmhg == pytest.approx(spread, rel=1e-3)
