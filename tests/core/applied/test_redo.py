"""Where to begin again, and with which marks."""

import pytest

from gaiter.core.applied.document import Advice
from gaiter.core.applied.judge import applied_pressure
from tests.core.applied.applied_plan import marks_cm, plan, readings, system


def test_it_begins_at_the_first_turn_over_the_lowest_wrong_site() -> None:
    """Too loose from the ankle up begins lower than too loose at the calf alone."""
    low, high = (
        applied_pressure(plan(), readings([marks_cm() + off for off in offs], confirmed=True))
        for offs in ((-1.5, -2.6, -2.8), (0.3, -2.2, -2.6))
    )
    assert low.advice is high.advice is Advice.REDO
    assert 2 <= low.redo.from_turn < high.redo.from_turn <= system().layers[-1].turns
    assert low.redo.mark_spacing_cm == pytest.approx(marks_cm())


def test_a_bandage_taken_off_after_a_sensors_value_comes_with_closer_marks() -> None:
    made = applied_pressure(plan(), readings(sensor=[("gaiter", 61)]))
    assert made.redo is not None
    assert made.redo.from_turn == 1
    # The sensor says that this leg takes more than theory: less stretch brings the plan's pressure.
    fabric = system().layers[-1].fabric
    planned, asked = (
        float(fabric.curve.tension_n_per_cm(cm / 10 - 1))
        for cm in (marks_cm(), made.redo.mark_spacing_cm)
    )
    assert asked / planned == pytest.approx(
        made.remainder_planned / made.remainder_median, rel=0.01
    )


def test_marks_are_never_asked_beyond_the_usual_limits() -> None:
    fabric = system().layers[-1].fabric
    softer = applied_pressure(
        plan(), readings(sensor=[("gaiter", 4)]).model_copy(update={"confirmed": True})
    )
    assert softer.advice is Advice.REDO
    assert softer.redo.mark_spacing_cm == pytest.approx(10 * (1 + fabric.largest_stretch))
