"""Whole bandages drawn: every input in one group, candidates on the same draws."""

import numpy as np
import pytest

from gaiter.core.landmark import Landmark
from gaiter.core.spread.draws import (
    Hands,
    InputGroup,
    LayerTurns,
    Layout,
    SpreadInputs,
    draws,
    sampled_bandages,
)

INPUTS = SpreadInputs((Hands.of_spread(0.18),), 0.92, 0.35, (0.0, 0.28, 0.565))


def layer(turns: int) -> LayerTurns:
    return LayerTurns(turns, 3, False, np.tile([1.0, 0.0, 0.0], (turns, 1)))


def bandages(*turns: int, samples: int = 512, inputs: SpreadInputs = INPUTS):
    layers = [layer(count) for count in turns]
    return sampled_bandages(layers, inputs, draws(Layout(turns).inputs, samples, 1))


def test_every_input_that_is_used_belongs_to_one_group() -> None:
    layout = Layout([11, 16, 17])
    rows = np.concatenate([layout.rows_of(group) for group in InputGroup])
    assert len(rows) == len(set(rows))
    # Remainder, adding, padding, bias; the tape; fabric, tension and place of every turn.
    assert len(rows) == 4 + len(Landmark) + 3 + 2 * (11 + 16 + 17)
    assert rows.max() < layout.inputs


def test_candidates_with_a_turn_more_meet_the_same_draws() -> None:
    eleven, twelve = bandages(11), bandages(12)
    assert (eleven.log_tension == twelve.log_tension[:11]).all()
    assert (eleven.remainder == twelve.remainder).all()
    assert (eleven.tape == twelve.tape).all()


def test_the_first_part_of_a_sample_is_the_beginning_of_the_whole() -> None:
    size = Layout([11]).inputs
    whole = draws(size, 1024, 1)
    part = whole.first(256)
    assert (part.uniform == whole.uniform[:, :256]).all()
    assert (part.normal == whole.normal[:, :256]).all()
    # A Sobol prefix of a power of two is even in itself: every quarter is met equally often.
    counts = np.histogram(part.uniform[0], bins=4, range=(0, 1))[0]
    assert (counts == 64).all()


def test_tension_wanders_as_stated() -> None:
    """Half of the variance is the day's; neighbours share 0.6 of the scatter."""
    made = bandages(11, samples=8192)
    sd = np.sqrt(np.log1p(0.18**2))
    assert made.log_tension.std(axis=1) == pytest.approx(np.full(11, sd), rel=0.04)
    covariance = np.cov(made.log_tension)
    assert covariance[3, 4] == pytest.approx(sd**2 / 2 * (1 + 0.6), rel=0.08)
    assert covariance[0, 10] == pytest.approx(sd**2 / 2 * (1 + 0.6**10), rel=0.1)


def test_the_days_bias_is_the_same_in_every_layer_and_scatter_is_not() -> None:
    made = bandages(11, 11, samples=8192)
    sd = np.sqrt(np.log1p(0.18**2))
    assert np.cov(made.log_tension)[2, 13] == pytest.approx(sd**2 / 2, rel=0.1)


def test_the_first_and_last_turn_lie_where_they_should() -> None:
    shift = bandages(11).shift_cm
    assert shift[0] == pytest.approx(0)
    assert shift[-1] == pytest.approx(0, abs=1e-12)
    assert shift[5].std() > 0.3


def test_a_place_where_nobody_reads_is_as_unsure_as_the_flat_ankle() -> None:
    """0.20 of the clinic's offset and 0.20 of this leg's curvature (our choice)."""
    inputs = SpreadInputs((Hands(0.1, 0.1),), 0.9, 0.35)
    found = inputs.site(Landmark.HEEL_INSTEP)
    assert (found.median, found.log_sd) == pytest.approx((1.0, np.hypot(0.20, 0.20)))
