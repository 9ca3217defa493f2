import math

import numpy as np
import pytest

from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.sensor.phases import Span, find_phases, levels_of
from tests.sensor_logs import Truth

GAITER, CALF = Landmark.GAITER, Landmark.CALF


@pytest.mark.parametrize("ends", [(math.nan, 1.0), (0.0, math.inf)])
def test_a_span_has_two_ends(ends) -> None:
    with pytest.raises(InputError, match="must have two ends in s; received .*correct it"):
        Span(*ends)


@pytest.mark.parametrize("ends", [(2.0, 1.0), (1.0, 1.0)])
def test_a_span_ends_after_its_start(ends) -> None:
    with pytest.raises(InputError, match="must end after its start; received .*swap its ends"):
        Span(*ends)


def test_spans_that_touch_do_not_overlap() -> None:
    assert not Span(0, 10).overlaps(Span(10, 20))
    assert Span(0, 10.1).overlaps(Span(10, 20))
    assert Span(10, 20).overlaps(Span(0, 10.1))


def test_stretches_lie_within_the_postures_by_half_a_window() -> None:
    truth = Truth()
    found = find_phases(truth.times(), {GAITER: truth.pressures()})
    rest, standing = found.quiet
    assert (rest.start_s, rest.end_s) == pytest.approx((2.5, 327.5), abs=1)
    assert (standing.start_s, standing.end_s) == pytest.approx((332.5, 387.5), abs=1)
    assert found.means_mmhg[GAITER] == pytest.approx([40, 54], abs=0.1)
    change, movement = found.restless
    assert change.end_s - change.start_s < 6
    assert (movement.start_s, movement.end_s) == pytest.approx((390, 450), abs=3)


def test_the_rolling_deviation_decides_at_its_limit() -> None:
    """A square wave of +-h, each value equally often, has the standard deviation h."""
    time = np.arange(0, 60, 0.1)
    wave = np.where(np.arange(time.size) % 2 == 0, 1.0, -1.0)
    quiet = find_phases(time, {GAITER: 40 + 1.45 * wave})
    restless = find_phases(time, {GAITER: 40 + 1.55 * wave})
    assert (len(quiet.quiet), len(quiet.restless)) == (1, 0)
    assert (len(restless.quiet), len(restless.restless)) == (0, 1)


def test_quiet_asks_every_site() -> None:
    truth = Truth()
    calf = truth.pressures()
    moves = (truth.times() > 100) & (truth.times() < 200)
    calf[moves] += 8 * np.sin(truth.times()[moves])
    found = find_phases(truth.times(), {GAITER: truth.pressures(), CALF: calf})
    assert [round(span.start_s) for span in found.quiet] == pytest.approx([2, 202, 332], abs=2)
    assert not any(span.overlaps(Span(103, 197)) for span in found.quiet)


def test_a_dropout_at_one_site_does_not_hide_that_another_moves() -> None:
    truth = Truth()
    calf = truth.pressures()
    calf[(truth.times() > 415) & (truth.times() < 425)] = np.nan
    found = find_phases(truth.times(), {GAITER: truth.pressures(), CALF: calf})
    assert len([span for span in found.restless if span.end_s - span.start_s > 10]) == 1


def test_a_hole_in_the_rows_ends_a_stretch() -> None:
    truth = Truth()
    keep = ~((truth.times() > 100) & (truth.times() < 150))
    found = find_phases(truth.times()[keep], {GAITER: truth.pressures()[keep]})
    assert not any(span.overlaps(Span(101, 149)) for span in found.quiet)


def test_no_stretch_overlaps_what_is_taken() -> None:
    truth = Truth()
    taken = Span(50, 400)
    found = find_phases(truth.times(), {GAITER: truth.pressures()}, [taken])
    assert not any(span.overlaps(taken) for span in (*found.quiet, *found.restless))
    assert len(found.quiet) == 1


def test_a_slow_log_gets_a_longer_window() -> None:
    time = np.arange(0, 3600, 10.0)
    noise = np.random.default_rng(2).normal(0, 0.3, time.size)
    pressure = np.where(time < 1800, 40, 55) + noise
    found = find_phases(time, {GAITER: pressure})
    assert len(found.quiet) == 2
    assert found.means_mmhg[GAITER] == pytest.approx([40, 55], abs=0.2)


def test_levels_are_three_mmhg_apart() -> None:
    assert levels_of(np.array([40.0, 42.9, 46.0])).tolist() == [0, 0, 1]
    assert levels_of(np.array([55.0, 40.0, 43.0, 70.0])).tolist() == [2, 0, 1, 3]
