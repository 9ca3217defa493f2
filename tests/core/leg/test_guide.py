"""The guide line: its ends in closed form, its bend by numerical integration."""

import numpy as np
import pytest

from gaiter.core.leg.guide import Guide

GUIDE = Guide.round_the_ankle(
    start_x_cm=18.0, instep_x_cm=13.0, ankle_z_cm=12.0, upright_x_cm=8.0, level_z_cm=6.0,
    fan_cm_per_radian=6.5,
)  # fmt: skip
QUARTER_FAN = 6.5 * np.pi / 2


def test_the_bend_fits_between_instep_and_ankle() -> None:
    """5 cm from instep to upright line, 6 from level line to ankle: the smaller."""
    assert GUIDE.room_cm == 5
    steep = Guide.round_the_ankle(
        start_x_cm=18.0, instep_x_cm=8.1, ankle_z_cm=6.2, upright_x_cm=8.0, level_z_cm=6.0,
        fan_cm_per_radian=6.5,
    )  # fmt: skip
    # However steep, 0.8 cm are left for the fan.
    assert steep.room_cm == 0.8


def test_in_the_foot_planes_are_upright_and_s_counts_backwards_from_the_ball() -> None:
    assert GUIDE.s_in_foot_cm(18.0) == 0
    assert GUIDE.s_in_foot_cm(14.5) == 3.5
    # The bend starts 5 cm before the upright line, at 13 cm.
    assert GUIDE.bend_start_cm == pytest.approx(5.0)
    psi, x, z = GUIDE.planes(np.array([-2.0, 0.0, 5.0]))
    assert psi == pytest.approx([0, 0, 0])
    assert x == pytest.approx([20, 18, 13])
    assert z == pytest.approx([6, 6, 6])


def test_up_the_leg_planes_are_level_and_s_counts_height() -> None:
    """The bend ends 5 cm over the level line, at 11 cm."""
    s = np.array([GUIDE.s_in_leg_cm(height) for height in (11.0, 15.0, 40.0)])
    assert np.diff(s) == pytest.approx([4, 25])
    psi, x, z = GUIDE.planes(s)
    assert psi == pytest.approx([np.pi / 2] * 3)
    assert x == pytest.approx([8, 8, 8], abs=1e-6)
    assert z == pytest.approx([11, 15, 40], abs=1e-6)
    assert s[0] == pytest.approx(GUIDE.bend_start_cm + GUIDE.bend_length_cm + QUARTER_FAN)


def test_the_bend_is_as_long_as_its_rate_of_turning_makes_it() -> None:
    """Turning at 1 - cos(2 pi u): the forward part of the arc is the integral of cos(psi)."""
    u = np.linspace(0, 1, 20_001)
    psi = np.pi / 2 * (u - np.sin(2 * np.pi * u) / (2 * np.pi))
    forward = np.trapezoid(np.cos(psi), u)
    assert GUIDE.bend_length_cm == pytest.approx(5 / forward, rel=1e-6)


def test_in_the_bend_the_guide_runs_along_its_own_planes_normal() -> None:
    """Its direction is (-cos psi, sin psi), and s counts its arc and the fan."""
    s = np.linspace(GUIDE.bend_start_cm, GUIDE.s_in_leg_cm(11.0), 2001)
    psi, x, z = GUIDE.planes(s)
    assert (np.diff(psi) >= 0).all()
    arc = np.hypot(np.diff(x), np.diff(z))
    assert arc.sum() == pytest.approx(GUIDE.bend_length_cm, rel=1e-5)
    assert np.diff(s) == pytest.approx(arc + 6.5 * np.diff(psi), abs=1e-6)
    middle = (psi[1:] + psi[:-1]) / 2
    assert np.diff(x) == pytest.approx(-arc * np.cos(middle), abs=1e-6)
    assert np.diff(z) == pytest.approx(arc * np.sin(middle), abs=1e-6)
