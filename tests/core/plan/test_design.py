import numpy as np
import pytest

from gaiter.core.bandage.technique import Pattern
from gaiter.core.case import Purpose
from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.material import Catalogue
from gaiter.core.plan.design import (
    Aim,
    PressingLayer,
    best_design,
    geometries,
    stretch_choices,
    stretches,
)
from gaiter.core.plan.fitting import Fitting, Geometry, Padding, Sampling
from gaiter.core.plan.systems import LayerRecipe
from gaiter.core.plan.target import target_range
from gaiter.core.policy import Policy
from gaiter.core.pressure.draws import Hands, SpreadInputs
from tests.strategies import percentile_leg

SAMPLING = Sampling(SpreadInputs((Hands.of_spread(0.18),), 0.93, 0.35, (0.0, 0.28, 0.565)), 512, 4)


@pytest.fixture(scope="module")
def ground():
    return Fitting(percentile_leg(Sex.FEMALE, 1)).under(Padding(0.28))


def layer(catalogue: Catalogue, key: str, **recipe) -> PressingLayer:
    return PressingLayer(LayerRecipe(key, **recipe), catalogue[key])


def aim(policy: Policy, maximum: float, guard_foot: bool = False) -> Aim:
    target = target_range(Purpose.VENOUS_ULCER, maximum, policy)
    assert target is not None
    return Aim(target, maximum, policy["chance_above_maximum"], guard_foot)


def test_no_choice_of_the_grid_is_better(ground, policy: Policy, catalogue: Catalogue) -> None:
    """Every stretch tried one by one on the same samples."""
    one = layer(catalogue, "long_stretch_elastic")
    wanted = aim(policy, 60)
    best = best_design(ground, [one], wanted, SAMPLING)
    units = ground.units([(best.layers[0].laid, False)], SAMPLING)[0].sum(axis=0)
    names = list(ground.sites)
    chances = []
    for stretch in stretches(one.material):
        pressure = float(one.material.curve.tension_n_per_cm(stretch)) * units
        inside = np.ones(pressure.shape[1], bool)
        above = 0.0
        for site in (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE):
            low, high = wanted.target.site_mmhg[site]
            row = pressure[names.index(site)]
            inside &= (low <= row) & (row <= high)
            above = max(above, float((row > 60).mean()))
        if above <= wanted.allowed_chance_above:
            chances.append(float(inside.mean()))
    assert best.chance_in_range == max(chances)


def test_the_foot_is_held_under_the_maximum_when_guarded(
    ground, policy: Policy, catalogue: Catalogue
) -> None:
    one = layer(catalogue, "short_stretch")
    free = best_design(ground, [one], aim(policy, 40), SAMPLING)
    guarded = best_design(ground, [one], aim(policy, 40, guard_foot=True), SAMPLING)
    names = list(ground.sites)
    foot = names.index(Landmark.INSTEP)
    above = [(design.pressure_mmhg[foot] > 40).mean() for design in (free, guarded)]
    assert above[1] <= policy["chance_above_maximum"] < above[0]
    assert guarded.layers[0].foot_stretch <= guarded.layers[0].stretch


def test_only_the_outermost_layer_changes_on_the_foot(catalogue: Catalogue) -> None:
    layers = [layer(catalogue, "light_support"), layer(catalogue, "cohesive_elastic")]
    for inner, _ in stretch_choices(layers, guard_foot=True):
        assert inner[0] == inner[1]
    assert any(outer[0] < outer[1] for _, outer in stretch_choices(layers, guard_foot=True))


def test_a_resting_layer_has_one_choice(catalogue: Catalogue) -> None:
    assert stretches(catalogue["zinc_paste"]).tolist() == [0.0]


def test_a_wider_bandage_is_a_choice_on_a_large_calf_only(catalogue: Catalogue) -> None:
    wide = catalogue["long_stretch_elastic"].model_copy(update={"widths_cm": (10.0, 15.0)})
    one = PressingLayer(LayerRecipe("long_stretch_elastic"), wide)
    assert [g.leg_width_cm for g in geometries(one, 38.0)] == [None]
    assert [g.leg_width_cm for g in geometries(one, 46.0)] == [None, 15.0]


def test_a_wider_bandage_up_the_leg_takes_fewer_turns_and_covers_as_much(ground) -> None:
    plain = ground.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0))
    wide = ground.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0, 15.0))
    assert wide.strips.turns < plain.strips.turns
    s, places = ground.surface.s_cm, ground.surface.landmark_s_cm
    straight = (s > places[Landmark.GAITER]) & (s < places[Landmark.CALF] - 4)
    assert wide.thicknesses[straight].mean() == pytest.approx(2.0, abs=0.25)


def test_when_nothing_is_allowed_the_mildest_is_shown(
    ground, policy: Policy, catalogue: Catalogue
) -> None:
    design = best_design(
        ground,
        [layer(catalogue, "long_stretch_elastic")],
        aim(policy, 20),
        Sampling(SpreadInputs((Hands.of_spread(0.4),), 0.93, 0.35, (0.0, 0.28, 0.565)), 512, 4),
    )
    assert not design.within
    assert design.layers[0].stretch == catalogue["long_stretch_elastic"].least_stretch


def test_skin_above_a_limit_is_where_the_likely_map_is_above_it(
    ground, policy: Policy, catalogue: Catalogue
) -> None:
    """Most bandages above: the likely pressure is above, apart from the rims of turns."""
    design = best_design(
        ground, [layer(catalogue, "long_stretch_elastic")], aim(policy, 60),
        Sampling(SAMPLING.inputs, 256, 4),
    )  # fmt: skip
    likely = design.sampling.inputs.remainder_median * design.pressure_map_mmhg
    often = np.zeros(likely.shape, bool)
    for patch in design.often_above(60):
        often |= patch.cells
    assert often.any()
    assert likely[often].mean() > 60
    between = (ground.surface.s_cm > ground.surface.start_s_cm) & (
        ground.surface.s_cm < ground.surface.end_s_cm
    )
    assert np.mean(often[between] == (likely > 60)[between]) > 0.9
