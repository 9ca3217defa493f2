"""The map of pressure over the skin, held against the closed form and the plan's own sites."""

import numpy as np
import pytest

from gaiter.core.landmark import Landmark
from gaiter.core.plan import Plan, plan
from gaiter.core.plan.rebuilt import bandaged_leg_of
from gaiter.core.plan.skin_map import likely_skin_map, skin_map
from gaiter.core.pressure.discs import reading_sites
from gaiter.core.pressure.surface_map import ring_mean_at
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case


@pytest.fixture(scope="module")
def made() -> Plan:
    return plan(case(), shipped_policy(), shipped_catalogue(), samples=256)


@pytest.mark.parametrize("place", [Landmark.GAITER, Landmark.CALF])
def test_mean_round_the_leg_is_tension_over_radius_of_every_thickness(
    made: Plan, place: Landmark
) -> None:
    """471.278 n t / G for each layer: on a convex section the mean does not know its shape."""
    leg = next(iter(made.legs.values()))
    system = leg.systems[0]
    remainder = made.remainder_of(system)
    mapped = skin_map(bandaged_leg_of(leg), system, remainder)
    s_cm = mapped.surface.landmark_s_cm[place]
    pressing = [layer for layer in system.layers if layer.presses]
    up_the_leg = sum(layer.tensions_n_per_cm[1] for layer in pressing)
    thicknesses = ring_mean_at(mapped.surface, mapped.thicknesses, s_cm)
    expected = (
        remainder * 471.278 * up_the_leg * thicknesses / len(pressing)
        / mapped.surface.girth_at_cm(place)
    )  # fmt: skip
    # Turns climb and the leg is a cone: both take a little; the tape reads to about as much.
    assert ring_mean_at(mapped.surface, mapped.pressure_mmhg, s_cm) == pytest.approx(
        expected, rel=0.06
    )


def test_skin_that_no_turn_covers_is_not_pressed(made: Plan) -> None:
    """A bandage that starts at the ankle leaves the forefoot bare."""
    leg = next(iter(made.legs.values()))
    system = leg.systems[0]
    under = system.padding.model_copy(update={"start": Landmark.ANKLE})
    from_ankle = system.model_copy(update={"padding": under})
    mapped = skin_map(bandaged_leg_of(leg), from_ankle, 0.8)
    bare = mapped.thicknesses == 0
    assert bare[:3].all()
    assert not mapped.pressure_mmhg[bare].any()
    assert (mapped.pressure_mmhg >= 0).all()


def test_pressure_is_as_much_more_as_the_remainder(made: Plan) -> None:
    leg = next(iter(made.legs.values()))
    bandaged_leg, system = bandaged_leg_of(leg), leg.systems[0]
    one, half = (skin_map(bandaged_leg, system, share).pressure_mmhg for share in (1.0, 0.5))
    assert np.allclose(one, 2 * half)
    assert one.max() > 20


@pytest.mark.parametrize("name", ["four_layer", "zinc_paste_covered", "wool_short_stretch"])
def test_the_likely_map_says_at_every_site_what_the_plan_says(made: Plan, name: str) -> None:
    """Layers that add less than their own, one that rests, and a single one."""
    leg = next(iter(made.legs.values()))
    system = next(system for system in leg.systems if system.name == name)
    mapped = likely_skin_map(bandaged_leg_of(leg), system, made.remainder_of(system))
    discs = reading_sites(mapped.surface)
    for site in system.sites:
        # A median of products is not the product of medians; over all examples within 2 mmHg
        # at 358 of 360 sites.
        assert discs[site.landmark].mean(mapped.pressure_mmhg) == pytest.approx(
            site.median_mmhg, abs=2.0
        ), site.landmark


def test_a_learnt_habit_moves_the_likely_map_by_as_much(made: Plan) -> None:
    leg = next(iter(made.legs.values()))
    system = next(system for system in leg.systems if system.name == "wool_short_stretch")
    looser = tuple(
        hands.model_copy(update={"habit": (0.0, -0.2, -0.2)}) for hands in system.basis.hands
    )
    basis = system.basis.model_copy(update={"hands": looser})
    bandaged_leg = bandaged_leg_of(leg)
    usual, loose = (
        likely_skin_map(bandaged_leg, one, 1.0).pressure_mmhg
        for one in (system, system.model_copy(update={"basis": basis}))
    )
    pressed = usual[-30] > 1  # above the calf
    assert pressed.any()
    assert loose[-30][pressed] / usual[-30][pressed] == pytest.approx(np.exp(-0.2))
    assert loose[5] == pytest.approx(usual[5])  # in the foot, below the ankle
