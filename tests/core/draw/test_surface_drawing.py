"""The unrolled leg: what is marked, told in words and mirrored."""

from gaiter.core.draw.surface_drawing import surface_map
from gaiter.core.landmark import Side
from gaiter.core.plan.document import Bridged, Gap
from gaiter.core.plan.rebuilt import bandaged_leg_of
from tests.core.draw.drawn import SVG, both_legs, described, parsed


def test_unrolled_map_marks_every_pressure_point_and_tells_it_in_words() -> None:
    leg = both_legs().legs[Side.RIGHT]
    system = leg.systems[0]
    root = parsed(surface_map(leg, system, bandaged_leg_of(leg), both_legs().theory_remainder))
    words = (root.find(f"{SVG}desc").text or "") if root.find(f"{SVG}desc") is not None else ""
    labels = {e.text for e in root.iter(f"{SVG}text")}
    assert system.pressure_points
    for number, point in enumerate(system.pressure_points, start=1):
        assert str(number) in labels
        assert f"{number} {point.place}: likely {point.median_mmhg:.0f} mmHg" in words
    assert {"front", "inner", "outer", "back", "ankle", "gaiter"} <= labels


def test_unrolled_map_of_a_left_leg_is_mirrored() -> None:
    def sides(side: Side) -> list[str]:
        leg = both_legs().legs[side]
        root = parsed(surface_map(leg, leg.systems[0], bandaged_leg_of(leg), 0.93))
        texts = {e.text: float(e.get("x", "0")) for e in root.iter(
            f"{SVG}text")}  # fmt: skip
        return sorted(("inner", "outer", "front"), key=lambda name: texts[name])

    assert sides(Side.RIGHT) == ["outer", "front", "inner"]
    assert sides(Side.LEFT) == ["inner", "front", "outer"]


def test_hollows_and_bare_skin_are_told_with_their_sizes() -> None:
    leg = both_legs().legs[Side.RIGHT]
    changes = {
        "pressure_points": (),
        "bridged": (Bridged(place="hollow behind the ankle", area_cm2=3.0, depth_mm=4.4),),
        "gaps": (Gap(place="heel", area_cm2=2.6, fault=True),),
    }
    system = leg.systems[0].model_copy(update=changes)
    assert described(surface_map(leg, system, bandaged_leg_of(leg), 0.92)) == (
        "Pressure points: none. Spanned hollows: hollow behind the ankle, 4 mm deep. "
        "Bare skin: heel, 3 cm²."
    )
