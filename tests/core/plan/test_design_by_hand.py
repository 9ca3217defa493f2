"""What a design adds up, on a leg where every turn presses what it is told to."""

from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.bandage.wool import Build, WoolBuild
from gaiter.core.landmark import LEG_SITES, Landmark
from gaiter.core.leg.tube import round_limb
from gaiter.core.plan import design as design_module
from gaiter.core.plan.design import Aim, Design, pressure_of
from gaiter.core.plan.layers import FixedLayer, PressingLayer
from gaiter.core.plan.laying import HOLDING_TURNS, Geometry
from gaiter.core.plan.maxima import Maxima
from gaiter.core.plan.padded_leg import PaddedLeg, Padding, Sampling
from gaiter.core.plan.search import fixed_design
from gaiter.core.plan.systems import LayerRecipe
from gaiter.core.plan.target import Target
from gaiter.core.spread.coarse import averaged
from gaiter.core.spread.draws import Hands, InputGroup, SpreadInputs
from gaiter.files.catalogue_file import shipped_catalogue
from tests.core.plan.hand_made import ELASTIC, aim, bandaged_leg, built

# The middle of the hand-made samples, 0.1 to 100 mmHg.
LIKELY = 50.05


@cache
def laid(start: Landmark | None = None, end: Landmark = Landmark.BELOW_KNEE) -> Design:
    """A bandage without tension on the foot, laid by hands that hardly stray, theory times 0.9."""
    layer = PressingLayer(LayerRecipe(ELASTIC), shipped_catalogue()[ELASTIC])
    chosen = FixedLayer(Geometry(Pattern.SPIRAL, 0.5, 10.0), 0.5, 0.0)
    inputs = SpreadInputs((Hands(1e-6, 1e-6),), 0.9, 1e-6, (0.0, 0.0, 0.0))
    leg = bandaged_leg().under(Padding(0.3, end=end, start=start))
    return fixed_design(leg, [layer], [chosen], aim(), Sampling(inputs, 64, 3))


def test_a_rise_of_five_per_cent_is_allowed_unless_told_otherwise() -> None:
    assert Aim(Target(30, 40, {}, "invented"), Maxima(40, 40, 40, 80), 0.025).allowed_rise == 0.05


def test_the_maximum_of_an_aim_is_the_legs_own() -> None:
    """Not the foot's 50 nor the 120 of bony places."""
    of_leg = Aim(Target(30, 40, {}, "invented"), Maxima(60, 60, 50, 120), 0.025)
    assert of_leg.maximum_mmhg == 60


def test_pressure_is_tension_times_pressure_per_tension_of_every_part_and_layer() -> None:
    """1 x 10 + 2 x 20 + 3 x 30 + 4 x 40 = 300 mmHg."""
    units = np.array([10.0, 20.0, 30.0, 40.0]).reshape(2, 2, 1, 1)
    assert pressure_of(units, [(1.0, 2.0), (3.0, 4.0)]).tolist() == [[300.0]]


def test_means_round_the_leg_stand_to_each_other_as_the_maps_do() -> None:
    """Every ring alike: each has the likely middle; over a pad 2 pi t / G of its larger girth."""
    design = built("orthopaedic_wool", ELASTIC).design
    for layer in design.layers:
        layer.laid.__dict__.pop("ring_units", None)
    assert design.ring_mmhg == {site: pytest.approx(LIKELY, rel=1e-6) for site in LEG_SITES}
    padded = replace(design, padded_leg=design.padded_leg.under_pads({"calf": 1.0}))
    padded.__dict__.pop("ring_mmhg", None)
    leg = padded.padded_leg
    wider = leg.girth_cm(Landmark.CALF) / leg.surface.girth_at_cm(Landmark.CALF)
    assert wider > 1.01
    assert padded.ring_mmhg[Landmark.CALF] == pytest.approx(LIKELY / wider, rel=1e-6)
    assert padded.ring_mmhg[Landmark.ANKLE] == pytest.approx(LIKELY, rel=1e-6)


@pytest.mark.parametrize(
    ("start", "end", "sites"),
    [
        (None, Landmark.BELOW_KNEE, LEG_SITES),
        (None, Landmark.CALF, LEG_SITES[:3]),
        (Landmark.ANKLE, Landmark.BELOW_KNEE, LEG_SITES),
        (Landmark.GAITER, Landmark.BELOW_KNEE, LEG_SITES[1:]),
    ],
)
def test_a_mean_is_told_from_where_the_bandage_starts_to_where_it_ends(start, end, sites) -> None:
    assert tuple(laid(start, end).ring_mmhg) == sites


def test_bandages_on_cells_press_what_the_map_does_where_hands_do_not_stray() -> None:
    """Nine tenths of theory; turns lie a little to either side, which blurs the rims by 3 mmHg."""
    design = laid()
    found = design.on_cells(60.0).mean_mmhg.mean(axis=1)
    theory = 0.9 * averaged(design.pressure_map_mmhg).mean(axis=1)
    assert theory.max() > 30
    np.testing.assert_allclose(found, theory, atol=3.0)


def test_a_limit_under_a_pad_is_a_higher_one_over_it() -> None:
    """Under 1 cm on the shin less arrives: fewer bandages exceed there, and as many elsewhere."""
    bare = laid()
    likely = float(np.quantile(bare.on_cells(0.0).mean_mmhg, 0.9))
    padded = bare.with_pads({"shin edge": 1.0})
    above = [one.on_cells(likely).chance_above for one in (bare, padded)]
    arrives = averaged(padded.padded_leg.arrives)
    assert (above[1][arrives < 1] <= above[0][arrives < 1]).all()
    at_once = above[0][arrives < 0.95].mean(), above[1][arrives < 0.95].mean()
    assert at_once[1] < at_once[0]
    np.testing.assert_allclose(above[1][arrives == 1], above[0][arrives == 1])


@pytest.mark.parametrize(("chance", "warned"), [(0.5, False), (0.51, True), (0.54, True)])
def test_most_is_more_than_half(monkeypatch, chance: float, warned: bool) -> None:
    chances = np.zeros((64, 24))
    chances[35:50] = chance
    said = SimpleNamespace(chance_above=chances)
    monkeypatch.setattr(Design, "on_cells", lambda _self, _limit: said)
    assert bool(laid().often_above(60.0)) is warned


def test_with_hands_and_theory_that_hardly_stray_the_spread_is_of_what_is_left() -> None:
    """Tape, place of the turns, fabric: theory and hands bring nothing; all of it is shared out."""
    shares = laid().spread_from
    assert set(shares) == set(InputGroup)
    for group in (InputGroup.THEORY, InputGroup.STRETCH):
        assert shares[group].total == pytest.approx(0, abs=0.01)
    assert shares[InputGroup.FABRIC].total > 0.3
    assert sum(share.total for share in shares.values()) == pytest.approx(1, abs=0.15)


def test_the_length_of_all_layers_is_what_their_turns_take() -> None:
    design = laid()
    assert design.fabric_cm == design.layers[0].laid.strips.path.length_cm
    twice = replace(design, layers=design.layers * 2)
    assert twice.fabric_cm == pytest.approx(2 * design.fabric_cm)
    np.testing.assert_allclose(twice.thicknesses, 2 * design.thicknesses)
    np.testing.assert_allclose(twice.pressure_map_mmhg, 2 * design.pressure_map_mmhg)


def test_the_line_up_the_leg_reads_at_the_gaiter_what_the_gaiter_does() -> None:
    """Both on the inner side; the line has a disc within half of its step of 1.5 cm."""
    design = laid()
    leg = design.padded_leg
    assert design.profile_mmhg.shape == (len(leg.profile[1]), 64)
    nearest = int(np.abs(leg.profile[0] - leg.sites[Landmark.GAITER].s_cm).argmin())
    assert np.median(design.profile_mmhg[nearest]) == pytest.approx(
        design.median_mmhg(Landmark.GAITER), rel=0.1
    )


def test_under_the_same_pads_places_read_what_they_did() -> None:
    design = laid()
    names = ["heel", "calf"]
    rows = [design.padded_leg.names.index(name) for name in names]
    np.testing.assert_allclose(
        design.at_places(design.padded_leg, names), design.pressure_mmhg[rows]
    )


def test_a_pad_put_on_later_does_what_one_from_the_start_does_and_only_at_its_place() -> None:
    """On a radius of 4 cm 1 cm of pad lets 4 of 5 parts arrive, of turns a little farther round."""
    limb = round_limb(4)
    wool = WoolBuild(Build.EVEN, 0 * limb.s_cm, "", 0, 0.0)
    layer = PressingLayer(LayerRecipe(ELASTIC), shipped_catalogue()[ELASTIC])
    chosen = FixedLayer(Geometry(Pattern.SPIRAL, 0.5, 10.0), 0.5, 0.5)
    sampling = Sampling(SpreadInputs((Hands.of_spread(0.18),), 0.9, 0.35), 64, 3)
    bare, at_once = (
        fixed_design(PaddedLeg(limb, wool, (), pads), [layer], [chosen], aim(), sampling)
        for pads in ({}, {"heel": 1.0})
    )
    later = bare.with_pads({"heel": 1.0})
    np.testing.assert_allclose(later.pressure_mmhg, at_once.pressure_mmhg)
    heel = later.padded_leg.names.index("heel")
    share = np.median(later.pressure_mmhg[heel]) / np.median(bare.pressure_mmhg[heel])
    assert share == pytest.approx(0.8, abs=0.1)
    others = [row for row in range(len(later.padded_leg.names)) if row != heel]
    assert (later.pressure_mmhg[others] == bare.pressure_mmhg[others]).all()
    np.testing.assert_allclose(later.with_pads({}).pressure_mmhg, bare.pressure_mmhg)


def test_cells_reach_as_far_as_any_turn_is_shifted(monkeypatch) -> None:
    """Turns are shifted by up to 6 cm to either side; a cell that far off may be covered."""
    asked = []
    real = design_module.coarse_cells

    def cells(strips, holding_turns, reach_cm):
        asked.append((holding_turns, float(reach_cm)))
        return real(strips, holding_turns, reach_cm)

    monkeypatch.setattr(design_module, "coarse_cells", cells)
    laid().on_cells(60.0)
    assert asked == [(HOLDING_TURNS, 6.0)]
