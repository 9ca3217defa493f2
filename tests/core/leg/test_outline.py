"""The back of the leg from the side: named points of the curve, and distances by hand."""

import numpy as np
import pytest

from gaiter.core.leg.outline import distance_behind, heel_profile

RADIUS, ACHILLES, ANKLE = 4.0, 1.5, 12.0
PROFILE = heel_profile(RADIUS, 2.4, ACHILLES, ANKLE)


def at(distance: float, psi: float, x: float, z: float) -> None:
    found = distance_behind(np.array([psi]), np.array([x]), np.array([z]), PROFILE)
    assert found[0] == pytest.approx(distance, abs=2e-3)


def test_a_plane_upright_in_the_foot_reaches_the_floor() -> None:
    at(7.0, 0.0, 15.0, 7.0)


def test_a_level_plane_up_the_leg_reaches_the_achilles_line() -> None:
    at(8.0 - ACHILLES, np.pi / 2, 8.0, 12.0)
    at(8.0 - ACHILLES, np.pi / 2, 8.0, 30.0)


def test_the_heel_is_a_superellipse_and_the_tendon_an_s_curve() -> None:
    """At half of the turn both sides are r (1 - 2^(-1/2.4)); half-way up x is half."""
    corner = RADIUS * (1 - 0.5 ** (1 / 2.4))
    # Along the diagonal towards the back and down.
    at(np.hypot(8 - corner, 8 - corner), np.pi / 4, 8.0, 8.0)
    # Rearmost point of the heel, then half-way to the ankle.
    at(8.0, np.pi / 2, 8.0, RADIUS)
    at(8.0 - ACHILLES / 2, np.pi / 2, 8.0, (RADIUS + ANKLE) / 2)
    # A quarter of the way up an S-curve is at 5/32.
    at(8.0 - ACHILLES * 5 / 32, np.pi / 2, 8.0, RADIUS + (ANKLE - RADIUS) / 4)


def test_where_a_plane_meets_the_profile_twice_the_farthest_counts() -> None:
    step = np.array([[20.0, 0.0], [5.0, 0.0], [5.0, 6.0], [2.0, 6.0], [2.0, 0.0], [0.0, 0.0],
                     [0.0, 20.0]])  # fmt: skip
    found = distance_behind(np.array([np.pi / 2]), np.array([8.0]), np.array([3.0]), step)
    assert found[0] == pytest.approx(8.0)
