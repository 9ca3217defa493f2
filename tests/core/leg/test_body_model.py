"""What the body model promises: names once, angles on the right side, shares that can be."""

import pytest

from gaiter.core.landmark import Landmark
from gaiter.core.leg.body_model import BONY_PLACES
from gaiter.core.plan.pads import OVERSTATED_PLACES

AT = {place.name: place for place in BONY_PLACES}


def test_every_bony_place_has_a_name_of_its_own() -> None:
    assert len(AT) == len(BONY_PLACES)
    # Judged apart from reading sites, so never named like one.
    assert not set(AT) & {landmark.label for landmark in Landmark}
    assert {*AT, Landmark.INSTEP.label} >= OVERSTATED_PLACES


@pytest.mark.parametrize(
    ("name", "inner"),
    [
        ("inner ankle bone", True), ("outer ankle bone", False), ("first metatarsal head", True),
        ("fifth metatarsal head", False), ("base of the fifth metatarsal", False),
        ("fibular neck", False),
    ],
)  # fmt: skip
def test_inner_places_stand_on_the_inner_side(name: str, inner: bool) -> None:
    """Plus 90 degrees is the inner side; the fibula and the fifth ray are outer."""
    assert (AT[name].angle_deg > 0) is inner
    assert 45 < abs(AT[name].angle_deg) < 135


def test_the_outer_ankle_bone_stands_lower_and_farther_back_than_the_inner() -> None:
    """Anatomy: the tip of the fibula is about 1 cm lower and behind the tibia's."""
    inner, outer = AT["inner ankle bone"], AT["outer ankle bone"]
    assert outer.offset_cm < inner.offset_cm < 0
    assert abs(outer.angle_deg) > abs(inner.angle_deg)


def test_the_tendon_and_the_heel_are_at_the_back_and_the_shin_in_front() -> None:
    assert AT["Achilles tendon"].angle_deg == AT["heel"].angle_deg == 180
    assert abs(AT["shin edge"].angle_deg) < 45
    assert abs(AT["front ankle tendon"].angle_deg) < 45


def test_sizes_are_those_of_bumps() -> None:
    for place in BONY_PLACES:
        assert 0 <= place.height_cm <= 1
        assert 5 <= place.half_angle_deg <= 25
        assert place.half_length_cm > 0
