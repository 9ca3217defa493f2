"""The way round the ankle is the first that covers; where none does, the one that leaves least."""

import numpy as np
import pytest

from gaiter.core.bandage import covering
from gaiter.core.bandage.coverage import cell_area_cm2, gaps, thicknesses
from gaiter.core.bandage.covering import covering_strips
from gaiter.core.bandage.path import faired_path
from gaiter.core.bandage.pattern import FIGURES_OF_EIGHT, FigureOfEight, Pattern, waypoints
from gaiter.core.bandage.strips import lay
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from tests.strategies import percentile_leg, random_leg

FIRST, SECOND = FIGURES_OF_EIGHT
# Straight up the leg from instep to ankle: the heel stays bare.
NONE = FigureOfEight((0.1, 0.4, 0.8, 1.2, 1.5, 1.8), 0.3)


def leg(index: int = 1):
    return leg_surface(percentile_leg(Sex.MALE, index)).padded(0.28)


def laid_by(surface, eight: FigureOfEight, width_cm: float = 10.0):
    points = waypoints(surface, Pattern.SPIRAL, width_cm, 0.5, eight=eight)
    return lay(surface, faired_path(surface, points), width_cm)


def same(one, other) -> bool:
    return bool(np.array_equal(one.path.s_cm, other.path.s_cm))


def bare_below_the_ankle_cm2(strips) -> float:
    surface = strips.surface
    foot = (surface.s_cm >= surface.start_s_cm) & (
        surface.s_cm <= surface.landmark_s_cm[Landmark.ANKLE]
    )
    bare = (thicknesses(strips) < 0.5) & foot[:, None]
    return float(cell_area_cm2(surface)[bare].sum())


def tried(monkeypatch, *eights: FigureOfEight):
    monkeypatch.setattr(covering, "FIGURES_OF_EIGHT", eights)
    return covering_strips(leg(), Pattern.SPIRAL, 10.0, 0.5)


def test_the_first_way_that_covers_is_taken(monkeypatch) -> None:
    surface = leg()
    assert bare_below_the_ankle_cm2(laid_by(surface, FIRST)) < 0.5
    assert bare_below_the_ankle_cm2(laid_by(surface, SECOND)) < 0.5
    assert same(tried(monkeypatch, FIRST, SECOND), laid_by(surface, FIRST))
    assert same(tried(monkeypatch, SECOND, FIRST), laid_by(surface, SECOND))


def test_a_way_that_leaves_a_gap_is_passed_over(monkeypatch) -> None:
    assert bare_below_the_ankle_cm2(laid_by(leg(), NONE)) > 5
    assert same(tried(monkeypatch, NONE, FIRST), laid_by(leg(), FIRST))


def test_a_way_that_nobody_could_lay_is_passed_over(monkeypatch) -> None:
    """Its edges would differ by more than half its width each centimetre."""
    monkeypatch.setattr(covering, "_LARGEST_BEND", 0.0)
    # All wrinkle then, and the one that leaves least is taken.
    least = min((FIRST, NONE), key=lambda one: bare_below_the_ankle_cm2(laid_by(leg(), one)))
    assert same(tried(monkeypatch, NONE, FIRST), laid_by(leg(), least))


def test_where_none_covers_the_least_bare_one_is_taken(monkeypatch) -> None:
    """A bandage of 5 cm leaves gaps whichever way it goes."""
    surface = leg()
    bare = [bare_below_the_ankle_cm2(laid_by(surface, one, 5.0)) for one in FIGURES_OF_EIGHT]
    assert min(bare) > 0.5
    found = covering_strips(surface, Pattern.SPIRAL, 5.0, 0.5)
    assert bare_below_the_ankle_cm2(found) == pytest.approx(min(bare))


def test_another_width_up_the_leg_begins_at_the_ankle() -> None:
    strips = covering_strips(leg(), Pattern.SPIRAL, 8.0, 0.5, 12.0)
    surface = strips.surface
    straight = covering_strips(leg(), Pattern.SPIRAL, 8.0, 0.5)
    calf = (surface.s_cm > surface.landmark_s_cm[Landmark.GAITER] + 5) & (
        surface.s_cm < surface.landmark_s_cm[Landmark.CALF] - 3
    )
    # Both overlap by half along the inner side, so two thicknesses either way; the back of a
    # calf is longer and has fewer.
    for one in (strips, straight):
        assert thicknesses(one)[calf].mean() == pytest.approx(2, abs=0.2)
    # 12 over 8 cm: two turns for three.
    assert strips.turns < straight.turns


@pytest.mark.parametrize("pattern", list(Pattern))
def test_no_gap_worth_a_name_on_twenty_legs_of_the_regressions(pattern: Pattern) -> None:
    """A square centimetre at most; a gap is told from half of one on."""
    rng = np.random.default_rng(11)
    for number in range(20):
        surface = leg_surface(random_leg(rng, list(Sex)[number % 2])).padded(0.28)
        strips = covering_strips(surface, pattern, 10.0, 0.5)
        assert bare_below_the_ankle_cm2(strips) < 1.0
        assert sum(gap.area_cm2 for gap in gaps(surface, (strips,))) < 2.0
        assert np.abs(strips.path.sideways_bend).max() < 0.5


@pytest.mark.long
def test_one_leg_in_twenty_keeps_a_gap_and_none_a_square_centimetre() -> None:
    """The figures of docs/design/0002-geometry.md."""
    rng = np.random.default_rng(23)
    bare = []
    for number in range(100):
        surface = leg_surface(random_leg(rng, list(Sex)[number % 2])).padded(0.28)
        strips = covering_strips(surface, Pattern.SPIRAL, 10.0, 0.5)
        bare.append(bare_below_the_ankle_cm2(strips))
    assert max(bare) < 1.0
    assert sum(one >= 0.5 for one in bare) <= 5
