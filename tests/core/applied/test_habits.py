from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from gaiter.core.applied.document import Advice, Applied
from gaiter.core.applied.habits import (
    HALF_LIFE_DAYS,
    HandReading,
    hand_readings,
    learnt_habits,
)
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.landmark import HABIT_HEIGHTS, Landmark
from tests.core.applied.applied_plan import marks_cm, plan, readings, system

TODAY = date(2026, 11, 25)
MATERIAL = "long_stretch_elastic"


def read(percent: float, height=Landmark.CALF, days_ago: int = 0, error: float = 0.0):
    return HandReading(
        TODAY - timedelta(days_ago), MATERIAL, height, float(np.log1p(percent / 100)), error
    )


def habit(made, cv: float = 0.18):
    return learnt_habits(made, cv, TODAY)[MATERIAL]


def test_a_steady_habit_is_found_with_its_spread() -> None:
    rng = np.random.default_rng(1)
    made = [
        read(100 * (0.92 * np.exp(0.06 * rng.standard_normal()) - 1), height)
        for height in HABIT_HEIGHTS
        for _ in range(60)
    ]
    found = habit(made)
    assert found.readings == 180
    for at in found.heights.values():
        # 60 readings of 6 %: 0.8 % standard error, and a reading's worth of prior at 0.
        assert at.tension_percent == pytest.approx(-8, abs=2.5)
        assert at.sure_percent < 2
    assert found.spread_percent == pytest.approx(6, abs=1.5)


def test_heights_are_kept_apart_and_unread_ones_stay_as_published() -> None:
    found = habit([read(-20) for _ in range(20)])
    assert found.heights[Landmark.CALF].tension_percent < -15
    ankle = found.heights[Landmark.ANKLE]
    assert ankle.tension_percent == pytest.approx(0)
    # Half of the published variance of 18 % is in the person's own bias.
    assert ankle.sure_percent == pytest.approx(100 * np.expm1(np.sqrt(np.log1p(0.18**2) / 2)))


def test_what_was_learnt_fades_slowly() -> None:
    now = habit([read(-20) for _ in range(10)]).heights[Landmark.CALF].tension_percent
    later = habit([read(-20, days_ago=int(HALF_LIFE_DAYS)) for _ in range(10)])
    long_ago = habit([read(-20, days_ago=2000) for _ in range(10)])
    assert now < later.heights[Landmark.CALF].tension_percent < -10
    assert long_ago.heights[Landmark.CALF].tension_percent == pytest.approx(0, abs=0.1)


def test_an_unsure_reading_counts_less() -> None:
    sure, unsure = habit([read(-20)]), habit([read(-20, error=0.5)])
    assert (
        sure.heights[Landmark.CALF].tension_percent
        < unsure.heights[Landmark.CALF].tension_percent
        < 0
    )


def test_readings_after_today_are_left_out() -> None:
    assert learnt_habits([read(-20, days_ago=-3)], 0.18, TODAY) == {}


def test_a_bandage_tells_the_tension_of_its_marks() -> None:
    loose = marks_cm() - 1.0
    made = applied_pressure(plan(), readings([marks_cm(), loose, marks_cm()]))
    told = {reading.height: reading for reading in hand_readings(made)}
    fabric = system().layers[-1].fabric
    planned, there = (
        float(fabric.curve.tension_n_per_cm(cm / 10 - 1)) for cm in (marks_cm(), loose)
    )
    assert told[Landmark.ANKLE].log_tension == pytest.approx(0, abs=1e-6)
    assert told[Landmark.CALF].log_tension == pytest.approx(np.log(there / planned))
    # A tape off by its 2 mm moves the tension by the reading error.
    more = float(fabric.curve.tension_n_per_cm(loose / 10 - 1 + 0.02))
    assert told[Landmark.CALF].log_error == pytest.approx(np.log(more / there), rel=0.1)


def test_doubted_spacings_teach_nothing_until_they_were_read_twice() -> None:
    doubted = readings([10.2, marks_cm(), marks_cm()])
    assert hand_readings(applied_pressure(plan(), doubted)) == []
    sure = doubted.model_copy(update={"confirmed": True})
    assert len(hand_readings(applied_pressure(plan(), sure))) == 3


def test_unread_spacings_teach_nothing() -> None:
    made = applied_pressure(plan(), readings([marks_cm()]))
    assert [reading.height for reading in hand_readings(made)] == [Landmark.ANKLE]


CALF = Landmark.CALF


def test_one_exact_reading_by_hand() -> None:
    """Twice the tension, read today: ln 2 met half-way by a prior worth one reading.

    Its scale 2 v grows by half of two squares of ln 2 / 2, over 3.5 - 1; the heights unread keep
    the v that is half of ln(1 + 0.18^2). Ninety days later it counts half: a third of ln 2.
    """
    v = np.log(1 + 0.18**2) / 2
    found = habit([read(100.0)])
    assert found.heights[CALF].tension_percent == pytest.approx(100 * (2**0.5 - 1))
    there = (2 * v + np.log(2) ** 2 / 4) / 2.5
    assert found.heights[CALF].sure_percent == pytest.approx(100 * np.expm1(np.sqrt(there / 2)))
    assert found.spread_percent == pytest.approx(100 * np.expm1(np.sqrt((there + 2 * v) / 3)))
    later = habit([read(100.0, days_ago=90)]).heights[CALF]
    assert later.tension_percent == pytest.approx(100 * (2 ** (1 / 3) - 1))


def test_only_the_three_heights_that_were_read_tell_of_the_hands() -> None:
    """Without a reading error of its own a spacing is taken as exact."""
    given = {Landmark.ANKLE: 0.3, Landmark.GAITER: 0.2, CALF: 0.1, Landmark.BELOW_KNEE: None}
    spacings = [
        SimpleNamespace(place=place, read_log_tension=log, read_log_error=None)
        for place, log in given.items()
    ]
    layer = SimpleNamespace(material=MATERIAL, spacings=spacings)
    bandage = Applied.model_construct(advice=Advice.GOOD, today=TODAY, layers=(layer,))
    assert hand_readings(bandage) == [
        HandReading(TODAY, MATERIAL, Landmark.ANKLE, 0.3, 0.0),
        HandReading(TODAY, MATERIAL, CALF, 0.1, 0.0),
    ]
