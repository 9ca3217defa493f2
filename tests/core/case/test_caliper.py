"""Width and depth of a leg: both of a place or neither, and what a leg can have."""

import math

import pytest
from pydantic import ValidationError

from gaiter.core.case import SafetyCase
from gaiter.core.case.caliper import Depths, Widths, require_both
from gaiter.core.case.leg import KnownGirths
from gaiter.core.errors import FieldError
from tests.strategies import case, case_mapping

# Depth over width of real legs: 1.46 at the ankle, 1.04 at the calf.
MEAN_RATIO = {"ankle": 1.46, "calf": 1.04}


def girth_cm(width: float, depth: float) -> float:
    """Ramanujan 1914: closer than 0.1 mm for such ellipses."""
    a, b = width / 2, depth / 2
    return math.pi * (3 * (a + b) - math.sqrt((3 * a + b) * (a + 3 * b)))


def allowed(record: type, site: str) -> tuple[float, float]:
    """Allowed range as the record's JSON Schema says."""
    node = record.model_json_schema()["properties"][site]["anyOf"][0]
    return node["minimum"], node["maximum"]


@pytest.mark.parametrize("site", list(Widths.model_fields))
def test_every_girth_that_is_allowed_has_its_width_and_depth_on_flat_and_deep_legs(site) -> None:
    """A leg a third flatter or deeper than the mean is allowed, one half outside again is not."""
    girths = allowed(KnownGirths, site)
    width, depth = allowed(Widths, site), allowed(Depths, site)
    ratios = MEAN_RATIO[site] / (4 / 3), MEAN_RATIO[site] * 4 / 3
    widths = [girth / girth_cm(1, ratio) for girth in girths for ratio in ratios]
    depths = [girth * ratio / girth_cm(1, ratio) for girth in girths for ratio in ratios]
    for found, (low, high) in ((widths, width), (depths, depth)):
        # Rounded outwards to the half centimetre or a little more, never by a fifth.
        assert 0.8 * min(found) < low <= min(found)
        assert max(found) <= high < 1.2 * max(found)


@pytest.mark.parametrize(
    ("given", "lacking"),
    [
        ("width_cm.ankle", "depth_cm.ankle"),
        ("depth_cm.ankle", "width_cm.ankle"),
        ("width_cm.calf", "depth_cm.calf"),
        ("depth_cm.calf", "width_cm.calf"),
    ],
)
def test_one_alone_is_refused_and_the_other_named(given: str, lacking: str) -> None:
    with pytest.raises(ValidationError, match=f"{lacking} is required beside {given}: measure it"):
        case(**{f"legs.right.{given}": 9.0})


def test_a_width_at_one_place_does_not_go_with_a_depth_at_another() -> None:
    with pytest.raises(FieldError, match="is required beside") as refused:
        require_both(Widths(ankle=6.0), Depths(calf=12.0))
    assert (refused.value.path, refused.value.missing) == ("depth_cm.ankle", True)


def test_a_place_may_have_both_and_another_neither() -> None:
    leg = case(**{"legs.right.width_cm.ankle": 6.0, "legs.right.depth_cm.ankle": 8.0}).legs["right"]
    assert (leg.width_cm.ankle, leg.depth_cm.ankle, leg.width_cm.calf) == (6.0, 8.0, None)


def test_the_decision_does_not_wait_for_the_other_one() -> None:
    half = SafetyCase.model_validate(case_mapping(**{"legs.right.width_cm.ankle": 6.0}))
    assert half.legs["right"].width_cm.ankle == 6.0


@pytest.mark.parametrize("value", ["6", True, float("nan"), 62.0, 0.0])
def test_what_is_no_width_is_refused(value: object) -> None:
    with pytest.raises(ValidationError, match="ankle"):
        Widths.model_validate({"ankle": value})
