"""Names of places, each zone and side once, and where a wound's name stands."""

import numpy as np
import pytest

from gaiter.core.case import Sex
from gaiter.core.case.findings import WoundPlace
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.places import name_at, place_name, place_names, wound_at, wound_on_chart
from tests.core.bandage.test_path import cylinder
from tests.strategies import percentile_leg

L = Landmark
PLACES = {
    L.METATARSAL_HEADS: 2.0, L.INSTEP: 8.0, L.HEEL_INSTEP: 14.0, L.ANKLE: 20.0, L.GAITER: 26.0,
    L.CALF: 32.0, L.BELOW_KNEE: 38.0,
}  # fmt: skip


@pytest.fixture(scope="module")
def surface():
    return cylinder(landmarks=PLACES)


@pytest.mark.parametrize(
    ("s_cm", "degrees", "name"),
    [
        # Each zone ends at its landmark.
        (7.9, 0, "top of the forefoot"),
        (8.0, 0, "top of the midfoot"),
        (14.0, 0, "front of the ankle"),
        (19.9, 0, "front of the ankle"),
        (20.0, 0, "front of the gaiter area"),
        (26.0, 0, "front of the calf"),
        (32.0, 0, "front of the leg below the knee"),
        (39.0, 0, "front of the leg below the knee"),
        # Sides by 45 and 135 degrees; the inner side is positive.
        (28.0, 45, "front of the calf"),
        (28.0, 46, "inner side of the calf"),
        (28.0, 135, "inner side of the calf"),
        (28.0, 136, "back of the calf"),
        (28.0, -46, "outer side of the calf"),
        (28.0, 270, "outer side of the calf"),
        (28.0, 400, "front of the calf"),
        (5.0, 180, "sole of the forefoot"),
        # The heel reaches 4.5 cm along the back about the heel-instep plane.
        (14.0, 180, "heel"),
        (9.6, 180, "heel"),
        (18.4, -140, "heel"),
        (9.4, 180, "sole of the midfoot"),
        (18.6, 180, "back of the ankle"),
        (14.0, 135, "hollow behind the inner ankle bone"),
        # Behind the ankle bones between 105 and 160 degrees.
        (18.0, 106, "hollow behind the inner ankle bone"),
        (18.0, 105, "inner side of the ankle"),
        (19.0, -159, "hollow behind the outer ankle bone"),
        (19.0, -160, "back of the ankle"),
        (22.0, 120, "inner side of the gaiter area"),
    ],
)
def test_every_zone_and_side_has_its_name(surface, s_cm: float, degrees: float, name: str) -> None:
    assert name_at(surface, s_cm, np.deg2rad(degrees)) == name


def test_cells_are_named_by_their_middle_also_across_the_front_line(surface) -> None:
    cells = np.zeros(surface.section_cm.shape[1:], bool)
    cells[205:215, :6] = cells[205:215, -6:] = True
    assert place_name(surface, cells) == "front of the calf"
    cells[:] = False
    cells[205:215, 20:28] = True
    assert place_name(surface, cells) == "inner side of the calf"


@pytest.mark.parametrize(
    ("place", "s_cm", "degrees"),
    [
        # 2 cm under the smallest girth, beside the ankle bones.
        (WoundPlace.INNER_ANKLE, 18, 100),
        (WoundPlace.OUTER_ANKLE, 18, -105),
        (WoundPlace.GAITER, 26, 90),
        (WoundPlace.SHIN, 28, 10),
        (WoundPlace.CALF, 28, 180),
        (WoundPlace.ACHILLES, 20, 180),
        (WoundPlace.HEEL, 14, 180),
        (WoundPlace.TOP_OF_FOOT, 8, 0),
        (WoundPlace.SOLE, 8, 180),
        (WoundPlace.TOE, 2, 0),
    ],
)
def test_a_wound_stands_where_its_name_says(surface, place, s_cm: float, degrees: float) -> None:
    s, angle = wound_on_chart(surface, place)
    assert (s, np.rad2deg(angle)) == pytest.approx((s_cm, degrees))
    point = wound_at(surface, place)
    radians = np.deg2rad(degrees)
    # The nearest column is within 1.9 degrees, 0.13 cm on a radius of 4.
    assert point == pytest.approx([4 * np.cos(radians), 4 * np.sin(radians), s_cm], abs=0.14)


def test_every_place_of_a_wound_has_a_place_on_the_chart(surface) -> None:
    assert all(wound_on_chart(surface, place)[0] >= 2 for place in WoundPlace)


def test_every_name_is_in_the_list_and_nothing_else() -> None:
    """A point for every centimetre and every five degrees meets every name there is."""
    surface = leg_surface(percentile_leg(Sex.FEMALE, 1))
    heights = np.arange(surface.s_cm[0], surface.s_cm[-1] + 4, 1.0)
    found = {name_at(surface, s, np.deg2rad(d)) for s in heights for d in range(-180, 180, 5)}
    assert found == set(place_names())
    assert len(place_names()) == 1 + 2 + 6 * 4
