"""When the leg rested, stood and moved is found where it is clear and refused where it is not."""

from dataclasses import replace

import numpy as np
import pytest

from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.sensor.phases import Span
from gaiter.core.sensor.spans import StatedSpans, choose_spans
from gaiter.core.words import Said
from tests.sensor_logs import Truth, example

GAITER, CALF = Landmark.GAITER, Landmark.CALF
NOTHING = StatedSpans()


def steps(*levels: float, each_s: float = 40.0, noise: float = 0.4, seed: int = 4):
    """Quiet levels one after the other, 5 samples a second."""
    time = np.arange(0, each_s * len(levels), 0.2)
    pressure = np.repeat(levels, round(each_s / 0.2)).astype(float)
    return time, pressure + np.random.default_rng(seed).normal(0, noise, time.size)


def chosen(*levels: float, stated: StatedSpans = NOTHING, **options):
    time, pressure = steps(*levels, **options)
    return choose_spans(time, {GAITER: pressure}, stated)


def test_the_three_spans_of_a_clear_log_are_found() -> None:
    log = example()
    found = choose_spans(log.time_s, log.pressure_mmhg, NOTHING)
    for choice, ends in ((found.rest, (2.5, 327.5)), (found.standing, (332.5, 387.5)),
                         (found.movement, (390, 450))):  # fmt: skip
        assert not choice.reason
        assert not choice.stated
        assert (choice.span.start_s, choice.span.end_s) == pytest.approx(ends, abs=3)


def test_standing_may_come_first() -> None:
    found = chosen(54, 40)
    assert found.standing.span.end_s < found.rest.span.start_s


def test_of_two_rests_the_longer_is_taken() -> None:
    time, pressure = steps(40, 54, 41, 41)
    found = choose_spans(time, {GAITER: pressure}, NOTHING)
    assert found.rest.span.start_s > 80
    assert found.rest.span.end_s - found.rest.span.start_s > 70


def test_what_is_stated_is_taken_as_it_is() -> None:
    stated = StatedSpans(Span(10, 130), Span(140, 200), Span(400, 440))
    log = example()
    found = choose_spans(log.time_s, log.pressure_mmhg, stated)
    assert (found.rest.span, found.standing.span, found.movement.span) == (
        stated.rest, stated.standing, stated.movement,
    )  # fmt: skip
    assert found.rest.stated
    assert found.standing.stated
    assert found.movement.stated


@pytest.mark.parametrize(
    ("levels", "words"),
    [
        ((40,), "only one quiet level .40.0 mmHg.: rest and standing cannot be told apart"),
        ((40, 42), "only one quiet level"),
        ((40, 47, 54), "more than two quiet levels .40.0, 47.0, 54.0 mmHg.: state which"),
        ((1, 40), r"the gaiter reads [01]\.\d mmHg over a quiet phase: was the sensor under"),
    ],
)
def test_an_ambiguous_log_is_refused_with_its_reason(levels, words) -> None:
    import re

    found = chosen(*levels)
    assert found.rest.span is None
    assert found.standing.span is None
    assert re.search(words, found.rest.reason.text)
    assert found.rest.reason == found.standing.reason


def test_a_log_that_is_never_quiet_is_refused() -> None:
    found = chosen(40, 54, noise=3.0)
    assert found.rest.span is None
    assert "no phase of 20 s is quiet at every site" in found.rest.reason


def test_a_pause_is_no_plateau() -> None:
    found = chosen(40, 54, each_s=18)
    assert found.rest.span is None


def test_sites_that_contradict_each_other_are_refused() -> None:
    time, gaiter = steps(40, 54)
    found = choose_spans(time, {GAITER: gaiter, CALF: steps(54, 40)[1]}, NOTHING)
    assert found.rest.span is None
    assert "gaiter and calf rise and fall at different times" in found.rest.reason


def test_a_site_that_does_not_rise_has_no_say() -> None:
    time, gaiter = steps(40, 54)
    found = choose_spans(time, {CALF: steps(30, 31)[1], GAITER: gaiter}, NOTHING)
    assert found.rest.span.end_s < found.standing.span.start_s


def test_no_site_that_varies_gives_no_span() -> None:
    found = choose_spans(np.arange(20.0), {}, NOTHING)
    reasons = [choice.reason for choice in (found.rest, found.standing, found.movement)]
    assert reasons == 3 * [Said("no site has values that vary")]


def test_standing_is_found_above_a_stated_rest() -> None:
    found = chosen(40, 54, 40, stated=StatedSpans(rest=Span(2, 38)))
    assert found.rest.span == Span(2, 38)
    assert (found.standing.span.start_s, found.standing.span.end_s) == pytest.approx(
        (42.5, 77.5), abs=1
    )


def test_rest_is_found_below_a_stated_standing() -> None:
    found = chosen(40, 54, stated=StatedSpans(standing=Span(42, 78)))
    assert found.rest.span.end_s < 40
    assert found.standing.stated


@pytest.mark.parametrize(
    ("levels", "words"),
    [
        ((40, 41), "no quiet phase lies 3 mmHg or more above .* state standing too"),
        ((40, 30), "no quiet phase lies 3 mmHg or more above"),
        ((40, 47, 54), "more than one quiet level .47.0, 54.0 mmHg. 3 mmHg or more above"),
    ],
)
def test_with_a_stated_rest_standing_is_still_refused_when_unclear(levels, words) -> None:
    import re

    found = chosen(*levels, stated=StatedSpans(rest=Span(2, 38)))
    assert found.standing.span is None
    assert re.search(words, found.standing.reason.text)


def test_a_bare_sensor_is_no_rest_below_a_stated_standing() -> None:
    found = chosen(1, 54, stated=StatedSpans(standing=Span(42, 78)))
    assert found.rest.span is None
    assert "was the sensor under the bandage? state rest too" in found.rest.reason


def test_two_stretches_of_movement_are_refused() -> None:
    truth = Truth()
    pressure = truth.pressures()
    early = (truth.times() > 100) & (truth.times() < 130)
    pressure[early] += 12 * np.sin(np.pi * truth.times()[early])
    found = choose_spans(truth.times(), {GAITER: pressure}, NOTHING)
    assert found.movement.span is None
    assert "2 phases of movement (9" in found.movement.reason
    assert found.movement.reason.text.endswith("state which one")


def test_without_movement_there_is_none() -> None:
    found = chosen(40, 54)
    assert found.movement.span is None
    assert found.movement.reason.text == "no phase with at least 3 cycles was found"


def test_movement_is_found_beside_stated_postures() -> None:
    truth = replace(Truth(), swing=20)
    stated = StatedSpans(rest=Span(10, 300), standing=Span(335, 385))
    found = choose_spans(truth.times(), {GAITER: truth.pressures()}, stated)
    assert (found.movement.span.start_s, found.movement.span.end_s) == pytest.approx(
        (390, 450), abs=4
    )


@pytest.mark.parametrize("span", [Span(-1, 20), Span(5, 1000)])
def test_a_stated_span_lies_within_the_log(span: Span) -> None:
    time, pressure = steps(40, 54)
    with pytest.raises(InputError, match=f"standing must lie within the log, 0.0 to 79.8 s; "
                       f"received {span}: correct it"):  # fmt: skip
        choose_spans(time, {GAITER: pressure}, StatedSpans(standing=span))


def test_stated_spans_do_not_overlap() -> None:
    with pytest.raises(InputError, match="rest and movement must not overlap; received 0.0 to 10"):
        StatedSpans(rest=Span(0, 10), movement=Span(9, 20))
    assert StatedSpans(rest=Span(0, 10), movement=Span(10, 20)).movement == Span(10, 20)
