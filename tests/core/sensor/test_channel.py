"""Each number is recomputed here from the samples themselves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import linregress

from gaiter.core.sensor.channel import Channel
from gaiter.core.sensor.phases import Span
from gaiter.core.sensor.spans import SpanChoice
from gaiter.core.words import Said
from tests.sensor_logs import Truth

REST, MOVEMENT = Span(0, 330), Span(390, 450)


def channel(time, pressure, flagged=None) -> Channel:
    none = np.zeros(time.size, dtype=bool)
    return Channel(time, pressure, none if flagged is None else flagged, 0.2)


def over(span: Span) -> SpanChoice:
    return SpanChoice(span, stated=True)


@given(st.floats(5, 90), st.floats(0.1, 1.0), st.integers(0, 1000))
@settings(max_examples=25)
def test_a_plateau_has_the_mean_and_scatter_of_its_samples(level, noise, seed) -> None:
    truth = Truth(rest=level, noise_sd=noise, seed=seed)
    plateau, reason = channel(truth.times(), truth.pressures()).plateau(over(REST))
    assert not reason
    assert plateau.samples == 1651
    # Five standard errors of a mean and of a deviation.
    assert plateau.mean_mmhg == pytest.approx(level, abs=5 * noise / np.sqrt(1651))
    assert plateau.sd_mmhg == pytest.approx(noise, rel=5 / np.sqrt(2 * 1650))
    assert (plateau.left_out_share, plateau.flagged_share) == (0, 0)


def test_the_deviation_is_that_of_a_sample() -> None:
    time = np.arange(8) * 0.2
    pressure = np.array([38.0, 40, 42, 40, 38, 40, 42, 40])
    plateau, _ = channel(time, pressure).plateau(over(Span(0, 1.4)))
    assert plateau.mean_mmhg == 40
    assert plateau.sd_mmhg == pytest.approx((16 / 7) ** 0.5, abs=1e-9)  # four squares of 2 over 7


def test_both_ends_of_a_span_count() -> None:
    time = np.arange(20) * 0.5
    plateau, _ = channel(time, time.copy()).plateau(over(Span(2.0, 6.0)))
    assert (plateau.samples, plateau.mean_mmhg) == (9, 4.0)


def test_missing_values_are_left_out_and_said() -> None:
    truth = Truth()
    pressure = truth.pressures()
    pressure[0:400] = np.nan
    plateau, _ = channel(truth.times(), pressure).plateau(over(REST))
    assert plateau.samples == 1251
    assert plateau.left_out_share == pytest.approx(400 / 1651)
    assert plateau.mean_mmhg == pressure[400:1651].mean()


@pytest.mark.parametrize("lost", [np.s_[100:500], np.s_[0:400], np.s_[1251:1651]])
def test_rows_that_were_never_written_are_left_out_too(lost) -> None:
    truth = Truth()
    time, pressure = (np.delete(x, lost) for x in (truth.times(), truth.pressures()))
    plateau, _ = channel(time, pressure).plateau(over(REST))
    assert plateau.left_out_share == pytest.approx(400 / 1651, abs=2 / 1651)  # a row at the edge


def test_flagged_values_stay_in_the_mean_and_their_share_is_said() -> None:
    truth = Truth()
    pressure = truth.pressures()
    pressure[100:182] = 200.0
    flagged = pressure == 200.0
    plateau, _ = channel(truth.times(), pressure, flagged).plateau(over(REST))
    assert plateau.mean_mmhg == pressure[:1651].mean()
    assert plateau.flagged_share == pytest.approx(82 / 1651)


def test_a_span_with_too_much_missing_gives_no_number() -> None:
    truth = Truth()
    pressure = truth.pressures()
    pressure[0:900] = np.nan
    found = channel(truth.times(), pressure)
    rest, reason = found.plateau(over(REST))
    assert rest is None
    assert reason.text == "55% of the samples in 0.0 to 330.0 s are missing"
    pressure[4:1651] = np.nan
    found = channel(truth.times(), pressure)
    assert found.plateau(over(REST))[1].text == "0 values in 0.0 to 330.0 s, at least 5 are needed"
    assert found.working(over(REST))[1].text == "0 values in 0.0 to 330.0 s, at least 5 are needed"


WHO_KNOWS = Said("who knows")


def test_without_a_span_the_reason_is_handed_on() -> None:
    truth = Truth()
    found = channel(truth.times(), truth.pressures())
    assert found.plateau(SpanChoice(None, reason=WHO_KNOWS)) == (None, WHO_KNOWS)
    assert found.working(SpanChoice(None, reason=WHO_KNOWS)) == (None, WHO_KNOWS)
    assert found.drift(None) == (None, Said("there is no resting pressure"))


@given(st.floats(-60, 60), st.integers(0, 1000))
@settings(max_examples=25)
def test_the_drift_is_the_least_squares_slope(slope: float, seed: int) -> None:
    truth = Truth(drift_per_h=slope, seed=seed)
    time, pressure = truth.times(), truth.pressures()
    found = channel(time, pressure)
    drift, _ = found.drift(found.plateau(over(REST))[0])
    inside = time <= 330
    fit = linregress(time[inside], pressure[inside])
    assert drift.slope_mmhg_per_h == pytest.approx(3600 * fit.slope, abs=1e-6)
    assert drift.error_mmhg_per_h == pytest.approx(3600 * fit.stderr, abs=1e-6)
    assert drift.slope_mmhg_per_h == pytest.approx(slope, abs=5 * drift.error_mmhg_per_h)
    assert drift.over_s == pytest.approx(330)


@pytest.mark.parametrize(("end_s", "given_one"), [(299.8, False), (300.0, True)])
def test_a_short_rest_has_no_drift(end_s: float, given_one: bool) -> None:
    truth = Truth()
    found = channel(truth.times(), truth.pressures())
    drift, reason = found.drift(found.plateau(over(Span(0, end_s)))[0])
    assert (drift is not None) is given_one
    if not given_one:
        assert reason.text == "the rest is too short, 299.8 s; at least 300 s"


def test_the_working_amplitude_is_the_swing_of_a_sine() -> None:
    truth = Truth(swing=30, interval=0.02, noise_sd=0.0)
    time, pressure = truth.times(), truth.pressures()
    found, _ = Channel(time, pressure, np.zeros(time.size, bool), 0.02).working(over(MOVEMENT))
    assert found.median_mmhg == pytest.approx(30, abs=0.06)  # 100 samples a cycle: 1 - cos(pi/100)
    assert found.cycles == 29
    assert found.span == MOVEMENT


def test_too_few_cycles_give_no_amplitude() -> None:
    truth = Truth()
    found = channel(truth.times(), truth.pressures())
    amplitude, reason = found.working(over(Span(390, 394)))
    assert amplitude is None
    assert reason.text == "1 whole cycles in 390.0 to 394.0 s, at least 3 are needed"
    assert found.working(over(REST))[1].text.startswith("0 whole cycles in 0.0 to 330.0 s")


def test_too_few_samples_in_a_cycle_give_no_amplitude() -> None:
    truth = Truth(cycles_per_s=1.0)
    found, reason = channel(truth.times(), truth.pressures()).working(over(MOVEMENT))
    assert found is None
    assert (
        reason.text == "5 samples in a cycle, at least 8 are needed to meet its peak: record faster"
    )
