import pytest

from gaiter.core.applied.document import Advice
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.landmark import Landmark
from tests.core.applied.applied_plan import marks_cm, plan, readings, system


def site(made, landmark: Landmark):
    return next(s for s in made.sites if s.landmark is landmark)


def test_a_bandage_laid_as_planned_is_good_and_presses_as_planned() -> None:
    made = applied_pressure(plan(), readings())
    assert made.advice is Advice.GOOD
    for one in made.sites:
        # Medians of samples about the same bandage, one with and one without readings.
        assert one.median_mmhg == pytest.approx(one.planned_mmhg, rel=0.02)
        assert one.high_mmhg - one.low_mmhg > 0
    assert made.redo is None


def test_readings_narrow_the_band() -> None:
    made = site(applied_pressure(plan(), readings()), Landmark.GAITER)
    planned = next(s for s in system().sites if s.landmark is Landmark.GAITER)
    # What theory cannot tell and the roll stay; the hands are known.
    assert made.high_mmhg - made.low_mmhg < 0.9 * (planned.high_mmhg - planned.low_mmhg)
    sensed = site(
        applied_pressure(plan(), readings(sensor=[("gaiter", made.median_mmhg)])), Landmark.GAITER
    )
    assert sensed.high_mmhg - sensed.low_mmhg < 0.8 * (made.high_mmhg - made.low_mmhg)


def test_too_loose_at_the_calf_is_redone_from_a_turn_over_it() -> None:
    loose = [marks_cm(), 10.5, 10.5]
    made = applied_pressure(plan(), readings(loose))
    assert made.advice is Advice.READ_AGAIN
    gentle = [marks_cm() - 0.3, marks_cm() - 1.5, marks_cm() - 1.7]
    made = applied_pressure(plan(), readings(gentle))
    assert made.advice is Advice.REDO
    assert any("too loose" in reason for reason in made.reasons)
    assert made.redo is not None
    assert made.redo.layer == 3
    assert made.redo.mark_spacing_cm == pytest.approx(marks_cm())
    assert 3 < made.redo.from_turn <= system().layers[-1].turns


def test_far_too_tight_comes_off_at_once_with_the_reason() -> None:
    made = applied_pressure(plan(), readings([marks_cm() + 2.6] * 3))
    assert made.advice is Advice.TAKE_OFF
    # Round the ankle 1.3 times the leg's 60.
    assert made.reasons[0].text.startswith("ankle: likely ")
    assert "above the maximum of 78 mmHg" in made.reasons[0]


def test_a_sensor_above_the_maximum_comes_off_whatever_the_marks_say() -> None:
    made = applied_pressure(plan(), readings(sensor=[("gaiter", 61)]))
    assert made.advice is Advice.TAKE_OFF
    assert any("gaiter: the sensor reads 61 mmHg" in reason for reason in made.reasons)


def test_one_reading_is_not_enough_to_call_it_good() -> None:
    made = applied_pressure(plan(), readings([marks_cm()]))
    assert made.advice is Advice.READ_MORE
    assert "read calf, below knee as well, or a sensor at the gaiter" in made.reasons[0]


def test_a_sensor_at_the_gaiter_alone_may_be_good_and_moves_the_theory() -> None:
    low, high = (
        applied_pressure(plan(), readings([], sensor=[("gaiter", mmhg)])) for mmhg in (29, 38)
    )
    assert low.advice is high.advice is Advice.GOOD
    assert low.remainder_median < low.remainder_planned < high.remainder_median


def test_contradictory_readings_are_named() -> None:
    made = applied_pressure(plan(), readings([10.2, marks_cm(), marks_cm()]))
    assert made.advice is Advice.READ_AGAIN
    assert any("layer 3, ankle: marks 10.2 cm apart" in words for words in made.questions)
    sensed = applied_pressure(plan(), readings(sensor=[("gaiter", 4)]))
    assert sensed.advice is Advice.READ_AGAIN
    assert any("sensor at the gaiter: 4 mmHg is far below" in w for w in sensed.questions)


def test_more_overlap_than_planned_presses_more_and_is_said_when_redone() -> None:
    planned = site(applied_pressure(plan(), readings()), Landmark.GAITER)
    wide = applied_pressure(plan(), readings(overlaps=[{"layer": 3, "cm": 8.0}]))
    assert site(wide, Landmark.GAITER).median_mmhg > 1.3 * planned.median_mmhg
    # Half is planned; the reading counts for four fifths.
    assert wide.layers[0].overlap == pytest.approx(0.5 + 0.8 * (0.8 - 0.5), abs=0.01)
    assert wide.advice is Advice.TAKE_OFF


def test_a_plan_at_the_edge_of_its_range_is_not_redone_when_it_lies_as_planned() -> None:
    made = plan()
    leg = next(iter(made.legs.values()))
    one = system()
    # As if the range began just above what was planned.
    sites = tuple(
        s.model_copy(update={"target_low_mmhg": s.median_mmhg + 0.5})
        if s.landmark is Landmark.GAITER
        else s
        for s in one.sites
    )
    edge = one.model_copy(update={"sites": sites})
    legs = {leg.side: leg.model_copy(update={"systems": (edge,)})}
    applied = applied_pressure(made.model_copy(update={"legs": legs}), readings())
    assert applied.advice is Advice.GOOD
    assert [str(why) for why in applied.reasons] == ["it lies as planned, within the maximum"]


def test_what_was_read_twice_stands_and_is_judged() -> None:
    given = readings([10.2, marks_cm(), marks_cm()])
    made = applied_pressure(plan(), given.model_copy(update={"confirmed": True}))
    assert made.questions
    assert made.advice is Advice.REDO
