import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaiter.core.sensor.movement import cycles_of


@given(
    swing=st.floats(4, 80),
    mean=st.floats(10, 80),
    per_s=st.floats(0.3, 2.0),
    samples=st.integers(20, 100),
    phase=st.floats(0, 6.28),
)
@settings(max_examples=50)
def test_the_swing_of_a_sine_is_found(swing, mean, per_s, samples, phase) -> None:
    """A sine sampled n times a cycle reads low by at most 1 - cos(pi / n)."""
    interval = 1 / (per_s * samples)
    time = np.arange(10 * samples) * interval
    found = cycles_of(time, mean + swing / 2 * np.sin(2 * np.pi * per_s * time + phase), interval)
    assert found.swings_mmhg.size in (8, 9)  # ten peaks or nine, one cycle fewer than peaks
    assert found.samples_per_cycle == pytest.approx(samples, abs=1)
    low = swing * np.cos(np.pi / samples)
    assert low - 1e-6 <= np.median(found.swings_mmhg) <= swing + 1e-6


def test_one_odd_cycle_does_not_set_the_median() -> None:
    time = np.arange(0, 10, 0.02)
    pressure = 50 + 10 * np.sin(2 * np.pi * time)
    pressure[(time > 4.0) & (time < 4.5)] += 40 * np.sin(2 * np.pi * time[25 * 8 + 1 : 25 * 9])
    found = cycles_of(time, pressure, 0.02)
    assert found.swings_mmhg.max() > 55
    assert np.median(found.swings_mmhg) == pytest.approx(20, abs=0.1)  # sampling of the peaks


def test_the_second_bump_of_a_step_is_no_cycle() -> None:
    time = np.arange(0, 20, 0.02)
    pressure = 50 + 10 * np.sin(2 * np.pi * time) + 3 * np.sin(6 * np.pi * time)
    assert cycles_of(time, pressure, 0.02).swings_mmhg.size == 19


def test_noise_makes_no_cycles() -> None:
    time = np.arange(0, 60, 0.1)
    noise = np.random.default_rng(1).normal(0, 0.3, time.size)
    assert cycles_of(time, 50 + noise, 0.1).swings_mmhg.size == 0


def test_a_cycle_with_a_hole_is_not_counted() -> None:
    time = np.arange(0, 10, 0.02)
    pressure = 50 + 10 * np.sin(2 * np.pi * time)
    pressure[(time > 3.6) & (time < 3.9)] = np.nan  # the trough of the fourth cycle
    found = cycles_of(time, pressure, 0.02)
    assert found.swings_mmhg.size == 8
    np.testing.assert_allclose(found.swings_mmhg, 20, atol=0.1)


def test_without_a_value_there_is_no_cycle() -> None:
    found = cycles_of(np.arange(5.0), np.full(5, np.nan), 1.0)
    assert found.swings_mmhg.size == 0
    assert found.samples_per_cycle == 0
