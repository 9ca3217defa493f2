import numpy as np
import pytest

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.case.person import Sex, Training
from gaiter.core.landmark import Landmark
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.padded_leg import BandagedLeg, Padding
from gaiter.core.policy import Policy
from gaiter.core.pressure.laplace import ring_mean_mmhg
from gaiter.core.spread.draws import Draws, Hands, LayerTurns, Layout, SpreadInputs
from gaiter.core.spread.sampling import (
    SHIFTS_CM,
    Band,
    Girths,
    SampledLayer,
    points_for,
    sample_units,
)
from tests.strategies import percentile_leg

TURNS = 10
# One disc that every turn presses alike wherever it lies: only tension and factors matter.
FLAT = np.full((TURNS, len(SHIFTS_CM), 1), 4.0)
SITE = Girths(np.array([28.0]), np.zeros((1, len(Landmark))))
STEADY = (Hands(0.0, 0.0),)


def hands(cv: float) -> tuple[Hands, ...]:
    return (Hands.of_spread(cv),)


def layer(table=FLAT, resting: bool = False) -> SampledLayer:
    """At the same height all along."""
    turns = len(table)
    heights = np.tile([1.0, 0.0, 0.0], (turns, 1))
    return SampledLayer(LayerTurns(turns, min(3, turns), resting, heights), table)


def sampled(inputs: SpreadInputs, samples: int = 8192, table=FLAT, sites=SITE, seed: int = 5):
    """One layer at the same tension on foot and leg."""
    layers = [layer(table)]
    return sample_units(layers, inputs, sites, points_for(layers, samples, seed))[0].sum(axis=0)


def test_without_any_spread_it_is_the_plain_sum() -> None:
    units = sampled(SpreadInputs(STEADY, 1.0, 1e-9))
    # Rolls differ by 5 %; everything else is off.
    assert np.median(units) == pytest.approx(4.0 * TURNS, rel=0.01)
    assert np.log(units).std() == pytest.approx(0.05, rel=0.03)


def test_theory_remainder_is_log_normal_with_the_stated_range() -> None:
    units = np.log(sampled(SpreadInputs(STEADY, 0.8, 0.35)) / (4.0 * TURNS))
    assert np.median(units) == pytest.approx(np.log(0.8), abs=0.01)
    sd = np.sqrt((np.log(1.35) / 1.96) ** 2 + 0.05**2)
    assert units.std() == pytest.approx(sd, rel=0.03)


@pytest.mark.parametrize("training", list(Training))
def test_default_hands_reproduce_the_published_spread(policy: Policy, training: Training) -> None:
    """One turn's tension has the published coefficient of variation of its training level."""
    one_turn = np.full((1, len(SHIFTS_CM), 1), 4.0)
    cv = policy.hands[training].tension_cv
    units = sampled(SpreadInputs(hands(cv), 1.0, 1e-9), table=one_turn)[0]
    expected = np.sqrt((1 + cv**2) * (1 + 0.05**2) - 1)
    assert units.std() / units.mean() == pytest.approx(expected, rel=0.05)


def test_tape_error_moves_pressure_as_one_over_girth() -> None:
    sites = Girths(np.array([28.0]), np.eye(1, len(Landmark)) * 1.4)
    units = sampled(SpreadInputs(STEADY, 1.0, 1e-9), sites=sites)[0]
    assert np.log(units).std() == pytest.approx(np.hypot(0.05, 0.05), rel=0.05)


def test_thicker_wool_means_less_pressure() -> None:
    thick = sampled(SpreadInputs(STEADY, 1.0, 1e-9, (0.0, 0.0, 0.6)))
    assert np.median(thick) == pytest.approx(4.0 * TURNS / (1 + 2 * np.pi * 0.3 / 28), rel=0.01)


def test_a_further_layer_adds_between_half_and_all_of_its_own() -> None:
    layers = [layer(), layer()]
    points = points_for(layers, 4096, 3)
    first, further = sample_units(layers, SpreadInputs(STEADY, 1.0, 1e-9), SITE, points).sum(axis=1)
    assert np.median(further) / np.median(first) == pytest.approx(0.75, abs=0.02)


def test_a_resting_layer_lies_between_nothing_and_its_largest() -> None:
    layers = [layer(resting=True)]
    points = points_for(layers, 4096, 3)
    units = sample_units(layers, SpreadInputs(hands(0.4), 1.0, 1e-9), SITE, points).sum(axis=1)
    # Uniform, and whatever the hands, because nobody stretches it.
    assert np.quantile(units, [0.0, 0.5, 1.0]) == pytest.approx(
        [0, 2.0 * TURNS, 4.0 * TURNS], abs=0.05 * TURNS
    )


def test_foot_and_leg_turns_are_kept_apart() -> None:
    layers = [layer()]
    points = points_for(layers, 1024, 3)
    foot, leg = sample_units(layers, SpreadInputs(STEADY, 1.0, 1e-9), SITE, points)[0]
    assert np.median(foot) / np.median(leg) == pytest.approx(3 / (TURNS - 3), rel=0.02)


@pytest.fixture(scope="module")
def real():
    padded_leg = BandagedLeg(percentile_leg(Sex.MALE, 1)).under(Padding(0.28))
    laid = padded_leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0))
    return padded_leg, laid


def test_doubling_the_points_moves_shown_numbers_by_less_than_half_a_mmhg(real) -> None:
    padded_leg, laid = real
    inputs = SpreadInputs(hands(0.18), 0.92, 0.35, (0.0, 0.28, 0.565))
    bands = [
        [
            Band.of(1.3 * row)
            for row in sampled(inputs, n, laid.table, padded_leg.girths(padded_leg.discs))[:6]
        ]
        for n in (2048, 4096)
    ]
    for coarse, fine in zip(*bands, strict=True):
        # Half a mmHg, or half a per cent where the number itself is large.
        allowed = max(0.5, 0.01 * fine.high_mmhg)
        assert coarse.median_mmhg == pytest.approx(fine.median_mmhg, abs=allowed)
        assert coarse.low_mmhg == pytest.approx(fine.low_mmhg, abs=allowed)
        assert coarse.high_mmhg == pytest.approx(fine.high_mmhg, abs=2 * allowed)


def test_the_same_seed_gives_the_same_numbers(real) -> None:
    padded_leg, laid = real
    inputs = SpreadInputs(hands(0.18), 0.92, 0.35)
    tape = padded_leg.girths(padded_leg.discs)
    once, again = (sampled(inputs, 256, laid.table, tape) for _ in range(2))
    assert (once == again).all()
    assert (once != sampled(inputs, 256, laid.table, tape, seed=6)).any()


def test_remainder_is_set_so_that_sites_read_three_quarters_of_the_girth_formula(
    policy: Policy,
) -> None:
    """Published over-prediction, 19 % (Al Khaburi 2011) and 42 % (Garrigues-Ramon 2021), was
    sensor against girth formula; part of it is the inner side's own curvature. Over the
    published legs site times remainder is 0.75 of the girth formula.
    """
    ratios = []
    for sex in Sex:
        for index in range(3):
            measured = percentile_leg(sex, index)
            padded_leg = BandagedLeg(measured).under(Padding(0.0))
            laid = padded_leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0))
            site = padded_leg.sites[Landmark.GAITER]
            formula = ring_mean_mmhg(
                1.0, measured.girth_cm[Landmark.GAITER], site.mean(laid.thicknesses)
            )
            ratios.append(site.mean(laid.unit_map) / formula)
    assert policy["theory_remainder_median"] * np.median(ratios) == pytest.approx(0.75, abs=0.01)


def test_two_layer_study_lies_inside_the_band() -> None:
    """Garrigues-Ramon 2021, 47 women: sensors 42.1 % under the girth formula at the worst zone;
    Al Khaburi 2011: at least 19.2 % over-estimate, that is 16 % under. Both shares of the girth
    formula lie within the 95 % range of 0.75 times the remainder's spread.
    """
    low, high = 0.75 / 1.35, 0.75 * 1.35
    assert low < 1 - 0.421 < high
    assert low < 1 / 1.192 < high


def test_bands_hold_nine_in_ten_bandages_drawn_another_way(real) -> None:
    """Bands from Sobol points against 20,000 bandages at plain random points."""
    padded_leg, laid = real
    inputs = SpreadInputs(hands(0.18), 0.92, 0.35, (0.0, 0.28, 0.565))
    layers = [laid.sampled(resting=False)]
    girths = padded_leg.girths(padded_leg.discs)
    bands = sample_units(layers, inputs, girths, points_for(layers, 2048, 1))[0].sum(axis=0)
    rows = Layout([laid.strips.turns]).inputs
    plain = Draws(np.random.default_rng(8).uniform(1e-12, 1, (rows, 20_000)))
    drawn = sample_units(layers, inputs, girths, plain)[0].sum(axis=0)
    for place, bandages in zip(bands, drawn, strict=True):
        band = Band.of(place)
        inside = np.mean((band.low_mmhg <= bandages) & (bandages <= band.high_mmhg))
        assert 0.88 <= inside <= 0.92


def test_a_habit_moves_the_turns_at_its_own_height(real) -> None:
    """Ten per cent looser at the calf: nearly as much less there, nothing at the ankle.

    Turns of 10 cm at a pitch of 5 cover the calf with middles d above and 5 - d below it. The habit
    dies away within 9 cm up to the place below the knee and 20 cm down to the ankle of this leg:
    0.9 to the power of (2 - d / 9 - (5 - d) / 20) / 2 is 0.912 at d = 0 and 0.926 at d = 5.
    """
    padded_leg, laid = real
    layers = [laid.sampled(resting=False)]
    girths, points = padded_leg.girths(padded_leg.discs), points_for(layers, 512, 1)
    plain, loose = (
        np.median(
            sample_units(
                layers, SpreadInputs((Hands(0.0, 0.0, habit),), 1.0, 1e-9), girths, points
            )[0].sum(axis=0),
            axis=1,
        )
        for habit in ((0.0, 0.0, 0.0), (0.0, np.log(0.9), 0.0))
    )
    ratio = dict(zip(padded_leg.sites, loose / plain, strict=False))
    assert 0.91 < ratio[Landmark.CALF] < 0.93
    assert ratio[Landmark.INSTEP] == pytest.approx(1.0, abs=0.005)
