import re
from xml.etree import ElementTree

import pytest

from gaiter.core.draw.leg_drawing import leg_drawing
from gaiter.core.draw.profile import applied_profile, pressure_profile
from gaiter.core.draw.surface_drawing import surface_map
from gaiter.core.draw.trend import trend_drawing
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Plan, plan
from gaiter.core.plan.rebuilt import bandaged_leg_of
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case, case_mapping

NS = {"svg": "http://www.w3.org/2000/svg"}


@pytest.fixture(scope="module")
def made() -> Plan:
    both = case(**{"legs.left": case_mapping()["legs"]["right"]})
    return plan(both, shipped_policy(), shipped_catalogue(), samples=256)


def parsed(drawing) -> ElementTree.Element:
    return ElementTree.fromstring(drawing.to_text())


def test_every_turn_is_numbered_in_a_view_that_shows_it(made: Plan) -> None:
    leg = made.legs[Side.RIGHT]
    drawn = parsed(leg_drawing(leg, leg.systems[0], bandaged_leg_of(leg)))
    words = [e.text or "" for e in drawn.iter("{http://www.w3.org/2000/svg}text")]
    turns = max(layer.turns for layer in leg.systems[0].layers if layer.presses)
    numbers = {int(word) for word in words if word.isdigit()}
    assert numbers == set(range(1, turns + 1))


def test_landmarks_carry_their_girth_with_its_unit(made: Plan) -> None:
    leg = made.legs[Side.RIGHT]
    text = leg_drawing(leg, leg.systems[0], bandaged_leg_of(leg)).to_text()
    assert "ankle 22.5 cm" in text
    assert "calf 37.0 cm" in text


def test_toes_of_a_right_leg_point_left_seen_from_the_inner_side(made: Plan) -> None:
    """And a left leg is the mirror image: its labels are on the other side."""
    right, left = made.legs[Side.RIGHT], made.legs[Side.LEFT]
    ends = [
        e.get("text-anchor")
        for leg in (right, left)
        for e in parsed(leg_drawing(leg, leg.systems[0], bandaged_leg_of(leg))).iter(
            "{http://www.w3.org/2000/svg}text"
        )
        if (e.text or "").startswith("calf")
    ]
    assert ends == ["start", "end"]


def test_profile_says_in_words_what_it_shows(made: Plan) -> None:
    leg = made.legs[Side.RIGHT]
    root = parsed(pressure_profile(leg, leg.systems[0]))
    words = root.find("svg:desc", NS)
    assert words is not None
    for site in leg.systems[0].sites:
        assert f"{site.landmark.label}: likely {site.median_mmhg:.0f} mmHg" in (words.text or "")
    assert "Maximum at the gaiter 60 mmHg" in (words.text or "")
    labels = [e.text for e in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "pressure, mmHg" in labels
    assert "maximum 60, full" in labels


def test_profile_places_pressure_to_scale(made: Plan) -> None:
    """The gaiter's disc stands at its median between the axis ticks."""
    leg = made.legs[Side.RIGHT]
    root = parsed(pressure_profile(leg, leg.systems[0]))
    texts = {e.text: float(e.get("x", "0")) for e in root.iter("{http://www.w3.org/2000/svg}text")}
    per_mmhg = (texts["40"] - texts["0"]) / 40
    gaiter = next(s for s in leg.systems[0].sites if s.landmark is Landmark.GAITER)
    expected = texts["0"] + gaiter.median_mmhg * per_mmhg
    circles = [float(c.get("cx", "0")) for c in root.iter("{http://www.w3.org/2000/svg}circle")]
    assert min(abs(x - expected) for x in circles) < 0.02


def test_same_plan_same_bytes_and_no_colour_alone(made: Plan) -> None:
    leg = made.legs[Side.RIGHT]
    once, again = (
        leg_drawing(leg, leg.systems[0], bandaged_leg_of(leg)).to_text() for _ in range(2)
    )
    assert once == again
    assert not re.search(r"\d\.\d{3,}", once)


def test_unrolled_map_marks_every_pressure_point_and_tells_it_in_words(made: Plan) -> None:
    leg = made.legs[Side.RIGHT]
    system = leg.systems[0]
    root = parsed(surface_map(leg, system, bandaged_leg_of(leg), made.theory_remainder))
    words = (root.find("svg:desc", NS).text or "") if root.find("svg:desc", NS) is not None else ""
    labels = {e.text for e in root.iter("{http://www.w3.org/2000/svg}text")}
    assert system.pressure_points
    for number, point in enumerate(system.pressure_points, start=1):
        assert str(number) in labels
        assert f"{number} {point.place}: likely {point.median_mmhg:.0f} mmHg" in words
    assert {"front", "inner", "outer", "back", "ankle", "gaiter"} <= labels


def test_unrolled_map_of_a_left_leg_is_mirrored(made: Plan) -> None:
    def sides(side: Side) -> list[str]:
        leg = made.legs[side]
        root = parsed(surface_map(leg, leg.systems[0], bandaged_leg_of(leg), 0.93))
        texts = {e.text: float(e.get("x", "0")) for e in root.iter(
            "{http://www.w3.org/2000/svg}text")}  # fmt: skip
        return sorted(("inner", "outer", "front"), key=lambda name: texts[name])

    assert sides(Side.RIGHT) == ["outer", "front", "inner"]
    assert sides(Side.LEFT) == ["inner", "front", "outer"]


def test_a_stopped_leg_cannot_be_drawn(made: Plan) -> None:
    stopped = made.legs[Side.RIGHT].model_copy(update={"surface": None})
    with pytest.raises(ValueError, match="holds no surface"):
        bandaged_leg_of(stopped)


def test_a_trend_shows_every_value_and_starts_at_zero() -> None:
    text = trend_drawing([8.4, 6.0, 3.5], "mean off, mmHg", "attempt").to_text()
    assert text.count("<circle") == 3
    for shown in (">8<", ">6<", ">4<", ">0<", "mean off, mmHg, by attempt: 1: 8, 2: 6, 3: 4"):
        assert shown in text


def test_many_or_large_values_keep_their_axis_readable() -> None:
    text = trend_drawing([0.0] * 40 + [180.0], "off, mmHg", "attempt").to_text()
    assert ">200<" in text
    assert text.count('text-anchor="middle"') < 40


def test_the_applied_profile_tells_plan_and_bandage_apart_without_colour() -> None:
    from gaiter.core.applied.judge import applied_pressure
    from tests.core.applied.applied_plan import marks_cm, plan, readings

    made = applied_pressure(plan(), readings([marks_cm(), marks_cm() - 1, marks_cm() - 1]))
    text = applied_profile(next(iter(plan().legs.values())), made).to_text()
    # Squares for the bandage and rings for the plan, one of each a site and one in the key.
    assert text.count('height="8"') == len(made.sites) + 1
    assert text.count("<circle") == len(made.sites) + 1
    for site in made.sites:
        assert f"{site.landmark.label}: likely {site.median_mmhg:.0f} mmHg" in text
        assert f"planned {site.planned_mmhg:.0f}" in text
