"""Changes by hand: judged like the computed plan, within limits, and told in words."""

from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import pytest

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Adjustment, Bench, Fit, LayerChange, Status, bench_of
from gaiter.core.plan.adjust import chosen_by_hand
from gaiter.core.plan.layers import PressingLayer
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.systems import LayerRecipe
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.core.plan.hand_made import ELASTIC as HAND_MADE
from tests.core.plan.hand_made import built
from tests.strategies import case

ELASTIC = "wool_gauze_long_stretch"


@cache
def bench() -> Bench:
    return bench_of(case(), shipped_policy(), shipped_catalogue(), samples=512)


def adjusted(**changes):
    return bench().adjusted(Side.RIGHT, Adjustment(ELASTIC, **changes)).made.plan


def computed():
    return next(s for s in bench().plan.legs[Side.RIGHT].systems if s.name == ELASTIC)


@pytest.mark.parametrize(
    ("stretch", "given", "foot"),
    [
        # The foot was planned with six fifths of the leg's 0.5, of 0.3 to 0.7.
        (0.4, None, 0.48),
        (0.7, None, 0.7),
        (0.4, 0.35, 0.35),
        (0.4, 0.9, 0.7),
        (0.4, 0.1, 0.3),
    ],
)
def test_the_foot_keeps_its_share_or_what_is_said_within_the_material(stretch, given, foot) -> None:
    elastic = shipped_catalogue()["long_stretch_elastic"]
    laid = SimpleNamespace(geometry=Geometry(Pattern.SPIRAL, 0.5, 10.0))
    was = SimpleNamespace(layers=[SimpleNamespace(laid=laid, stretch=0.5, foot_stretch=0.6)])
    change = LayerChange(stretch=stretch, foot_stretch=given)
    layer = PressingLayer(LayerRecipe(elastic.key), elastic)
    (found,) = chosen_by_hand(Adjustment("own", {elastic.key: change}), [layer], was)
    assert (found.stretch, found.foot_stretch) == pytest.approx((stretch, foot))


def test_nothing_changed_is_the_computed_system() -> None:
    assert adjusted() == computed()


def test_the_computed_choices_given_by_hand_give_the_same_pressures() -> None:
    layer = next(x for x in computed().layers if x.presses)
    change = LayerChange(layer.stretch_percent / 100, layer.overlap, layer.pattern)
    made = adjusted(layers={layer.material: change})
    for by_hand, was in zip(made.sites, computed().sites, strict=True):
        assert by_hand.model_dump(mode="json") == pytest.approx(was.model_dump(mode="json"))
    assert made.by_hand


def test_more_stretch_presses_more_and_says_when_it_is_too_much() -> None:
    layer = next(x for x in computed().layers if x.presses)
    pressures = []
    for stretch in (0.3, 0.45, 0.6):
        made = adjusted(layers={layer.material: LayerChange(stretch=stretch)})
        gaiter = next(s for s in made.sites if s.landmark is Landmark.GAITER)
        pressures.append(gaiter.median_mmhg)
    assert pressures == sorted(pressures)
    tight = LayerChange(stretch=0.7, overlap=0.7)
    leg = bench().adjusted(Side.RIGHT, Adjustment(ELASTIC, layers={layer.material: tight})).leg
    assert leg.systems[0].outcome is Fit.CANNOT_BE_REACHED
    assert leg.status is Status.CANNOT_BE_REACHED
    assert "as changed it exceeds 60 mmHg" in leg.status_reason
    assert leg.next_visit is None


def test_a_bandage_ending_at_the_calf_takes_less_fabric() -> None:
    shorter = adjusted(end=Landmark.CALF)
    assert shorter.padding.end is Landmark.CALF
    assert shorter.layers[-1].length_cm < computed().layers[-1].length_cm


def test_a_bandage_starting_at_the_instep_leaves_the_ball_of_the_foot() -> None:
    later = adjusted(start=Landmark.INSTEP)
    assert later.padding.start is Landmark.INSTEP
    assert later.profile.s_cm[0] > computed().profile.s_cm[0]


def test_a_pad_lowers_the_pressure_at_its_place_only() -> None:
    places = computed().pressure_points
    worst = places[0]
    thicker = worst.padding_mm + 4
    made = {p.place: p for p in adjusted(pads_mm={worst.place: thicker}).pressure_points}
    assert worst.place not in made or made[worst.place].high_mmhg < worst.high_mmhg
    for other in places[1:]:
        assert made[other.place].high_mmhg == other.high_mmhg


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"layers": {"long_stretch_elastic": LayerChange(stretch=3.0)}},
            "must be .* received 300%",
        ),
        ({"layers": {"long_stretch_elastic": LayerChange(overlap=0.1)}}, "30% to 75%.*10%"),
        ({"pads_mm": {"shin": 50.0}}, "0 to 20 mm; received 50"),
        ({"end": Landmark.ANKLE}, "must be below knee or calf; received ankle"),
    ],
)
def test_what_cannot_be_bandaged_is_refused(changes, words) -> None:
    with pytest.raises(InputError, match=words):
        adjusted(**changes)


def test_an_unknown_system_is_refused() -> None:
    with pytest.raises(InputError, match="received nothing_such"):
        bench().adjusted(Side.RIGHT, Adjustment("nothing_such"))


# --- limits at their edges, on the bandage made by hand -------------------------------------


def by_hand(change: LayerChange, *, only_holds: bool = False):
    """One elastic layer at 42 % up the leg and 30 % on the foot, changed by hand."""
    made = built("orthopaedic_wool", HAND_MADE)
    (layer,) = made.design.layers
    recipe = LayerRecipe(HAND_MADE, only_holds=only_holds)
    pressing = [PressingLayer(recipe, layer.material)]
    (fixed,) = chosen_by_hand(Adjustment("made", layers={HAND_MADE: change}), pressing, made.design)
    return fixed


def test_the_foot_keeps_its_share_of_a_chosen_stretch() -> None:
    fixed = by_hand(LayerChange(stretch=0.56))
    assert fixed.stretch == 0.56
    assert fixed.foot_stretch == pytest.approx(0.56 * 0.30 / 0.42)


def test_the_foot_is_never_laid_below_the_least_stretch() -> None:
    """30 of 42 % of 35 % would be 25 %; the fabric's least is 30 %."""
    assert by_hand(LayerChange(stretch=0.35)).foot_stretch == pytest.approx(0.30)


def test_where_nothing_was_stretched_the_foot_is_stretched_as_the_leg_is() -> None:
    layer = PressingLayer(LayerRecipe(HAND_MADE), shipped_catalogue()[HAND_MADE])
    was = replace(built("orthopaedic_wool", HAND_MADE).design.layers[0], stretch=0, foot_stretch=0)
    change = Adjustment("any", {HAND_MADE: LayerChange(stretch=0.4)})
    (fixed,) = chosen_by_hand(change, [layer], SimpleNamespace(layers=[was]))
    assert (fixed.stretch, fixed.foot_stretch) == (0.4, 0.4)


@pytest.mark.parametrize("stretch", [0.3, 0.7])
def test_the_least_and_the_largest_stretch_may_be_chosen(stretch: float) -> None:
    assert by_hand(LayerChange(stretch=stretch)).stretch == stretch


@pytest.mark.parametrize("stretch", [0.29, 0.71])
def test_a_stretch_beyond_them_is_refused_with_both(stretch: float) -> None:
    with pytest.raises(InputError, match=f"must be 30% to 70%; received {stretch:.0%}"):
        by_hand(LayerChange(stretch=stretch))


@pytest.mark.parametrize("overlap", [0.3, 0.75])
def test_the_least_and_the_largest_overlap_may_be_chosen(overlap: float) -> None:
    geometry = by_hand(LayerChange(overlap=overlap)).geometry
    assert (geometry.overlap, geometry.pattern, geometry.width_cm) == (overlap, "spiral", 10.0)


@pytest.mark.parametrize("overlap", [0.29, 0.76])
def test_an_overlap_beyond_them_is_refused_with_both(overlap: float) -> None:
    with pytest.raises(InputError, match=f"30% to 75% of the width; received {overlap:.0%}"):
        by_hand(LayerChange(overlap=overlap))


def test_nothing_chosen_keeps_what_was_computed() -> None:
    fixed = by_hand(LayerChange())
    assert (fixed.stretch, fixed.foot_stretch, fixed.geometry.overlap) == (0.42, 0.30, 0.5)
    herring = by_hand(LayerChange(pattern=Pattern.HERRINGBONE))
    assert herring.geometry.pattern is Pattern.HERRINGBONE


@pytest.mark.parametrize(("asked", "laid"), [(0.05, 0.05), (0.7, 0.7), (0.9, 0.7)])
def test_what_only_holds_may_be_slack_but_not_beyond_the_largest(asked: float, laid: float) -> None:
    fixed = by_hand(LayerChange(stretch=asked), only_holds=True)
    assert (fixed.stretch, fixed.foot_stretch) == (laid, laid)


def test_what_only_holds_stays_as_computed_where_no_stretch_is_chosen() -> None:
    fixed = by_hand(LayerChange(overlap=0.6), only_holds=True)
    assert (fixed.stretch, fixed.foot_stretch, fixed.geometry.overlap) == (0.42, 0.30, 0.6)


def test_paste_is_laid_without_stretch_whatever_is_asked() -> None:
    """It does not stretch: its tension is not the hands' to choose."""
    paste = PressingLayer(LayerRecipe("zinc_paste"), shipped_catalogue()["zinc_paste"])
    was = replace(built("orthopaedic_wool", HAND_MADE).design.layers[0], stretch=0, foot_stretch=0)
    change = Adjustment("any", {"zinc_paste": LayerChange(stretch=0.2)})
    (fixed,) = chosen_by_hand(change, [paste], SimpleNamespace(layers=[was]))
    assert (fixed.stretch, fixed.foot_stretch) == (0, 0)


def test_pads_from_none_to_20_mm_may_be_chosen() -> None:
    assert Adjustment("any", pads_mm={"heel": 0.0, "shin edge": 20.0}).pads_mm["heel"] == 0
    for thickness in (-0.5, 20.5):
        with pytest.raises(InputError, match="padding at the heel must be 0 to 20 mm"):
            Adjustment("any", pads_mm={"heel": thickness})


@pytest.mark.parametrize(
    ("changes", "nothing"),
    [
        ({}, True),
        ({"layers": {ELASTIC: LayerChange()}}, True),
        ({"layers": {ELASTIC: LayerChange(stretch=0.4)}}, False),
        ({"start": Landmark.INSTEP}, False),
        ({"end": Landmark.CALF}, False),
        ({"pads_mm": {"heel": 0.0}}, False),
    ],
)
def test_what_changes_nothing(changes: dict, nothing: bool) -> None:
    assert Adjustment(ELASTIC, **changes).changes_nothing is nothing


def test_every_change_is_told_in_words() -> None:
    layers = {
        "long_stretch_elastic": LayerChange(0.455, 2 / 3, Pattern.HERRINGBONE),
        "light_support": LayerChange(),
    }
    pads = {"heel": 6.0, "shin edge": 0.0}
    made = Adjustment("any", layers, Landmark.INSTEP, Landmark.CALF, pads)
    assert tuple(one.text for one in made.in_words()) == (
        "long stretch elastic: stretch 46%",
        "long stretch elastic: overlap 67%",
        "long stretch elastic: herringbone",
        "starts at the instep",
        "ends at the calf",
        "heel: pad of 6 mm",
        "shin edge: no pad",
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"start": Landmark.CALF}, "start must be metatarsal heads or instep; received calf"),
        ({"end": Landmark.GAITER}, "end must be below knee or calf; received gaiter"),
    ],
)
def test_a_start_or_end_elsewhere_is_refused(changes: dict, words: str) -> None:
    with pytest.raises(InputError, match=words):
        Adjustment("any", **changes)
