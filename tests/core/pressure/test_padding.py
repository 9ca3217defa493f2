import numpy as np
import pytest

from gaiter.core.pressure.discs import disc
from gaiter.core.pressure.padding import (
    PAD_REACH_CM,
    PADDING_STEPS_CM,
    girth_over_pads_cm,
    pad_on_cells_cm,
    pad_wool_cm,
    padding_that_answers,
)
from tests.core.bandage.test_path import cylinder

AT = (20.0, 0.0)


def even(pressure: float):
    surface = cylinder(2.0)
    where = disc(surface, "edge", *AT)
    return surface, np.full(surface.section_cm.shape[1:], pressure), where


def test_nothing_is_needed_below_the_maximum() -> None:
    surface, pressure, _ = even(50.0)
    assert padding_that_answers(surface, pressure, *AT, 60.0) == 0.0


def test_an_even_pressure_needs_the_closed_form_thickness() -> None:
    """P / (1 + kappa t) <= P_max: on radius 2 cm, 80 to 60 mmHg needs 0.667 cm."""
    surface, pressure, _ = even(80.0)
    needed = (80 / 60 - 1) / 0.5
    found = padding_that_answers(surface, pressure, *AT, 60.0)
    assert found == min(step for step in PADDING_STEPS_CM if step >= needed)


def test_where_padding_is_no_answer_it_says_so() -> None:
    surface, pressure, _ = even(500.0)
    assert padding_that_answers(surface, pressure, *AT, 60.0) is None


def test_a_narrow_peak_needs_less_than_an_even_pressure() -> None:
    surface, pressure, where = even(0.0)
    pressure[where.rings, where.angles] = 80.0
    narrow = padding_that_answers(surface, pressure, *AT, 60.0)
    wide = padding_that_answers(*even(80.0)[:2], *AT, 60.0)
    assert narrow is not None
    assert wide is not None
    assert narrow < wide


def test_a_pad_all_round_adds_two_pi_times_its_thickness_to_the_tape() -> None:
    surface = cylinder(5.0)
    pads = np.full(surface.section_cm.shape[1:], 0.6)
    assert girth_over_pads_cm(surface, pads, 20.0) == pytest.approx(2 * np.pi * 0.6, rel=2e-3)
    assert girth_over_pads_cm(surface, np.zeros_like(pads), 20.0) == 0


def test_a_pad_is_felt_by_the_tape_over_it_and_nowhere_else() -> None:
    """A pad of thickness t over an arc that turns by a adds at least t a, at most t (a + bevel)."""
    surface = cylinder(5.0)
    pads = pad_on_cells_cm(surface, 20.0, 0.0, 1.0)
    assert pads.max() == 1.0
    more = girth_over_pads_cm(surface, pads, 20.0)
    assert 2.5 / 5 <= more <= 2 * PAD_REACH_CM / 5 + 1.0
    assert girth_over_pads_cm(surface, pads, 30.0) == 0


def test_wool_of_a_pad_counts_its_sheets() -> None:
    """10 mm of sheets of 1.4 mm are 8 sheets, each 5.5 cm long."""
    assert pad_wool_cm(1.0, 0.14) == pytest.approx(8 * 5.5)
    assert pad_wool_cm(0.4, 0.2) == pytest.approx(2 * 5.5)
    assert pad_wool_cm(1.0, 0.0) == 0
