"""What a caliper changes of a leg, and when it is questioned."""

import math

import numpy as np
import pytest

from gaiter.core.case import MeasuredLeg
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.caliper import caliper_questions, depth_over_width, ellipse_girth_cm
from gaiter.core.leg.completion import complete_measurements
from tests.strategies import case

SITES = (Landmark.ANKLE, Landmark.CALF)


def leg(**taken: tuple[float, float]) -> MeasuredLeg:
    """The usual leg, ankle 22.5 cm and calf 37 cm, with (width, depth) at some places."""
    changes = {}
    for site, (width, depth) in taken.items():
        changes[f"legs.right.width_cm.{site}"] = width
        changes[f"legs.right.depth_cm.{site}"] = depth
    return case(**changes).legs["right"]


def drawn_ratio(measured: MeasuredLeg, site: Landmark) -> float:
    """Depth over width of the surface, by its farthest points."""
    surface = leg_surface(complete_measurements(measured).measurements)
    ring = int(np.argmin(abs(surface.s_cm - surface.landmark_s_cm[site])))
    depth, width = np.ptp(surface.section_cm[:, ring], axis=1)
    return float(depth / width)


@pytest.mark.parametrize("width", [4.0, 8.0, 9.9, 12.0])
def test_girth_of_an_ellipse_is_the_length_of_a_polygon_with_many_corners(width: float) -> None:
    turn = np.linspace(0, 2 * np.pi, 20_001)
    points = np.stack([width / 2 * np.cos(turn), 8.0 / 2 * np.sin(turn)])
    length = np.linalg.norm(np.diff(points), axis=0).sum()
    # A polygon of 20 000 corners falls short by less than 1e-6 cm.
    assert ellipse_girth_cm(width, 8.0) == pytest.approx(length, abs=1e-5)


def test_girth_of_a_flat_ellipse_is_twice_its_length() -> None:
    assert ellipse_girth_cm(1e-6, 10.0) == pytest.approx(20.0, abs=1e-3)


def test_ratios_are_depth_over_width_where_both_were_taken() -> None:
    assert depth_over_width(leg(ankle=(6.0, 8.4))) == {Landmark.ANKLE: pytest.approx(1.4)}
    assert depth_over_width(leg()) == {}
    both = complete_measurements(leg(ankle=(6.0, 8.4), calf=(12.0, 11.4))).measurements
    assert both.depth_over_width == {
        Landmark.ANKLE: pytest.approx(1.4), Landmark.CALF: pytest.approx(0.95),
    }  # fmt: skip


@pytest.mark.parametrize("site", SITES)
def test_the_leg_is_drawn_towards_the_caliper_and_no_girth_moves(site: Landmark) -> None:
    """The surface takes most of what the caliper found, as its own error is small, 2 %."""
    plain = drawn_ratio(leg(), site)
    girth = leg().girth_cm.at(site)
    for change in (0.94, 1.06):
        # Width and depth of an ellipse of this ratio and the tape's girth.
        ratio = plain * change
        width = girth / ellipse_girth_cm(1, ratio)
        measured = leg(**{site.value: (width, ratio * width)})
        moved = (drawn_ratio(measured, site) / plain - 1) / (change - 1)
        assert 0.5 < moved < 1.2
        surface = leg_surface(complete_measurements(measured).measurements)
        # Half a millimetre on the tape: what the surface promises of a measured girth.
        assert surface.girth_at_cm(site) == pytest.approx(girth, abs=0.05)


@pytest.mark.parametrize(("share", "asked"), [(0.84, 1), (0.86, 0), (1.0, 0), (1.14, 0), (1.16, 1)])
def test_a_caliper_beyond_15_percent_of_the_tape_is_questioned(share: float, asked: int) -> None:
    """On a circle the girth is pi times the width."""
    across = share * 37.0 / math.pi
    questions = list(caliper_questions(leg(calf=(across, across))))
    assert [question.code for question in questions] == ["wild_caliper"] * asked


def test_the_question_names_all_three_numbers() -> None:
    # 5 pi is 15.7 cm.
    [question] = complete_measurements(leg(ankle=(5.0, 5.0))).questions
    assert question.text == (
        "width 5 cm and depth 5 cm of the ankle make a girth of about 16 cm, where the tape read "
        "22.5 cm: measure all three again"
    )
