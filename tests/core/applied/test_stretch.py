import numpy as np
import pytest
from scipy.stats import norm, qmc

from gaiter.core.applied.stretch import (
    CONTRADICTS_FROM,
    READING_SD,
    LayerStretch,
    TurnReading,
    expected_stretch,
    log_tension,
    met_by_readings,
    stretch_covariance,
    stretch_of,
    surprise,
)
from gaiter.core.fabric.curve import StretchCurve
from gaiter.core.spread.draws import Hands

CURVE = StretchCurve(0.5, 1.0, 2.0)
PLANNED = float(CURVE.tension_n_per_cm(0.5))


STEADY = Hands(0.12, 0.12)


def layer(turns: int = 8, hands: Hands = STEADY) -> LayerStretch:
    return LayerStretch(CURVE, np.full(turns, PLANNED), hands, np.zeros(turns))


def prior_samples(layers, samples: int = 20_000, seed: int = 1):
    """Log tensions drawn by plain random numbers from the stated covariance of the hands."""
    rng = np.random.default_rng(seed)
    bias = rng.standard_normal(samples)
    parts = []
    for one in layers:
        turns = len(one.habit)
        lag = np.abs(np.subtract.outer(np.arange(turns), np.arange(turns)))
        scatter = np.linalg.cholesky(0.6**lag) @ rng.standard_normal((turns, samples))
        parts.append(one.habit[:, None] + one.hands.bias_sd * bias + one.hands.scatter_sd * scatter)
    return np.concatenate(parts)


def test_covariance_is_that_of_sampled_stretches() -> None:
    layers = [layer(5, Hands(0.02, 0.03)), layer(4, Hands(0.02, 0.03))]
    sampled = stretch_of(layers, prior_samples(layers, 200_000))
    # Small spreads, so that the curve is a straight line over them.
    assert stretch_covariance(layers) == pytest.approx(np.cov(sampled), abs=3e-6)
    assert expected_stretch(layers) == pytest.approx(sampled.mean(axis=1), abs=3e-4)


def test_one_turn_is_the_posterior_integrated_on_a_grid() -> None:
    """Log-normal tension, one reading of its stretch, Bayes' rule by plain summation."""
    hands = Hands(0.15, 0.15)
    layers = [layer(1, hands)]
    read = 0.42
    x = np.linspace(-1.2, 1.2, 20_001)
    stretch = CURVE.stretch_for(PLANNED * np.exp(x))
    weight = norm.pdf(x, 0, np.hypot(0.15, 0.15)) * norm.pdf(read, stretch, READING_SD)
    weight /= weight.sum()
    mean = (weight * stretch).sum()
    sd = np.sqrt((weight * (stretch - mean) ** 2).sum())

    before = stretch_of(layers, prior_samples(layers))
    noise = np.random.default_rng(2).standard_normal((1, before.shape[1]))
    after = met_by_readings(before, stretch_covariance(layers), [TurnReading(0, read)], noise)[0]
    # A mark spacing is read to 0.02; a tenth of that is lost in the straight line.
    assert after.mean() == pytest.approx(mean, abs=0.1 * READING_SD)
    assert after.std() == pytest.approx(sd, rel=0.05)


def test_many_turns_are_the_exact_gaussian_posterior() -> None:
    layers = [layer(6), layer(5)]
    covariance, expected = stretch_covariance(layers), expected_stretch(layers)
    read = [TurnReading(1, 0.55), TurnReading(4, 0.40), TurnReading(8, 0.52)]
    rng = np.random.default_rng(3)
    before = rng.multivariate_normal(expected, covariance, 100_000).T
    after = met_by_readings(before, covariance, read, rng.standard_normal((3, 100_000)))
    # By the precision matrix, another way to the same posterior.
    design = np.zeros((3, 11))
    for row, reading in enumerate(read):
        design[row, reading.turn] = 1
    precision = np.linalg.inv(covariance + 1e-12 * np.eye(11)) + design.T @ design / READING_SD**2
    posterior = np.linalg.inv(precision)
    off = np.array([r.stretch for r in read]) - design @ expected
    mean = expected + posterior @ design.T @ off / READING_SD**2
    assert after.mean(axis=1) == pytest.approx(mean, abs=5e-4)
    assert after.std(axis=1) == pytest.approx(np.sqrt(np.diag(posterior)), rel=0.02)


def test_surprise_is_what_leaving_one_out_gives() -> None:
    layers = [layer(8)]
    covariance, expected = stretch_covariance(layers), expected_stretch(layers)
    read = [TurnReading(1, 0.5), TurnReading(4, 0.7), TurnReading(7, 0.48)]
    found = surprise(expected, covariance, read)
    for left in range(3):
        others = [r for n, r in enumerate(read) if n != left]
        at = [r.turn for r in others]
        k = covariance[np.ix_(at, at)] + READING_SD**2 * np.eye(2)
        gain = np.linalg.solve(k, covariance[at, read[left].turn])
        mean = expected[read[left].turn] + gain @ (
            np.array([r.stretch for r in others]) - expected[at]
        )
        sd = np.sqrt(
            covariance[read[left].turn, read[left].turn]
            - gain @ covariance[at, read[left].turn]
            + READING_SD**2
        )
        assert found[left] == pytest.approx((read[left].stretch - mean) / sd)
    assert abs(found[1]) > 3 > abs(found[0])


def test_tension_and_stretch_are_each_others_inverse_and_no_stretch_is_no_tension() -> None:
    layers = [layer(3), LayerStretch(None, np.ones(2), Hands(0.1, 0.1), np.zeros(2))]
    x = qmc.Sobol(5, rng=np.random.default_rng(1)).random(8).T - 0.5
    x[3:] = 0
    assert log_tension(layers, stretch_of(layers, x)) == pytest.approx(x)
    slack = log_tension(layers, np.full((5, 1), -0.01))
    assert (np.exp(slack[:3]) == 0).all()
    assert (slack[3:] == 0).all()


def test_a_tape_is_good_to_two_millimetres_on_ten_centimetres() -> None:
    """A turn known to 0.02 and a reading of as much meet half-way; so do their errors."""
    prior, covariance = np.array([[0.5, 0.5]]), np.array([[0.02**2]])
    moved = met_by_readings(prior, covariance, [TurnReading(0, 0.6)], np.array([[0.0, 1.0]]))
    assert moved[0] == pytest.approx([0.55, 0.56])
    # 0.1 off, both uncertain by 0.02: 0.1 / (0.02 sqrt 2) standard deviations.
    odd = surprise(np.array([0.5]), covariance, [TurnReading(0, 0.6)])
    assert odd == pytest.approx([5 / 2**0.5])


def test_close_to_its_lock_a_fabric_is_taken_at_98_per_cent_of_it() -> None:
    """t = (e / 0.5) (1 - 0.25) / (1 - e / 2): at 1.96 147, at 1.0 3 N/cm; without stretch none."""
    one = [LayerStretch(CURVE, np.full(1, 2.0), STEADY, np.zeros(1))]
    tension = np.exp(log_tension(one, np.array([[1.0, 1.96, 2.5, 0.0]])))[0]
    assert tension == pytest.approx([1.5, 73.5, 73.5, 0])


def test_a_habit_moves_what_is_expected_and_how_wide_it_is() -> None:
    """Three times the tension is a stretch of 1.0, where d e / d ln t = e (1 - e / 2) = 0.5.

    A bias of 0.1 is the same in a second layer, scatter of 0.2 its own; at 0.5 0.375 per log.
    """
    hands = Hands(0.1, 0.2)
    pulled = LayerStretch(CURVE, np.ones(2), hands, np.full(2, np.log(3)))
    plain = LayerStretch(CURVE, np.ones(1), hands, np.zeros(1))
    paste = LayerStretch(None, np.ones(1), hands, np.zeros(1))
    layers = [pulled, plain, paste]
    assert expected_stretch(layers) == pytest.approx([1, 1, 0.5, 0])
    assert stretch_covariance(layers) == pytest.approx(
        np.array([
            [0.25 * 0.05, 0.25 * (0.01 + 0.6 * 0.04), 0.5 * 0.375 * 0.01, 0],
            [0.25 * (0.01 + 0.6 * 0.04), 0.25 * 0.05, 0.5 * 0.375 * 0.01, 0],
            [0.5 * 0.375 * 0.01, 0.5 * 0.375 * 0.01, 0.375**2 * 0.05, 0],
            [0, 0, 0, 0],
        ])
    )  # fmt: skip


def test_three_standard_deviations_contradict() -> None:
    assert CONTRADICTS_FROM == 3
