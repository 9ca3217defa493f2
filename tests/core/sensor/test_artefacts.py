"""Every artefact is found where it was put, and nowhere else."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaiter.core.sensor.artefacts import (
    ArtefactKind,
    artefacts_of,
    inside_artefact,
    is_flat,
    median_interval_s,
    unchecked_of,
)
from tests.sensor_logs import Truth, example


def kinds(time, pressure) -> list[ArtefactKind]:
    return [artefact.kind for artefact in artefacts_of(time, pressure)]


@pytest.fixture
def clean() -> tuple[np.ndarray, np.ndarray]:
    truth = Truth()
    return truth.times(), truth.pressures()


@given(
    seed=st.integers(0, 10_000),
    rest=st.floats(5, 60),
    rise=st.floats(0, 30),
    swing=st.floats(0, 60),
    noise=st.floats(0.05, 1.0),
    interval=st.sampled_from([0.02, 0.1, 0.2, 1.0]),
    places=st.sampled_from([1, 2, 6]),
)
@settings(max_examples=40)
def test_a_clean_log_has_no_flag(seed, rest, rise, swing, noise, interval, places) -> None:
    # 60 mmHg at 0.5 per second moves at 94 mmHg/s; its trough stays above minus 3 mmHg.
    standing = rest + rise
    truth = Truth(rest=rest, standing=standing, swing=min(swing, 2 * standing - 8), seed=seed,
                  noise_sd=noise, interval=interval, rest_until=20, standing_until=40,
                  moving_until=60, until=70)  # fmt: skip
    assert artefacts_of(truth.times(), np.round(truth.pressures(), places)) == ()


@pytest.mark.parametrize("noise", [0.05, 0.3, 0.5, 1.0])
def test_a_sensor_of_whole_mmhg_is_not_called_clipped(noise: float) -> None:
    truth = Truth(noise_sd=noise)
    pressure = np.round(truth.pressures())
    assert artefacts_of(truth.times(), pressure) == ()
    assert bool(unchecked_of(truth.times(), pressure)) is (noise < 0.5)


@pytest.mark.parametrize(("samples", "flagged"), [(11, False), (12, True)])
def test_a_clip_is_twice_as_long_as_runs_elsewhere(samples: int, flagged: bool) -> None:
    """Here one value in twenty is repeated five times more, as a coarse sensor does."""
    pressure = 40 + np.arange(2000) % 7.0
    for start in range(20, 1900, 20):
        pressure[start : start + 6] = 42.5
    pressure[1000 : 1000 + samples] = 60.0
    found = artefacts_of(np.arange(2000.0), pressure)
    assert (ArtefactKind.CLIPPED in [artefact.kind for artefact in found]) is flagged


def test_what_cannot_be_judged_is_said(clean) -> None:
    time, pressure = clean
    assert unchecked_of(time, pressure) == ()
    assert [said.text for said in unchecked_of(time, np.round(pressure / 5) * 5)] == [
        "clipping, because most neighbouring values are the same",
    ]
    assert [said.text for said in unchecked_of(5 * time, pressure)] == [
        "jumps of less than 300 mmHg, because a sample comes only every 1 s",
    ]


def test_a_sensor_at_its_ceiling_most_of_the_time_is_clipped_not_coarse(clean) -> None:
    time, pressure = clean
    found = artefacts_of(time, np.minimum(pressure, 39.5))
    assert ArtefactKind.CLIPPED in [artefact.kind for artefact in found]


def test_missing_values_are_a_gap_between_the_samples_around_it(clean) -> None:
    time, pressure = clean
    pressure[100:110] = np.nan
    (gap,) = artefacts_of(time, pressure)
    assert gap.kind is ArtefactKind.GAP
    assert (gap.start_s, gap.end_s) == (time[99], time[110])
    assert gap.words.text == "10 samples without a value"


def test_missing_values_at_either_end_are_gaps(clean) -> None:
    time, pressure = clean
    pressure[:3] = pressure[-2:] = np.nan
    first, last = artefacts_of(time, pressure)
    assert (first.start_s, first.end_s) == (time[0], time[3])
    assert (last.start_s, last.end_s) == (time[-3], time[-1])
    assert first.words.text.startswith("3 samples")
    assert last.words.text.startswith("2 samples")


@pytest.mark.parametrize(("rows_lost", "flagged"), [(2, False), (3, True), (50, True)])
def test_lost_rows_are_a_gap_beyond_three_intervals(clean, rows_lost: int, flagged: bool) -> None:
    time, pressure = (np.delete(x, np.s_[100 : 100 + rows_lost]) for x in clean)
    found = artefacts_of(time, pressure)
    assert bool(found) is flagged
    if flagged:
        assert found[0].words.text == (
            f"no sample for {0.2 * (rows_lost + 1):.3g} s, where one comes every 0.2 s"
        )


def test_a_channel_without_a_value_is_one_gap() -> None:
    (gap,) = artefacts_of(np.arange(20.0), np.full(20, np.nan))
    assert "no value from beginning to end: is the sensor connected?" in gap.words


def test_a_ceiling_is_flagged_at_each_peak_it_cuts() -> None:
    truth = Truth(swing=50, interval=0.05)
    cut = np.minimum(truth.pressures(), 65.0)  # the middle third of every upper half wave
    found = artefacts_of(truth.times(), cut)
    assert {artefact.kind for artefact in found} == {ArtefactKind.CLIPPED}
    assert len(found) == 30  # 60 s at 0.5 per second
    assert all("exactly 65.0 mmHg, the highest value" in artefact.words for artefact in found)
    assert all(390 < artefact.start_s < artefact.end_s < 450 for artefact in found)


def test_a_floor_is_flagged(clean) -> None:
    time, pressure = clean
    pressure[50:60] = 12.0
    found = artefacts_of(time, pressure)
    clipped = [artefact for artefact in found if artefact.kind is ArtefactKind.CLIPPED]
    assert [(c.start_s, c.end_s) for c in clipped] == [(time[50], time[59])]
    assert "10 samples of exactly 12.0 mmHg, the lowest value" in clipped[0].words


@pytest.mark.parametrize(("samples", "flagged"), [(4, False), (5, True)])
def test_a_ceiling_is_flagged_from_five_samples(clean, samples: int, flagged: bool) -> None:
    time, pressure = clean
    pressure[2000 : 2000 + samples] = pressure.max() + 1
    assert (ArtefactKind.CLIPPED in kinds(time, pressure)) is flagged


@pytest.mark.parametrize(("step", "flagged"), [(55, False), (65, True)])
def test_a_step_is_a_jump_from_the_steepest_plausible_on(step: float, flagged: bool) -> None:
    """300 mmHg/s over 0.2 s is 60 mmHg."""
    time = np.arange(100) * 0.2
    pressure = 40 + 0.1 * np.sin(time)
    pressure[50:] += step
    found = artefacts_of(time, pressure)
    assert bool(found) is flagged
    if flagged:
        assert found[0].kind is ArtefactKind.JUMP
        assert (found[0].start_s, found[0].end_s) == (time[49], time[50])


@pytest.mark.parametrize(("step", "flagged"), [(14, False), (16, True)])
def test_in_a_dense_log_a_step_below_15_mmhg_is_no_jump(step: float, flagged: bool) -> None:
    time = np.arange(1000) * 0.001
    pressure = 40 + 0.1 * np.sin(time)
    pressure[500:] += step
    assert bool(artefacts_of(time, pressure)) is flagged


def test_a_spike_is_one_jump_and_says_its_steepest_step(clean) -> None:
    time, pressure = clean
    pressure[100] = 140.0
    (jump,) = artefacts_of(time, pressure)
    assert jump.kind is ArtefactKind.JUMP
    assert (jump.start_s, jump.end_s) == (time[99], time[101])
    assert "mmHg within 0.2 s, faster than a leg can" in jump.words
    assert "140" in jump.words


def test_a_step_across_a_gap_is_not_judged() -> None:
    time = np.concatenate((np.arange(100), np.arange(200, 300))) * 0.1
    pressure = np.concatenate((np.full(100, 30.0), np.full(100, 90.0))) + np.sin(time) / 9
    assert kinds(time, pressure) == [ArtefactKind.GAP]


def test_a_flat_line_is_flagged_once_and_not_as_clipped() -> None:
    (flat,) = artefacts_of(np.arange(20.0), np.full(20, 7.0))
    assert flat.kind is ArtefactKind.FLAT
    assert flat.words.text == (
        "7.0 mmHg from beginning to end without any change: is the sensor connected?"
    )


@pytest.mark.parametrize(("lowest", "flagged"), [(-2.9, False), (-3.1, True)])
def test_pressures_below_the_zero_error_are_flagged(lowest: float, flagged: bool) -> None:
    time = np.arange(100) * 1.0
    pressure = 5 + np.sin(time)
    pressure[40:44] = lowest + np.array([0.05, 0.0, 0.02, 0.04])
    found = artefacts_of(time, pressure)
    assert bool(found) is flagged
    if flagged:
        assert (found[0].start_s, found[0].end_s) == (40, 43)
        assert "down to -3.1 mmHg, more than a zero error of 3 mmHg" in found[0].words


def test_artefacts_come_in_order_of_time_and_mark_their_samples(clean) -> None:
    time, pressure = clean
    pressure[300] = 150.0
    pressure[200:205] = np.nan
    pressure[100] = -30.0
    found = artefacts_of(time, pressure)
    assert [a.start_s for a in found] == sorted(a.start_s for a in found)
    assert set(np.flatnonzero(inside_artefact(time, found))) == {99, 100, 101, 299, 300, 301}


def test_nothing_is_changed_by_looking() -> None:
    log = example()
    for pressure in log.pressure_mmhg.values():
        before = pressure.copy()
        artefacts_of(log.time_s, pressure)
        np.testing.assert_array_equal(before, pressure)


def test_the_median_interval_ignores_gaps_and_rounding() -> None:
    assert median_interval_s(np.array([0.0, 0.1, 0.2, 0.30000000000000004, 9.0])) == 0.1


def test_a_channel_is_flat_without_variation() -> None:
    assert is_flat(np.array([np.nan, np.nan]))
    assert is_flat(np.array([3.0, np.nan, 3.0]))
    assert not is_flat(np.array([3.0, np.nan, 3.1]))


def test_two_levels_of_a_coarse_sensor_are_not_called_clipped() -> None:
    assert artefacts_of(np.arange(200.0), np.repeat([40.0, 54.0], 100)) == ()
