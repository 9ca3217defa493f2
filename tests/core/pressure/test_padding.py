import numpy as np
import pytest

from gaiter.core.leg.tube import round_limb
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


def test_pads_go_by_two_millimetres_up_to_twenty() -> None:
    assert pytest.approx((0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0)) == PADDING_STEPS_CM
    # Full over the disc of 1.25 cm that is judged, bevelled over 1.5 cm more.
    assert pytest.approx(2.75) == PAD_REACH_CM


def test_a_pad_is_full_over_the_disc_and_bevelled_to_nothing() -> None:
    surface = cylinder(5.0)
    pad = pad_on_cells_cm(surface, 20.0, 0.0, 0.8)
    ring = int(np.argmin(np.abs(surface.s_cm - 20)))
    up = {off: pad[np.argmin(np.abs(surface.s_cm - surface.s_cm[ring] - off)), 0] for off in
          (0.0, 1.2, 2.0, 2.7, 2.9)}  # fmt: skip
    assert up[0.0] == up[1.2] == pytest.approx(0.8)
    # Half-way down the bevel; a ring more or less is 0.07 mm of 8.
    assert up[2.0] == pytest.approx(0.8 * (2.75 - 2.0) / 1.5, abs=0.08)
    assert 0 < up[2.7] < 0.08
    assert up[2.9] == 0
    # At the inner side of the leg, a quarter round.
    side = pad_on_cells_cm(surface, 20.0, np.pi / 2, 0.8)
    assert np.unravel_index(side.argmax(), side.shape)[1] == pytest.approx(24, abs=2)


def test_at_exactly_the_maximum_no_pad_is_needed() -> None:
    surface, pressure, where = even(60.0)
    exact = where.mean(pressure)
    assert padding_that_answers(surface, pressure, *AT, exact) == 0
    assert padding_that_answers(surface, pressure, *AT, 0.999 * exact) == 0.2


def test_a_pad_smaller_than_a_sheet_is_one_sheet() -> None:
    assert pad_wool_cm(0.05, 0.14) == pytest.approx(5.5)
    assert pad_wool_cm(0.28, 0.14) == pytest.approx(11.0)


def test_half_a_centimetre_all_round_a_tube_by_the_polygon() -> None:
    """96 sides of 2 r sin(pi / 96), with r half a centimetre larger."""
    more = girth_over_pads_cm(round_limb(4), np.full((81, 96), 0.5), 20.0)
    assert more == pytest.approx(96 * 2 * 0.5 * np.sin(np.pi / 96), abs=1e-9)
