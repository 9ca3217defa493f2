"""Changes by hand: judged like the computed plan, within limits, and told in words."""

from functools import cache

import pytest

from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Adjustment, Bench, Fit, LayerChange, Status, bench_of
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case

ELASTIC = "wool_gauze_long_stretch"


@cache
def bench() -> Bench:
    return bench_of(case(), shipped_policy(), shipped_catalogue(), samples=512)


def adjusted(**changes):
    return bench().adjusted(Side.RIGHT, Adjustment(ELASTIC, **changes)).made.plan


def computed():
    return next(s for s in bench().plan.legs[Side.RIGHT].systems if s.name == ELASTIC)


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
    made = {p.place: p for p in adjusted(pads_mm={worst.place: 6.0}).pressure_points}
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
