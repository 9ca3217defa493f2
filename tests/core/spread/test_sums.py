"""The compiled sums against closed forms, and against the plain ones for any thread count."""

import numpy as np
import pytest

from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import Waypoint
from gaiter.core.bandage.strips import lay
from gaiter.core.pressure.laplace import ring_mean_mmhg
from gaiter.core.spread import reference, sums
from gaiter.core.spread.coarse import COLUMNS, ROWS, coarse_cells, row_centres_cm
from tests.core.bandage.test_path import cylinder

# Single precision on cells; a sensor reads to 1 mmHg.
CLOSE_MMHG = 0.01
BACK = COLUMNS // 2


@pytest.fixture
def engine():
    """The sums on the plain engine, and afterwards on the one that was there."""
    before = sums._Engine.sums, sums._Engine.threads
    sums._Engine.sums, sums._Engine.threads = reference, 1
    yield sums
    sums._Engine.sums, sums._Engine.threads = before


def random_bandages(samples: int, turns: int = 20, seed: int = 1):
    rng = np.random.default_rng(seed)
    low = np.linspace(-4, 58, turns)[:, None] + rng.normal(0, 2, (turns, COLUMNS))
    high = low + rng.uniform(-1, 15, (turns, COLUMNS))  # a few do not pass their column
    cells = sums.Cells(
        np.stack([low, high]),
        rng.uniform(0, 30, (turns, ROWS, COLUMNS)),
        np.full((ROWS, COLUMNS), 1 / COLUMNS),
    )
    tension = np.exp(rng.normal(0, 0.2, (samples, turns)))
    shift = rng.normal(0, 2, (samples, turns))
    factor = rng.normal(1, 0.02, (samples, ROWS))
    return cells, tension, shift, factor


def test_compiled_and_plain_sums_agree_for_any_number_of_threads(engine) -> None:
    cells, tension, shift, factor = random_bandages(600)
    limit = np.full((ROWS, COLUMNS), 60.0)
    plain = engine.cell_summary(cells, tension, shift, factor, limit)
    found = []
    for threads in (1, 2, 5):
        engine.load(threads)
        found.append(engine.cell_summary(cells, tension, shift, factor, limit))
    for one in found:
        assert np.abs(one.mean_mmhg - plain.mean_mmhg).max() < CLOSE_MMHG
        assert np.abs(one.sd_mmhg - plain.sd_mmhg).max() < CLOSE_MMHG
        assert np.abs(one.ring_mmhg - plain.ring_mmhg).max() < CLOSE_MMHG
        # A cell within a rounding of its limit may fall on either side.
        assert np.abs(one.chance_above - plain.chance_above).max() <= 2 / 600
        for part in ("mean_mmhg", "sd_mmhg", "chance_above", "ring_mmhg"):
            assert (getattr(one, part) == getattr(found[0], part)).all()


def test_disc_sums_agree_and_keep_groups_apart(engine) -> None:
    rng = np.random.default_rng(2)
    table = rng.uniform(0, 30, (12, 49, 5))
    group = np.repeat([0, 1, 3], 4)
    tension, place = rng.uniform(0.5, 2, (700, 12)), rng.uniform(0, 48, (700, 12))
    plain = engine.disc_sums(table, group, tension, place)
    engine.load(2)
    # The same operations in the same order: a plan is the same to the last digit, whichever ran.
    assert (engine.disc_sums(table, group, tension, place) == plain).all()
    assert (plain[2] == 0).all()
    # One sample by hand: between two shifts the table is a straight line.
    by_hand = sum(
        tension[3, k] * np.array([np.interp(place[3, k], np.arange(49), column) for column in row])
        for k, row in enumerate(table[:4].transpose(0, 2, 1))
    )
    assert plain[0, 3] == pytest.approx(by_hand)


def level_turns(radius: float, slope: float):
    """Level turns at 2 cm pitch, 4 cm wide, on a cylinder or a cone."""
    surface = cylinder(radius, slope=slope)
    strips = []
    for s in np.arange(6, 26, 2.0):
        level = tuple(Waypoint(t, s, 1e-3) for t in np.arange(0, 1.01, 0.25))
        strips.append(lay(surface, faired_path(surface, level), 4.0))
    return surface, strips


@pytest.mark.parametrize("slope", [0.0, 0.12])
def test_mean_and_variance_on_cylinder_and_cone_are_the_closed_form(engine, slope: float) -> None:
    """n level turns of log-normal tension: mean n E[t] 75.0 cos(b)/r, variance by their sum.

    Round a cone of half angle b the normal curvature is cos(b) / r.
    """
    surface, strips = level_turns(4.0, slope)
    cells = coarse_cells(strips, holding_turns=0, reach_cm=1.0)
    rng = np.random.default_rng(3)
    sd, samples = 0.25, 40_000
    tension = 1.2 * np.exp(rng.normal(0, sd, (samples, len(strips))))
    engine.load(2)
    found = engine.cell_summary(
        cells, tension, np.zeros_like(tension), np.ones((samples, ROWS)),
        np.full((ROWS, COLUMNS), 40.0),
    )  # fmt: skip
    row = int(np.argmin(np.abs(row_centres_cm(surface) - 15.0)))
    radius = 4.0 + slope * row_centres_cm(surface)[row]
    # Share of the row that each turn covers; away from where a turn's ends meet every point
    # lies under two.
    low, high = cells.edges[..., BACK]
    share = np.clip(np.minimum(high, row + 1) - np.maximum(low, row), 0, 1)
    assert share.sum() == pytest.approx(2, abs=0.02)
    one = ring_mean_mmhg(1.2, 2 * np.pi * radius) * np.cos(np.arctan(slope))
    mean = one * np.exp(sd**2 / 2) * share.sum()
    spread = one * np.exp(sd**2 / 2) * np.sqrt(np.expm1(sd**2) * (share**2).sum())
    # 0.5 % for the sag of a turn between its waypoints; four standard errors for the sample.
    assert found.mean_mmhg[row, BACK] == pytest.approx(mean, rel=0.005)
    assert found.sd_mmhg[row, BACK] == pytest.approx(spread, rel=0.005 + 4 / np.sqrt(2 * samples))
    ring = cells.weight[row] @ found.mean_mmhg[row]
    assert found.ring_mmhg[:, row].mean() == pytest.approx(ring, abs=CLOSE_MMHG)


def test_chance_above_is_the_tail_of_the_closed_form(engine) -> None:
    """One covering turn: the chance is that of a log-normal above its limit."""
    _, strips = level_turns(4.0, 0.0)
    cells = coarse_cells(strips[4:5], holding_turns=0, reach_cm=1.0)
    rng = np.random.default_rng(4)
    tension = np.exp(rng.normal(0, 0.3, (20_000, 1)))
    row = int(cells.edges[:, 0, BACK].mean())
    limit = 1.2 * ring_mean_mmhg(1.0, 2 * np.pi * 4.0)
    found = engine.cell_summary(
        cells, tension, np.zeros_like(tension), np.ones((20_000, ROWS)),
        np.full((ROWS, COLUMNS), limit),
    )  # fmt: skip
    # P(exp(0.3 z) > 1.2) = 1 - Phi(ln 1.2 / 0.3) = 0.2717
    assert found.chance_above[row, BACK] == pytest.approx(0.2717, abs=0.012)
