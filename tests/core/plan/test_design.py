import numpy as np
import pytest

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.case import Purpose
from gaiter.core.case.person import Sex
from gaiter.core.fabric import Catalogue, StretchCurve
from gaiter.core.landmark import Landmark
from gaiter.core.plan.design import Aim
from gaiter.core.plan.layers import PressingLayer
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.maxima import Maxima
from gaiter.core.plan.padded_leg import BandagedLeg, Padding, Sampling
from gaiter.core.plan.search import (
    best_design,
    geometries,
    rise_of,
    stretch_choices,
    stretches,
)
from gaiter.core.plan.systems import LayerRecipe
from gaiter.core.plan.target import target_range
from gaiter.core.policy import Policy
from gaiter.core.safety import aim_under
from gaiter.core.spread.draws import Hands, SpreadInputs
from tests.strategies import percentile_leg

SAMPLING = Sampling(SpreadInputs((Hands.of_spread(0.18),), 0.93, 0.35, (0.0, 0.28, 0.565)), 512, 4)


@pytest.fixture(scope="module")
def padded_leg():
    """A large leg: whoever keeps its ankle under the maximum still reaches the gaiter's range."""
    return BandagedLeg(percentile_leg(Sex.FEMALE, 2)).under(Padding(0.28))


def layer(catalogue: Catalogue, key: str, **recipe) -> PressingLayer:
    return PressingLayer(LayerRecipe(key, **recipe), catalogue[key])


def aim(policy: Policy, maximum: float, foot: float | None = None, rise: float = 0.05) -> Aim:
    aimed = aim_under(Purpose.VENOUS_ULCER, maximum, policy)
    assert aimed is not None
    maxima = Maxima(maximum, maximum, maximum if foot is None else foot, 2 * maximum)
    return Aim(target_range(aimed, maxima, policy), maxima, policy["chance_above_maximum"], rise)


def test_no_choice_of_the_grid_is_better(padded_leg, policy: Policy, catalogue: Catalogue) -> None:
    """Every stretch tried one by one on the same samples."""
    one = layer(catalogue, "long_stretch_elastic")
    wanted = aim(policy, 80)
    best = best_design(padded_leg, [one], wanted, SAMPLING)
    laid = best.layers[0].laid
    units = padded_leg.units([(laid, False)], SAMPLING)[0]
    names = list(padded_leg.sites)
    curve = one.material.curve
    chances = []
    for ((foot, up),) in stretch_choices([one]):
        tensions = [float(curve.tension_n_per_cm(e)) for e in (foot, up)]
        pressure = tensions[0] * units[0] + tensions[1] * units[1]
        inside = np.ones(pressure.shape[1], bool)
        above = 0.0
        for site in (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF, Landmark.BELOW_KNEE):
            low, high = wanted.target.site_mmhg[site]
            row = pressure[names.index(site)]
            inside &= (low <= row) & (row <= high)
            above = max(above, float((row > 80).mean()))
        for site in (Landmark.METATARSAL_HEADS, Landmark.INSTEP):
            above = max(above, float((pressure[names.index(site)] > 80).mean()))
        rings = tensions[0] * laid.ring_units[0] + tensions[1] * laid.ring_units[1]
        rises = max(rings[b] / rings[a] - 1 for a in range(4) for b in range(a, 4))
        reached = np.median(pressure[names.index(Landmark.GAITER)]) >= 30
        if above <= wanted.allowed_chance_above and rises <= 0.05 and reached:
            chances.append(float(inside.mean()))
    assert len(chances) > 5
    assert best.chance_in_range == max(chances)


def test_the_foot_is_held_under_its_own_maximum(
    padded_leg, policy: Policy, catalogue: Catalogue
) -> None:
    """Whatever the leg may have: 60 at the gaiter, but no more than 40 on the foot."""
    one = layer(catalogue, "short_stretch")
    free = best_design(padded_leg, [one], aim(policy, 60, foot=200), SAMPLING)
    guarded = best_design(padded_leg, [one], aim(policy, 60, foot=40), SAMPLING)
    instep = list(padded_leg.sites).index(Landmark.INSTEP)
    above = [(design.pressure_mmhg[instep] > 40).mean() for design in (free, guarded)]
    assert above[1] <= policy["chance_above_maximum"] < above[0]
    assert guarded.layers[0].foot_stretch < guarded.layers[0].stretch


def test_a_design_that_does_not_rise_is_preferred(policy: Policy, catalogue: Catalogue) -> None:
    """A leg as wide at the ankle as above it: milder turns on the foot make the mean rise."""
    padded_leg = BandagedLeg(percentile_leg(Sex.FEMALE, 1)).under(Padding(0.28))
    one = layer(catalogue, "short_stretch")
    strict = best_design(padded_leg, [one], aim(policy, 60, foot=35, rise=0.0), SAMPLING)
    free = best_design(padded_leg, [one], aim(policy, 60, foot=35, rise=5.0), SAMPLING)

    def rise(design) -> float:
        rings = list(design.ring_mmhg.values())
        return max(rings[b] / rings[a] - 1 for a in range(len(rings)) for b in range(a, len(rings)))

    assert rise(strict) <= rise(free)


def test_the_largest_rise_is_to_the_highest_from_the_lowest_below_it() -> None:
    """The column leg of 25, 32 and 36 mmHg rises by 11 of 25; what is bare counts for nothing."""
    assert rise_of(np.array([25.0, 32.0, 36.0, 20.0])) == pytest.approx(0.44)
    assert rise_of(np.array([36.0, 32.0, 25.0, 0.0])) == 0
    assert rise_of(np.array([36.0, 30.0, 33.0, 20.0])) == pytest.approx(0.1)


def test_only_the_outermost_layer_changes_on_the_foot(catalogue: Catalogue) -> None:
    layers = [layer(catalogue, "light_elastic"), layer(catalogue, "cohesive_elastic")]
    for inner, _ in stretch_choices(layers):
        assert inner[0] == inner[1]
    assert any(outer[0] < outer[1] for _, outer in stretch_choices(layers))


def test_what_only_holds_the_wool_has_no_more_tension_than_the_layer_over_it(
    catalogue: Catalogue,
) -> None:
    crepe = layer(catalogue, "light_support", only_holds=True)
    over = layer(catalogue, "light_elastic")
    choices = list(stretch_choices([crepe, over]))
    assert len({inner for inner, _ in choices}) == 1
    held = float(crepe.material.curve.tension_n_per_cm(choices[0][0][1]))
    least = float(over.material.curve.tension_n_per_cm(over.material.least_stretch))
    assert held <= least
    # A strong crepe is laid looser, until it has no more than the layer over it.
    strong = StretchCurve(0.25, 3.0, 0.5)
    stiff = PressingLayer(crepe.recipe, crepe.material.model_copy(update={"measured": strong}))
    ((_, stretch), _) = next(iter(stretch_choices([stiff, over])))
    assert float(strong.tension_n_per_cm(stretch)) == pytest.approx(least)


def test_a_system_may_keep_below_the_materials_largest_stretch(catalogue: Catalogue) -> None:
    one = layer(catalogue, "short_stretch", largest_stretch=0.7)
    assert max(up for ((_, up),) in stretch_choices([one])) <= 0.7


def test_a_resting_layer_has_one_choice(catalogue: Catalogue) -> None:
    assert stretches(catalogue["zinc_paste"]).tolist() == [0.0]


def test_a_wider_bandage_is_a_choice_on_a_large_calf_only(catalogue: Catalogue) -> None:
    wide = catalogue["long_stretch_elastic"].model_copy(update={"widths_cm": (10.0, 15.0)})
    one = PressingLayer(LayerRecipe("long_stretch_elastic"), wide)
    assert [g.leg_width_cm for g in geometries(one, 38.0)] == [None]
    assert [g.leg_width_cm for g in geometries(one, 46.0)] == [None, 15.0]


def test_a_wider_bandage_up_the_leg_takes_fewer_turns_and_covers_as_much(padded_leg) -> None:
    plain = padded_leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0))
    wide = padded_leg.laid(Geometry(Pattern.SPIRAL, 0.5, 10.0, 15.0))
    assert wide.strips.turns < plain.strips.turns
    s, places = padded_leg.surface.s_cm, padded_leg.surface.landmark_s_cm
    straight = (s > places[Landmark.GAITER]) & (s < places[Landmark.CALF] - 4)
    assert wide.thicknesses[straight].mean() == pytest.approx(2.0, abs=0.25)


def test_when_nothing_is_allowed_the_mildest_is_shown(
    padded_leg, policy: Policy, catalogue: Catalogue
) -> None:
    design = best_design(
        padded_leg,
        [layer(catalogue, "long_stretch_elastic")],
        aim(policy, 20),
        Sampling(SpreadInputs((Hands.of_spread(0.4),), 0.93, 0.35, (0.0, 0.28, 0.565)), 512, 4),
    )
    assert not design.within
    assert design.layers[0].stretch == catalogue["long_stretch_elastic"].least_stretch


def test_skin_above_a_limit_is_where_the_likely_map_is_above_it(
    padded_leg, policy: Policy, catalogue: Catalogue
) -> None:
    """Most bandages above: the likely pressure is above, apart from the rims of turns."""
    design = best_design(
        padded_leg, [layer(catalogue, "long_stretch_elastic")], aim(policy, 60),
        Sampling(SAMPLING.inputs, 256, 4),
    )  # fmt: skip
    likely = design.sampling.inputs.remainder_median * design.pressure_map_mmhg
    often = np.zeros(likely.shape, bool)
    for patch in design.often_above(60):
        often |= patch.cells
    assert often.any()
    assert likely[often].mean() > 60
    between = (padded_leg.surface.s_cm > padded_leg.surface.start_s_cm) & (
        padded_leg.surface.s_cm < padded_leg.surface.end_s_cm
    )
    assert np.mean(often[between] == (likely > 60)[between]) > 0.9
