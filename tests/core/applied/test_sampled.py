"""Bandages that agree with what was read: weights, overlaps and turns worked out by hand."""

from functools import cache

import numpy as np
import pytest

from gaiter.core.applied.sampled import (
    SAMPLES,
    WIDEST_HANDS,
    SampledApplied,
    sampled_after,
    spread_inputs_of,
    turn_at,
)
from gaiter.core.landmark import Landmark
from gaiter.core.spread.draws import Hands
from tests.core.applied.applied_plan import plan, readings, system


@cache
def after(sensor=(), overlap_cm: float | None = None, marks: bool = False) -> SampledApplied:
    """Bandages after these sensor values, an overlap, and the planned marks."""
    given = readings(
        None if marks else [],
        sensor or (("gaiter", 40.0),),
        overlaps=[] if overlap_cm is None else [{"layer": 3, "cm": overlap_cm}],
    )
    if not sensor:
        given = given.model_copy(update={"sensor": ()})
    return sampled_after(next(iter(plan().legs.values())), system(), given, 5)


def unread() -> SampledApplied:
    """The same bandages before anything was read: nothing is moved, all are kept."""
    return after()


def row(landmark: Landmark) -> int:
    return list(unread().padded_leg.sites).index(landmark)


@pytest.mark.parametrize("mmhg", [25.0, 40.0, 55.0])
def test_a_sensors_value_weighs_every_bandage_by_how_well_it_agrees(mmhg: float) -> None:
    """Its error is 3 mmHg and a tenth of the pressure there, as squares; then Bayes' rule."""
    before = unread().pressure_mmhg[row(Landmark.GAITER)]
    sd = np.sqrt(9 + (0.1 * before) ** 2)
    weight = np.exp(-(((mmhg - before) / sd) ** 2) / 2) / sd
    weight /= weight.sum()
    made = after((("gaiter", mmhg),))
    found = made.pressure_mmhg[row(Landmark.GAITER)]
    # 4096 evenly spaced picks: hundredths of a mmHg.
    assert found.mean() == pytest.approx((weight * before).sum(), abs=0.05)
    spread = np.sqrt((weight * before**2).sum() - (weight * before).sum() ** 2)
    assert found.std() == pytest.approx(spread, rel=0.02)
    surprise = (mmhg - before.mean()) / np.sqrt(before.var() + (sd**2).mean())
    assert made.sensor_surprise == pytest.approx((surprise,))
    # Everything else of the same bandages goes with them.
    remainder = (weight * unread().remainder).sum()
    assert made.remainder.mean() == pytest.approx(remainder, abs=2e-3)
    calf = (weight * unread().pressure_mmhg[row(Landmark.CALF)]).sum()
    # A mean of 4096 picks of other places of the same bandages: a sixtieth of their spread.
    assert made.pressure_mmhg[row(Landmark.CALF)].mean() == pytest.approx(calf, abs=0.15)


def test_two_sensors_weigh_together() -> None:
    rows = [row(Landmark.GAITER), row(Landmark.CALF)]
    before, read = unread().pressure_mmhg[rows], np.array([[35.0], [20.0]])
    sd = np.hypot(3, 0.1 * before)
    weight = (np.exp(-(((read - before) / sd) ** 2) / 2) / sd).prod(axis=0)
    weight /= weight.sum()
    made = after((("gaiter", 35.0), ("calf", 20.0)))
    for at, expected in zip(rows, (weight * before).sum(axis=1), strict=True):
        assert made.pressure_mmhg[at].mean() == pytest.approx(expected, abs=0.1)
    assert len(made.sensor_surprise) == 2


def test_without_a_sensor_every_bandage_is_kept_and_theory_has_no_remainder() -> None:
    made = unread()
    assert made.sensor_surprise == made.spacing_surprise == ()
    assert made.pressure_mmhg.shape[1] == SAMPLES == 4096
    np.testing.assert_allclose(made.theory_mmhg * made.remainder, made.pressure_mmhg)
    assert np.median(made.remainder) == pytest.approx(0.92, rel=0.01)


def test_an_unread_bandage_lies_as_planned() -> None:
    for site in system().sites:
        assert np.median(unread().pressure_mmhg[row(site.landmark)]) == pytest.approx(
            site.median_mmhg, rel=0.02
        )
    assert np.median(unread().profile_mmhg, axis=1) == pytest.approx(
        system().profile.median_mmhg, rel=0.05
    )


@pytest.mark.parametrize(("cm", "overlap"), [(5.0, 1.6 / 3), (8.0, 2 / 3 + 0.8 * (0.8 - 2 / 3))])
def test_an_overlap_counts_four_fifths_of_what_was_read(cm: float, overlap: float) -> None:
    """Hands stray by 1 cm, one reading by half: trust 1 / (1 + 0.25); two thirds are planned."""
    (laid,) = after(overlap_cm=cm).laid
    assert laid.geometry.overlap == pytest.approx(overlap)
    assert (laid.geometry.pattern, laid.geometry.width_cm) == (system().layers[-1].pattern, 10)


def test_spacings_draw_the_turn_that_was_read_to_its_mark() -> None:
    made = after(marks=True)
    stretch = made.stretch[0][made.turn_at(3, Landmark.CALF)]
    planned = system().layers[-1].stretch_percent / 100
    # Read to 2 mm on 10 cm; what is left is about that.
    assert stretch.mean() == pytest.approx(planned, abs=0.01)
    assert 0.01 < stretch.std() < 0.03
    assert len(made.spacing_surprise) == 3


def test_the_turn_at_a_place_is_the_one_whose_middle_lies_nearest() -> None:
    (laid,) = unread().laid
    for place in (Landmark.ANKLE, Landmark.CALF, Landmark.BELOW_KNEE):
        turn = turn_at(laid, place)
        assert turn >= 5
        path = laid.strips.path
        middles = np.interp(np.arange(laid.strips.turns) + 0.5, path.turn, path.s_cm)
        off = np.abs(middles - laid.padded_leg.surface.landmark_s_cm[place])
        assert off[turn] == off[5:].min()


def test_hands_of_any_day_stray_as_the_widest_that_was_published() -> None:
    """44 +- 19 mmHg at the calf; half of the variance of the logarithm is the day's."""
    assert WIDEST_HANDS.bias_sd == pytest.approx((np.log(1 + (19 / 44) ** 2) / 2) ** 0.5)


def test_the_spread_is_the_plans_own() -> None:
    one = system()
    hands = one.basis.hands[0].model_copy(
        update={"bias_sd": 0.05, "scatter_sd": 0.07, "habit": (0.1, 0.2, 0.3)}
    )
    basis = one.basis.model_copy(
        update={
            "hands": (hands,), "remainder_median": 0.8, "remainder_range95": 0.2,
            "padding_cm": (0.1, 0.2, 0.4),
        }
    )  # fmt: skip
    inputs = spread_inputs_of(one.model_copy(update={"basis": basis}))
    assert inputs.hands == (Hands(0.05, 0.07, (0.1, 0.2, 0.3)),)
    assert (inputs.remainder_median, inputs.remainder_range95) == (0.8, 0.2)
    assert inputs.padding_cm == (0.1, 0.2, 0.4)
    with pytest.raises(ValueError, match="the plan keeps no spread"):
        spread_inputs_of(one.model_copy(update={"basis": None}))
