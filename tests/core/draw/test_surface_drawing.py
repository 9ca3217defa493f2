"""The unrolled leg: what is marked, told in words and mirrored."""

from pathlib import Path

from gaiter.core.draw.palette import pressure_colours
from gaiter.core.draw.surface_drawing import _x, _y, surface_map
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import plan
from gaiter.core.plan.pressures import Bridged, Gap
from gaiter.core.plan.rebuilt import bandaged_leg_of, padded_leg_of
from gaiter.files.case_file import read_case
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.core.draw.drawn import SVG, both_legs, described, parsed

INNER_ANKLE = Path(__file__).parents[3] / "examples/inner-ankle-ulcer.toml"


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


def test_the_shade_at_the_gaiter_is_that_of_the_plans_likely_pressure() -> None:
    """Layers are not drawn as their plain sum.

    Zinc paste and its cover: 61 mmHg round the limb x the remainder's 0.88 x about 0.86 at the
    inner side are 45 mmHg, where the plan says 32.
    """
    made = plan(
        read_case(INNER_ANKLE), shipped_policy(), shipped_catalogue(),
        systems=frozenset({"zinc_paste_covered"}),
    )  # fmt: skip
    leg = made.legs[Side.RIGHT]
    system, bandaged_leg = leg.systems[0], bandaged_leg_of(leg)
    site = next(one for one in system.sites if one.landmark is Landmark.GAITER)
    assert 30 < site.median_mmhg < 35
    root = parsed(surface_map(leg, system, bandaged_leg, made.remainder_of(system)))
    surface = padded_leg_of(bandaged_leg, system).surface
    x, y = _x(90, Side.RIGHT), _y(surface, surface.landmark_s_cm[Landmark.GAITER])
    fills = [
        one.get("fill")
        for one in root.iter(f"{SVG}rect")
        if 0 <= x - float(one.get("x")) <= float(one.get("width"))
        and 0 <= y - float(one.get("y")) <= float(one.get("height"))
    ]
    shades = pressure_colours(6)
    # The maximum of bony places, 111 mmHg, in six shades of 20 mmHg: 20 to 40 is the second.
    assert shades[1] in fills
    assert shades[2] not in fills
