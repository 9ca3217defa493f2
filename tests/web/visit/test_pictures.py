"""The leg drawn as it was measured, and as it was before."""

from gaiter.operations.demo.people import ORDINARY
from gaiter.web.visit.pictures import completed, measured, outline, outline_then_and_now

THINNER = {**ORDINARY, "leg.girth_cm.ankle": ORDINARY["leg.girth_cm.ankle"] - 2.0}


def test_only_what_shapes_a_leg_is_drawn_from() -> None:
    shape = dict(measured({**ORDINARY, "leg.wound.place": "shin", "leg.girth_cm.calf": None}))
    assert "leg.girth_cm.ankle" in shape
    assert "leg.girth_cm.calf" not in shape
    assert all("wound" not in path for path in shape)


def test_a_leg_of_which_too_little_is_measured_has_no_picture() -> None:
    some = {"leg.girth_cm.ankle": 23.5}
    assert completed(measured(some)) is None
    assert outline("right", measured(some)) == ""
    assert outline_then_and_now("right", [("first", some)]) == ""


def test_girths_of_several_visits_make_one_leg() -> None:
    ankle = {"leg.girth_cm.ankle": ORDINARY["leg.girth_cm.ankle"]}
    rest = {path: value for path, value in ORDINARY.items() if path not in ankle}
    both = outline_then_and_now("right", [("first", ankle), ("second", rest)])
    assert both == outline("right", measured(ORDINARY))


def test_a_changed_leg_is_drawn_over_the_broken_line_of_the_first() -> None:
    changed = outline_then_and_now("right", [("first", ORDINARY), ("second", THINNER)])
    assert changed != outline("right", measured(THINNER))
    assert changed == outline("right", measured(THINNER), measured(ORDINARY))
    same = outline_then_and_now("right", [("first", ORDINARY), ("second", ORDINARY)])
    assert same == outline("right", measured(ORDINARY))


def test_a_caliper_changes_the_drawing_once_both_are_there() -> None:
    # 6 by 9 cm are 23.8 cm round, where the tape read 23.5.
    width = {"leg.width_cm.ankle": 6.0}
    both = {**width, "leg.depth_cm.ankle": 9.0}
    assert outline("right", measured({**ORDINARY, **both})) != outline("right", measured(ORDINARY))
    half = {**ORDINARY, **width, "leg.depth_cm.ankle": None, "leg.depth_cm.calf": 12.0}
    assert outline("right", measured(half)) == outline("right", measured(ORDINARY)) != ""
