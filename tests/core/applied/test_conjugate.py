import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import invgamma, norm, t

from gaiter.core.applied.conjugate import MeanAndSpread

PRIOR = MeanAndSpread.of_total(0.1, 0.2, 3.0)
VALUES = (0.35, 0.15, 0.5, 0.28, 0.3)


def on_a_grid(prior: MeanAndSpread, values):
    """Posterior of mean and variance by plain summation over scipy.stats densities."""
    mean = np.linspace(-1.5, 2, 1201)[:, None]
    variance = np.geomspace(1e-4, 2, 1201)[None, :]
    log = norm.logpdf(mean, prior.mean, np.sqrt(variance / prior.weight))
    log = log + invgamma.logpdf(variance, prior.shape, scale=prior.scale)
    for value in values:
        log = log + norm.logpdf(value, mean, np.sqrt(variance))
    weight = np.exp(log - log.max()) * np.gradient(variance[0])
    weight /= weight.sum()
    expected = (weight * mean).sum()
    return expected, (weight * variance).sum(), np.sqrt((weight * (mean - expected) ** 2).sum())


def test_learning_is_bayes_rule() -> None:
    belief = PRIOR
    for value in VALUES:
        belief = belief.after(value)
    mean, variance, mean_sd = on_a_grid(PRIOR, VALUES)
    # Half a per cent of tension; the grid's own error is a tenth of that.
    assert belief.mean == pytest.approx(mean, abs=0.005)
    assert belief.variance == pytest.approx(variance, rel=0.01)
    assert belief.mean_sd == pytest.approx(mean_sd, rel=0.01)


def test_the_next_value_has_the_spread_of_students_t() -> None:
    belief = PRIOR.after(0.3).after(0.4)
    scale = np.sqrt(belief.scale * (belief.weight + 1) / (belief.shape * belief.weight))
    assert belief.predictive_sd == pytest.approx(t(2 * belief.shape, belief.mean, scale).std())


def test_the_prior_spreads_as_stated() -> None:
    assert PRIOR.predictive_sd == pytest.approx(0.2)
    assert PRIOR.mean_sd == pytest.approx(np.sqrt(PRIOR.variance))


@given(st.permutations(VALUES))
def test_order_does_not_matter(values) -> None:
    straight, shuffled = PRIOR, PRIOR
    for value in VALUES:
        straight = straight.after(value)
    for value in values:
        shuffled = shuffled.after(value)
    assert vars(straight) == pytest.approx(vars(shuffled))


def test_a_value_worth_two_counts_as_the_same_value_twice() -> None:
    assert vars(PRIOR.after(0.4, 2.0)) == pytest.approx(vars(PRIOR.after(0.4).after(0.4)))


@given(st.floats(0, 1))
def test_fading_goes_from_all_that_was_learnt_to_the_prior(share: float) -> None:
    learnt = PRIOR.after(0.5).after(0.6)
    faded = learnt.faded(PRIOR, share)
    assert PRIOR.weight <= faded.weight <= learnt.weight + 1e-12
    assert (
        min(PRIOR.mean, learnt.mean) - 1e-12 <= faded.mean <= max(PRIOR.mean, learnt.mean) + 1e-12
    )
    assert faded.scale > 0
    assert vars(learnt.faded(PRIOR, 1.0)) == pytest.approx(vars(learnt))
    assert vars(learnt.faded(PRIOR, 0.0)) == pytest.approx(vars(PRIOR))


def test_fading_is_counting_readings_for_less() -> None:
    """Half of what was learnt is held: the same as readings of half the worth."""
    half = PRIOR.after(0.5, 0.5).after(0.6, 0.5)
    assert vars(PRIOR.after(0.5).after(0.6).faded(PRIOR, 0.5)) == pytest.approx(vars(half))
