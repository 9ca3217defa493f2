from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from gaiter.core.bandage.wool import LEAST_ANKLE_CM, Build, build_for, wool_build
from gaiter.core.case.person import Sex
from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.surface import Surface
from gaiter.core.leg.tube import round_limb
from gaiter.core.plan import plan
from gaiter.core.policy import Policy
from tests.core.bandage.test_path import cylinder
from tests.strategies import case, percentile_leg

EVEN, LAYER = 0.28, 0.28


def thin_leg():
    measured = percentile_leg(Sex.FEMALE, 0)
    girth = {**measured.girth_cm, Landmark.ANKLE: 15.5, Landmark.GAITER: 18.0}
    return leg_surface(replace(measured, girth_cm=girth))


def test_a_thin_ankle_is_built_up_to_18_cm() -> None:
    bare = thin_leg()
    built = wool_build(Build.THIN_ANKLE, bare, EVEN, LAYER, 10.0)
    padded = bare.padded(EVEN + built.extra_cm)
    # This leg is narrowest a centimetre above its ankle; below it the foot begins.
    on_leg = bare.s_cm >= bare.landmark_s_cm[Landmark.ANKLE]
    assert padded.girth_cm[on_leg].min() == pytest.approx(LEAST_ANKLE_CM, abs=0.05)
    assert LEAST_ANKLE_CM <= padded.girth_at_cm(Landmark.ANKLE) < LEAST_ANKLE_CM + 0.5
    assert built.turns > 0
    assert "tape reads 18 cm" in built.text
    assert built.extra_cm[-1] == pytest.approx(0, abs=0.01)


def test_an_inverted_bottle_becomes_a_cone() -> None:
    bare = thin_leg()
    built = wool_build(Build.CONE, bare, EVEN, LAYER, 10.0)
    padded = bare.padded(EVEN + built.extra_cm)
    ankle, gaiter, calf = (
        padded.girth_at_cm(m) for m in (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF)
    )
    places = bare.landmark_s_cm
    way = (places[Landmark.GAITER] - places[Landmark.ANKLE]) / (
        places[Landmark.CALF] - places[Landmark.ANKLE]
    )
    straight = ankle + way * (calf - ankle)
    before = bare.girth_at_cm(Landmark.GAITER) + 2 * np.pi * EVEN
    # Most of the hollow is filled; what is left is the largest build and the smoothing.
    assert abs(straight - gaiter) < 0.35 * abs(straight - before) + 0.5


def test_an_ordinary_ankle_needs_no_build() -> None:
    bare = leg_surface(percentile_leg(Sex.MALE, 1))
    assert build_for(case().legs[Side.RIGHT], bare, EVEN) is Build.EVEN
    assert not wool_build(Build.EVEN, bare, EVEN, LAYER, 10.0).extra_cm.any()


def test_a_leg_that_needs_too_much_wool_says_how_much_is_missing() -> None:
    bare = thin_leg()
    bottle = replace(bare, section_cm=bare.section_cm * np.where(bare.s_cm < 30, 0.6, 1.6)[:, None])
    assert wool_build(Build.CONE, bottle, 0.0, LAYER, 10.0).short_cm > 0


# --- on a cylinder, in closed form ----------------------------------------------------------

PLACES = {
    Landmark.METATARSAL_HEADS: 1.0, Landmark.INSTEP: 3.0, Landmark.HEEL_INSTEP: 5.0,
    Landmark.ANKLE: 10.0, Landmark.GAITER: 16.0, Landmark.CALF: 28.0, Landmark.BELOW_KNEE: 38.0,
}  # fmt: skip


def straight(girth_cm: float):
    """A leg of one girth from end to end."""
    return cylinder(girth_cm / (2 * np.pi), landmarks=PLACES)


def conical(ankle_cm: float, calf_cm: float):
    """A leg whose girth grows from ankle to calf, 18 cm higher, evenly."""
    unit = cylinder(1.0, landmarks=PLACES)
    way = np.clip((unit.s_cm - 10) / 18, 0, 1)
    girth = ankle_cm + (calf_cm - ankle_cm) * way
    return replace(unit, section_cm=unit.section_cm * girth[:, None] / (2 * np.pi))


@pytest.mark.parametrize(("girth", "build"), [(18.1, Build.EVEN), (17.9, Build.THIN_ANKLE)])
def test_an_ankle_under_18_cm_over_its_wool_is_thin(girth: float, build: Build) -> None:
    leg = case().legs[Side.RIGHT]
    assert build_for(leg, straight(girth), 0.0) is build
    # A wool of 5 mm adds 3.14 cm to the tape.
    assert build_for(leg, straight(girth - 3.14), 0.5) is build


def square(side_cm: float) -> Surface:
    """A leg with four corners, whose girth is four sides to the last digit."""
    tube = straight(16.0)
    corners = side_cm / 2 * np.array([[1.0, 1.0, -1.0, -1.0], [-1.0, 1.0, 1.0, -1.0]])
    return replace(tube, section_cm=np.tile(corners[:, None], (1, len(tube.s_cm), 1)))


def test_an_ankle_of_18_cm_is_not_thin() -> None:
    """What is built up to 18 cm is not built up once more."""
    leg = case().legs[Side.RIGHT]
    assert square(4.5).girth_at_cm(Landmark.ANKLE) == 18
    assert build_for(leg, square(4.5), 0.0) is Build.EVEN
    assert build_for(leg, square(4.49), 0.0) is Build.THIN_ANKLE


def test_wool_does_not_ask_where_the_chart_begins() -> None:
    """The same leg, told from 20 cm higher: nothing about its wool changes."""
    bare = conical(16.0, 16.0)
    further = replace(
        bare,
        s_cm=bare.s_cm + 20,
        landmark_s_cm={place: s + 20 for place, s in PLACES.items()},
    )
    one, other = (wool_build(Build.THIN_ANKLE, b, 0.0, 0.28, 10.0) for b in (bare, further))
    assert other.extra_cm == pytest.approx(one.extra_cm, abs=1e-9)
    assert (other.turns, other.text) == (one.turns, one.text)


@pytest.mark.parametrize("shape", ["inverted bottle", "column"])
def test_a_bottle_and_a_column_become_a_cone_at_any_girth(shape: str) -> None:
    leg = case(**{"legs.right.findings.shape": shape}).legs[Side.RIGHT]
    for girth in (16.0, 25.0):
        assert build_for(leg, straight(girth), 0.28) is Build.CONE


def test_a_thin_straight_leg_is_built_up_by_what_is_missing_over_2_pi() -> None:
    """16 cm on the skin: 2 cm missing are 0.318 cm of wool, from 2 cm below the ankle upwards."""
    bare = straight(16.0)
    built = wool_build(Build.THIN_ANKLE, bare, 0.0, 0.28, 10.0)
    at = {s: float(np.interp(s, bare.s_cm, built.extra_cm)) for s in (1.0, 10.0, 20.0, 39.0)}
    # The 96 edges of the section are 0.003 cm shorter than the circle.
    assert [at[10.0], at[20.0], at[39.0]] == pytest.approx([2 / (2 * np.pi)] * 3, abs=1e-3)
    assert at[1.0] == pytest.approx(0, abs=2e-3)
    # Two layers of 0.28; built over about 36 cm, that is 7 turns 5 cm apart, twice.
    assert built.turns == 14
    assert built.short_cm == 0
    assert built.text.text == (
        "Build up with wool round the ankle, about 14 turns, until the tape reads 18 cm at the "
        "ankle; measure again."
    )


def test_wool_under_it_counts() -> None:
    """An even 2 mm adds 1.26 cm: of 2 cm missing 0.74 are left, 0.118 cm of wool, one layer."""
    built = wool_build(Build.THIN_ANKLE, straight(16.0), 0.2, 0.28, 10.0)
    assert built.extra_cm.max() == pytest.approx(2 / (2 * np.pi) - 0.2, abs=2e-3)
    assert built.turns == 7


def test_a_layer_that_fits_exactly_is_one_layer() -> None:
    bare = straight(16.0)
    most = float(wool_build(Build.THIN_ANKLE, bare, 0.0, 0.28, 10.0).extra_cm.max())
    assert wool_build(Build.THIN_ANKLE, bare, 0.0, most, 10.0).turns == 7
    assert wool_build(Build.THIN_ANKLE, bare, 0.0, 0.999 * most, 10.0).turns == 14


def test_wool_is_not_built_up_beyond_two_centimetres_and_what_is_missing_is_said() -> None:
    """18 cm less 2 x 2 pi are 5.43 cm: a leg of 4.43 cm stays 1 cm short."""
    built = wool_build(Build.THIN_ANKLE, straight(18 - 4 * np.pi - 1), 0.0, 0.28, 10.0)
    assert built.extra_cm.max() == pytest.approx(2.0, abs=1e-6)
    assert built.short_cm == pytest.approx(1.0, abs=2e-3)


@pytest.mark.parametrize("kind", [Build.THIN_ANKLE, Build.CONE])
def test_a_leg_that_is_right_already_and_wool_without_thickness_build_nothing(kind) -> None:
    for bare, layer_cm in ((straight(20.0), 0.28), (straight(16.0), 0.0)):
        built = wool_build(kind, bare, 0.0, layer_cm, 10.0)
        assert (built.kind, built.turns, built.text.text) == (Build.EVEN, 0, "")
        assert built.short_cm == 0
        assert not built.extra_cm.any()


def test_a_hollow_under_the_straight_line_is_filled_and_nothing_else() -> None:
    """A cone from 20 to 30 cm with 1 cm of girth taken away half-way up."""
    bare = conical(20.0, 30.0)
    dip = 1 / (2 * np.pi) * np.exp(-(((bare.s_cm - 19) / 2) ** 2))
    radius = np.hypot(*bare.section_cm)
    hollow = replace(bare, section_cm=bare.section_cm * (1 - dip[:, None] / radius))
    built = wool_build(Build.CONE, hollow, 0.0, 0.05, 10.0)
    at = {s: float(np.interp(s, bare.s_cm, built.extra_cm)) for s in (8.0, 19.0, 29.5, 35.0)}
    assert at[19.0] == pytest.approx(1 / (2 * np.pi), abs=0.01)
    assert [at[8.0], at[29.5], at[35.0]] == pytest.approx([0, 0, 0], abs=0.005)
    assert "between ankle and calf" in built.text
    assert "joined by a straight line, a cone" in built.text


def test_a_cone_starts_from_an_ankle_of_18_cm() -> None:
    """A straight 16 cm leg: its cone runs from 18 at the ankle to 16 at the calf."""
    bare = straight(16.0)
    built = wool_build(Build.CONE, bare, 0.0, 0.28, 10.0)
    at = {s: float(np.interp(s, bare.s_cm, built.extra_cm)) for s in (9.0, 10.0, 33.0)}
    # Widened and smoothed over 3 cm it is the ankle's own from below it to a little above.
    assert at[9.0] == pytest.approx(2 / (2 * np.pi), rel=0.03)
    assert at[33.0] == pytest.approx(0, abs=0.005)


def rising(s_cm: np.ndarray, edge_cm: float) -> np.ndarray:
    """A step smoothed over 1.5 cm, from 0 to 1: the normal distribution about it."""
    return norm.cdf((s_cm - edge_cm) / 1.5)


def test_wool_thins_out_below_where_it_is_needed() -> None:
    """Needed from 8 cm up, on rings 0.134 cm apart from 8.03; 22 rings wider, 6 cm to both sides.

    So from half-way between the rings at 4.95 and 5.08 cm; smoothed over 1.5 cm.
    """
    bare = straight(16.0)
    built = wool_build(Build.THIN_ANKLE, bare, 0.0, 0.28, 10.0)
    expected = 2 / (2 * np.pi) * rising(bare.s_cm, 37.5 * 40 / 299)
    below = (bare.s_cm > 2) & (bare.s_cm < 12)
    assert built.extra_cm[below] == pytest.approx(expected[below], abs=5e-4)


def test_the_ring_two_centimetres_under_the_ankle_takes_wool() -> None:
    """Rings 0.5 cm apart, one at 10 = 12 - 2 cm; five rings wider, from half a ring under 7.5."""
    bare = round_limb(2.5)
    built = wool_build(Build.THIN_ANKLE, bare, 0.0, 0.28, 10.0)
    expected = (18 - bare.girth_cm) / (2 * np.pi) * rising(bare.s_cm, 7.25)
    assert built.extra_cm[15] == pytest.approx(expected[15], rel=0.01)


@pytest.mark.parametrize(
    ("girth_cm", "width_cm", "turns"),
    [
        # 0.5 cm are 0.0796 of wool, of which 0.05 are reached 0.33 x 1.5 cm over 5.02: 42 rings up.
        # From 5.62 to 40 are 34.38 cm, 6.51 turns half of 10.56 cm apart.
        (17.5, 10.56, 7),
        # One ring less would be 6.49 turns of 10.56 cm; of 10.6 cm it is that already.
        (17.5, 10.6, 6),
        # Nowhere 0.05 thick: over its own width, two turns.
        (17.8, 10.0, 2),
        # Wider than what is built up: one turn.
        (17.5, 200.0, 1),
    ],
)
def test_turns_lie_half_overlapping_where_the_wool_is_half_a_millimetre(
    girth_cm: float, width_cm: float, turns: int
) -> None:
    assert wool_build(Build.THIN_ANKLE, straight(girth_cm), 0.0, 0.28, width_cm).turns == turns


def test_a_cone_goes_straight_from_18_cm_at_the_ankle_to_the_calf_and_no_further() -> None:
    """A leg of 16 cm that thins to 10 two over its calf: 18 at 10 cm to 16 at 28.

    Widened 2.94 cm up and smoothed, which leaves a straight line as it is: what is missing 2.94 cm
    further down.
    """
    bare = straight(16.0)
    thinner = np.where(bare.s_cm > 30, 10 / 16, 1.0)
    bottle = replace(bare, section_cm=bare.section_cm * thinner[:, None])
    built = wool_build(Build.CONE, bottle, 0.0, 0.28, 10.0)
    s = bare.s_cm[(bare.s_cm > 18) & (bare.s_cm < 26)]
    missing = 2 * (28 - (s - 22 * 40 / 299)) / 18 / (2 * np.pi)
    found = built.extra_cm[(bare.s_cm > 18) & (bare.s_cm < 26)]
    assert found == pytest.approx(missing, abs=2e-3)
    assert built.extra_cm[bare.s_cm > 36] == pytest.approx(0, abs=1e-3)


def test_the_plan_says_how_many_turns_where(policy: Policy, catalogue: Catalogue) -> None:
    made = plan(
        case(
            **{
                "legs.right.girth_cm": {
                    "metatarsal_heads": 19.5, "instep": 20.5, "heel_instep": 27.0, "ankle": 15.5,
                    "gaiter": 18.5, "calf": 28.0, "below_knee": 26.0,
                }
            }
        ),
        policy,
        catalogue,
        samples=256,
    )  # fmt: skip
    system = made.legs[Side.RIGHT].systems[0]
    assert system.padding.build is Build.THIN_ANKLE
    assert "round the ankle" in system.padding.text


def test_wool_for_the_build_is_taken_from_stock(policy: Policy, catalogue: Catalogue) -> None:
    """The same leg as an inverted bottle takes more wool than as it is seen."""
    girth = {
        "metatarsal_heads": 22.0, "heel_instep": 31.0, "ankle": 18.0, "gaiter": 21.0,
        "calf": 40.0, "below_knee": 37.0,
    }  # fmt: skip
    rolls = []
    for shape in ("ordinary", "inverted bottle"):
        changes = {"legs.right.girth_cm": girth, "legs.right.findings.shape": shape}
        made = plan(case(**changes), policy, catalogue, samples=256)
        supplies = made.legs[Side.RIGHT].systems[0].supplies
        rolls.append(int(next(s for s in supplies if "wool" in s.material).now.text.split()[0]))
    assert rolls[1] > rolls[0]
