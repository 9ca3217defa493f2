import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.case.person import Sex
from gaiter.core.plan.laying import HOLDING_TURNS, Geometry
from gaiter.core.plan.padded_leg import BandagedLeg, Padding
from gaiter.core.pressure.surface_map import ring_mean
from gaiter.core.spread.coarse import averaged, coarse_cells, row_centres_cm, row_height_cm
from tests.strategies import percentile_leg


@given(st.integers(1, 40), st.integers(0, 100))
def test_averages_keep_the_mean(rows: int, seed: int) -> None:
    fine = np.random.default_rng(seed).uniform(0, 50, (60, 12))
    assert averaged(fine, rows, 4).mean() == pytest.approx(fine.mean())


@pytest.fixture(scope="module")
def laid():
    padded_leg = BandagedLeg(percentile_leg(Sex.MALE, 1)).under(Padding(0.28))
    return padded_leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0))


def test_rows_fill_the_surface(laid) -> None:
    s = laid.strips.surface.s_cm
    centres, height = row_centres_cm(laid.strips.surface), row_height_cm(laid.strips.surface)
    step = s[1] - s[0]
    assert centres[0] - height / 2 == pytest.approx(s[0] - step / 2)
    assert centres[-1] + height / 2 == pytest.approx(s[-1] + step / 2)


def test_coarse_rings_agree_with_the_fine_map(laid) -> None:
    """Within 3 % up the straight leg, where a row is flat; the edges of turns cost the rest."""
    cells = coarse_cells([laid.strips], HOLDING_TURNS, 6.0)
    surface = laid.strips.surface
    row = np.arange(cells.unit.shape[1])[:, None]
    low, high = cells.edges[:, :, None]
    covered = np.clip(np.minimum(high, row + 1) - np.maximum(low, row), 0, 1)
    rings = ((cells.unit * covered).sum(axis=0) * cells.weight).sum(axis=1)
    fine = ring_mean(surface, laid.unit_map)
    centres, half = row_centres_cm(surface), row_height_cm(surface) / 2
    up_the_leg = (centres > 20) & (centres < surface.end_s_cm - 3)
    # Every ring of the fine map by how much of it lies in the row.
    s, half_ring = surface.s_cm, (surface.s_cm[1] - surface.s_cm[0]) / 2
    top = np.minimum(centres[:, None] + half, s + half_ring)
    share = np.maximum(top - np.maximum(centres[:, None] - half, s - half_ring), 0)
    expected = share @ fine / share.sum(axis=1)
    assert rings[up_the_leg] == pytest.approx(expected[up_the_leg], rel=0.03)
