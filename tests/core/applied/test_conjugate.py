import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import invgamma, norm, t

from gaiter.core.applied.conjugate import MeanAndSpread, learnt

PRIOR = MeanAndSpread.of_total(0.1, 0.2, 3.0)
VALUES = (0.35, 0.15, 0.5, 0.28, 0.3)
NONE = (0.0,) * len(VALUES)


def on_a_grid(prior: MeanAndSpread, values, errors):
    """Posterior of mean and variance by plain summation over scipy.stats densities."""
    mean = np.linspace(-1.5, 2, 1001)[:, None]
    variance = np.geomspace(1e-4, 2, 1001)[None, :]
    log = norm.logpdf(mean, prior.mean, np.sqrt(variance / prior.weight))
    log = log + invgamma.logpdf(variance, prior.shape, scale=prior.scale)
    for value, error in zip(values, errors, strict=True):
        log = log + norm.logpdf(value, mean, np.sqrt(variance + error**2))
    weight = np.exp(log - log.max()) * np.gradient(variance[0])
    weight /= weight.sum()
    expected = (weight * mean).sum()
    return expected, (weight * variance).sum(), np.sqrt((weight * (mean - expected) ** 2).sum())


def test_without_reading_errors_learning_is_bayes_rule() -> None:
    belief = learnt(PRIOR, VALUES, NONE)
    mean, variance, mean_sd = on_a_grid(PRIOR, VALUES, NONE)
    # Half a per cent of tension; the grid's own error is a tenth of that.
    assert belief.mean == pytest.approx(mean, abs=0.005)
    assert belief.variance == pytest.approx(variance, rel=0.01)
    assert belief.mean_sd == pytest.approx(mean_sd, rel=0.01)


@pytest.mark.parametrize("error", [0.05, 0.15, 0.3])
def test_with_reading_errors_it_is_close_to_bayes_rule(error: float) -> None:
    rng = np.random.default_rng(4)
    values = 0.3 + 0.12 * rng.standard_normal(12) + error * rng.standard_normal(12)
    errors = [error] * 12
    belief = learnt(PRIOR, values, errors)
    mean, variance, mean_sd = on_a_grid(PRIOR, values, errors)
    assert belief.mean == pytest.approx(mean, abs=0.02)
    # Mean-field takes the variance as if it were known while sharing out the error.
    assert np.sqrt(belief.variance) == pytest.approx(np.sqrt(variance), rel=0.15)
    assert belief.mean_sd == pytest.approx(mean_sd, rel=0.15)


def test_the_readings_error_is_not_learnt_as_spread() -> None:
    """Many readings of values that differ by 8 %, each read to 15 %: the spread found is 8 %."""
    rng = np.random.default_rng(5)
    values = np.log(0.8) + 0.08 * rng.standard_normal(400) + 0.15 * rng.standard_normal(400)
    belief = learnt(PRIOR, values, [0.15] * 400)
    assert np.sqrt(belief.variance) == pytest.approx(0.08, abs=0.025)
    assert belief.mean == pytest.approx(np.log(0.8), abs=0.02)


def test_the_next_value_has_the_spread_of_students_t() -> None:
    belief = learnt(PRIOR, (0.3, 0.4), (0, 0))
    scale = np.sqrt(belief.scale * (belief.weight + 1) / (belief.shape * belief.weight))
    assert belief.predictive_sd == pytest.approx(t(2 * belief.shape, belief.mean, scale).std())


def test_the_prior_spreads_as_stated() -> None:
    assert PRIOR.predictive_sd == pytest.approx(0.2)
    assert PRIOR.mean_sd == pytest.approx(np.sqrt(PRIOR.variance))
    assert vars(learnt(PRIOR, (), ())) == pytest.approx(vars(PRIOR))


@given(st.permutations(VALUES))
def test_order_does_not_matter(values) -> None:
    straight, shuffled = learnt(PRIOR, VALUES, NONE), learnt(PRIOR, values, NONE)
    assert vars(straight) == pytest.approx(vars(shuffled))


def test_a_reading_held_by_half_counts_as_half_a_reading() -> None:
    """Two readings of half the weight are one, where they say the same."""
    twice = learnt(PRIOR, (0.4, 0.4), (0.1, 0.1), (0.5, 0.5))
    assert vars(twice) == pytest.approx(vars(learnt(PRIOR, (0.4,), (0.1,))))


@given(st.floats(0, 1))
def test_what_is_forgotten_goes_back_to_the_prior(share: float) -> None:
    belief = learnt(PRIOR, (0.5, 0.6), (0, 0), (share, share))
    full = learnt(PRIOR, (0.5, 0.6), (0, 0))
    assert PRIOR.weight <= belief.weight <= full.weight
    assert PRIOR.mean - 1e-12 <= belief.mean <= full.mean + 1e-12
    if share == 0:
        assert vars(belief) == pytest.approx(vars(PRIOR))


@pytest.mark.parametrize(
    ("prior", "reading", "held", "after"),
    [
        ((0.0, 1.0, 3.0, 1.1), 6.0, 1.0, (1.0, 1.2, 3.5, 2.5)),
        ((2.0, 2.0, 5.0, 3.98), 4.2, 1.0, (2.2, 2.2, 5.5, 4.5)),
        ((2.0, 2.0, 7.0, 5.85), 6.2, 0.5, (2.2, 2.1, 7.25, 6.25)),
    ],
)
def test_one_reading_with_an_error_by_hand(prior, reading, held, after) -> None:
    """Where the variance comes out as 1, a reading to 2 is trusted 1 / (1 + 2^2) = 0.2.

    Worth 1 at 0, met by 6: weight 1.2, mean 0.2 x 6 / 1.2 = 1. To the scale 1.1 come half of
    (0.2 x 5)^2 + 0.2 x 4 about the mean and of 1^2 from the prior, 1.4 together, and
    2.5 / (3.5 - 1) is 1 again. The others likewise: 3.98 + (0.4^2 + 0.8 + 2 x 0.2^2) / 2
    = 4.5, and held by half 5.85 + ((0.8^2 + 0.8) / 2 + 2 x 0.2^2) / 2 = 6.25.
    """
    belief = learnt(MeanAndSpread(*prior), [reading], [2.0], [held])
    assert (belief.mean, belief.weight, belief.shape, belief.scale) == pytest.approx(after)
    assert belief.variance == pytest.approx(1)
