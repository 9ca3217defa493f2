import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.sensor.artefacts import ArtefactKind
from gaiter.core.sensor.channel import LogPart
from gaiter.core.sensor.log import SensorLog, analyse_log, resting_pressure
from gaiter.core.sensor.phases import Span
from gaiter.core.sensor.spans import StatedSpans
from tests.sensor_logs import Truth, example

ANKLE, GAITER, CALF = Landmark.ANKLE, Landmark.GAITER, Landmark.CALF


def two_sites(ankle: float, calf: float, **options) -> SensorLog:
    low = Truth(rest=ankle, standing=ankle + 10, swing=8, **options)
    high = Truth(rest=calf, standing=calf + 10, swing=8, seed=9, **options)
    return SensorLog(low.times(), {ANKLE: low.pressures(), CALF: high.pressures()})


@given(
    rest=st.floats(10, 60),
    rise=st.floats(4, 30),
    swing=st.floats(8, 30),
    seed=st.integers(0, 1000),
)
@settings(max_examples=20)
def test_a_known_leg_is_found_again(rest, rise, swing, seed) -> None:
    truth = Truth(rest=rest, standing=rest + rise, swing=min(swing, 2 * rest), seed=seed)
    found = analyse_log(truth.log()).sites[GAITER]
    assert found.artefacts == ()
    assert found.resting.mean_mmhg == pytest.approx(rest, abs=0.1)  # standard error 0.01
    assert found.standing.mean_mmhg == pytest.approx(rest + rise, abs=0.2)
    assert found.static_stiffness_mmhg == pytest.approx(rise, abs=0.3)
    # Ten samples a cycle read up to 5 % low; noise of 0.5 widens by up to four deviations.
    assert 0.95 * truth.swing - 0.5 < found.working.median_mmhg < truth.swing + 2
    assert abs(found.drift.slope_mmhg_per_h) < 5 * found.drift.error_mmhg_per_h
    assert found.reasons == {}


@given(shift=st.floats(0, 40), scale=st.floats(1.0, 2.0))
@settings(max_examples=15)
def test_stiffness_does_not_shift_with_the_zero_and_scales_with_the_gain(shift, scale) -> None:
    log = Truth(noise_sd=0.2).log()
    other = SensorLog(log.time_s, {GAITER: shift + scale * log.pressure_mmhg[GAITER]})
    stated = StatedSpans(Span(10, 320), Span(335, 385), Span(390, 450))
    before, after = (analyse_log(each, stated).sites[GAITER] for each in (log, other))
    assert after.static_stiffness_mmhg == pytest.approx(scale * before.static_stiffness_mmhg)
    assert after.working.median_mmhg == pytest.approx(scale * before.working.median_mmhg)
    assert after.resting.mean_mmhg == pytest.approx(shift + scale * before.resting.mean_mmhg)


@pytest.mark.parametrize(("rise", "stiff"), [(9.94, False), (9.96, True), (10.0, True)])
def test_stiff_is_judged_as_it_is_printed(rise: float, stiff: bool) -> None:
    time = np.arange(100.0)
    wiggle = np.tile([-0.1, 0.1], 50)
    log = SensorLog(time, {GAITER: np.repeat([40.0, 40 + rise], 50) + wiggle})
    stated = StatedSpans(Span(0, 49), Span(50, 99))
    found = analyse_log(log, stated).sites[GAITER]
    assert found.static_stiffness_mmhg == pytest.approx(rise)
    assert found.stiff is stiff


def test_the_yardstick_is_for_the_gaiter_only() -> None:
    found = analyse_log(example())
    assert found.sites[GAITER].stiff is True
    assert found.sites[CALF].static_stiffness_mmhg == pytest.approx(8.2, abs=0.2)
    assert found.sites[CALF].stiff is None


def test_without_a_posture_there_is_no_stiffness() -> None:
    time = np.arange(0, 60, 0.2)
    log = SensorLog(time, {GAITER: 40 + 0.3 * np.sin(time)})
    found = analyse_log(log).sites[GAITER]
    assert (found.resting, found.static_stiffness_mmhg, found.stiff) == (None, None, None)
    assert "only one quiet level" in found.reasons[LogPart.REST]
    assert "only one quiet level" in found.reasons[LogPart.STANDING]
    assert found.reasons[LogPart.DRIFT].text == "there is no resting pressure"


def test_a_flat_channel_gives_no_number_and_does_not_disturb_the_others() -> None:
    truth = Truth()
    log = SensorLog(truth.times(), {GAITER: truth.pressures(), CALF: np.zeros(truth.times().size)})
    found = analyse_log(log)
    assert found.sites[GAITER].resting is not None
    assert {why.text for why in found.sites[CALF].reasons.values()} == {
        "the site has no value that varies"
    }
    assert set(found.sites[CALF].reasons) == set(LogPart)
    assert [a.kind for a in found.sites[CALF].artefacts] == [ArtefactKind.FLAT]


def test_the_input_is_kept_as_it_was() -> None:
    time, pressure = np.arange(20.0), 40 + np.sin(np.arange(20.0))
    log = SensorLog(time, {GAITER: pressure})
    pressure[0] = time[0] = -99.0
    assert log.pressure_mmhg[GAITER][0] == 40
    assert log.time_s[0] == 0
    with pytest.raises(ValueError, match="read-only"):
        log.time_s[0] = 1.0


@pytest.mark.parametrize(
    ("time", "channels", "words"),
    [
        (np.arange(20.0), {}, "at least one site; received none: name one"),
        (np.arange(9.0), {GAITER: np.arange(9.0)}, "at least 10 samples; received 9"),
        (np.arange(20.0), {GAITER: np.arange(19.0)}, "for each of the 20 times; received .*19"),
        (np.arange(20.0), {GAITER: np.full(20, np.inf)}, "the gaiter must have one finite"),
        (np.r_[0:10, 8:18], {GAITER: np.arange(20.0)}, "grow .* stand still or go backwards"),
        (np.r_[0:10, 9:19], {GAITER: np.arange(20.0)}, "grow .* stand still or go backwards"),
        (np.full(20, np.nan), {GAITER: np.arange(20.0)}, "times in s must grow"),
    ],
)
def test_a_log_that_cannot_be_one_is_refused(time, channels, words) -> None:
    with pytest.raises(InputError, match=words):
        SensorLog(time, channels)


def test_swapped_channels_are_asked_about() -> None:
    found = analyse_log(two_sites(ankle=20, calf=62))
    [question] = found.questions
    assert question.text == "calf reads 62 mmHg and ankle 20 mmHg: were the channels swapped?"


@pytest.mark.parametrize(
    ("ankle", "calf"),
    [(60, 20), (40, 40), (15, 33), (40, 70)],
    ids=["usual", "equal", "more at the calf by less than 20", "less than twice as much"],
)
def test_no_pair_in_a_thinkable_order_is_asked_about(ankle: float, calf: float) -> None:
    assert analyse_log(two_sites(ankle, calf)).questions == ()


def test_channels_are_compared_without_a_posture_too() -> None:
    log = two_sites(ankle=20, calf=62)
    rest = log.time_s < 100
    short = SensorLog(log.time_s[rest], {s: p[rest] for s, p in log.pressure_mmhg.items()})
    assert analyse_log(short).sites[CALF].resting is None
    assert "were the channels swapped?" in analyse_log(short).questions[0]


def test_standing_below_rest_is_asked_about() -> None:
    stated = StatedSpans(rest=Span(335, 385), standing=Span(10, 300))
    found = analyse_log(Truth().log(), stated)
    assert found.sites[GAITER].static_stiffness_mmhg == pytest.approx(-14, abs=0.2)
    [question] = found.questions
    assert question.text == (
        "the gaiter reads 14.0 mmHg less on standing than at rest: are the spans right?"
    )


def test_the_resting_pressure_is_that_of_the_plateau() -> None:
    result = analyse_log(example())
    found = resting_pressure(result, GAITER)
    rest = result.sites[GAITER].resting
    assert (found.mean_mmhg, found.sd_mmhg, found.samples) == (
        rest.mean_mmhg, rest.sd_mmhg, rest.samples,
    )  # fmt: skip
    assert found.cautions == ()


def test_the_resting_pressure_names_what_casts_doubt_on_it() -> None:
    truth = Truth()
    pressure = truth.pressures()
    pressure[10] = pressure[500] = 180.0  # the first before the rest: no caution
    pressure[2200] = np.nan  # after it: no caution
    log = SensorLog(truth.times(), {CALF: 60 + pressure, ANKLE: pressure - 20})
    found = resting_pressure(analyse_log(log, StatedSpans(rest=Span(10, 320))), CALF)
    jump, question = found.cautions
    assert jump.text.startswith("jump: ")
    assert "were the channels swapped?" in question


def test_the_resting_pressure_is_refused_where_there_is_none() -> None:
    result = analyse_log(example())
    with pytest.raises(InputError, match="one of the log's, gaiter, calf; received ankle"):
        resting_pressure(result, ANKLE)
    time = np.arange(0, 60, 0.2)
    one_level = analyse_log(SensorLog(time, {GAITER: 40 + 0.3 * np.sin(time)}))
    with pytest.raises(InputError, match="no resting pressure at the gaiter: only one quiet lev"):
        resting_pressure(one_level, GAITER)
