"""Whether the bands of what was applied hold the bandages they are meant for."""

import numpy as np

from gaiter.core.applied.sampled import WIDEST_HANDS, sampled_after
from gaiter.core.applied.stretch import READING_SD
from gaiter.core.landmark import Landmark
from tests.core.applied.applied_plan import PLACES, plan, readings, system


def test_bands_cover_the_bandages_they_are_meant_for() -> None:
    """Bandages drawn from the hands, read with the tape's error: 5-95 % bands hold 88-92 %.

    The truth's day is drawn as widely as the tool expects of any day; forty bandages, every turn.
    """
    leg = next(iter(plan().legs.values()))
    one = system()
    after = sampled_after(leg, one, readings(), 1)
    layer, laid = after.layers[0], after.laid[0]
    curve = layer.fabric.curve
    planned = float(curve.tension_n_per_cm(layer.stretch_percent / 100))
    turns = laid.strips.turns
    rng = np.random.default_rng(11)
    lag = np.abs(np.subtract.outer(np.arange(turns), np.arange(turns)))
    root = np.linalg.cholesky(0.6**lag)
    sd = one.basis.hands[0].scatter_sd
    inside = []
    for number in range(40):
        x = WIDEST_HANDS.bias_sd * rng.standard_normal() + sd * root @ rng.standard_normal(turns)
        stretch = curve.stretch_for(planned * np.exp(x))
        there = stretch[[after.turn_at(3, Landmark(place)) for place in PLACES]]
        read = np.maximum(10 * (1 + there + READING_SD * rng.standard_normal(3)), 10)
        low, high = np.quantile(
            sampled_after(leg, one, readings(read), number).stretch[0], [0.05, 0.95], axis=1
        )
        inside.append((low <= stretch) & (stretch <= high))
    share = np.mean(np.stack(inside)[:, 5:])
    # 40 bandages of correlated turns: a standard error of about 2 %.
    assert 0.86 <= share <= 0.95
