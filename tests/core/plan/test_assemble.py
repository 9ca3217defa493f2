"""Every number that a plan writes down, worked out by hand on a bandage made of round numbers."""

import math
from dataclasses import replace

import numpy as np
import pytest

from gaiter.core.bandage.coverage import Patch
from gaiter.core.bandage.wool import Build
from gaiter.core.case import Sex
from gaiter.core.case.findings import WoundPlace
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.surface import points_at
from gaiter.core.plan import assemble
from gaiter.core.plan.assemble import DesignedSystem
from gaiter.core.plan.design import Design
from gaiter.core.plan.document import Fit, Layer, SystemPlan
from gaiter.core.plan.padded_leg import Padding
from gaiter.core.plan.pads import JudgedPlace
from gaiter.core.pressure.bridging import BridgedArea
from gaiter.core.spread.draws import Hands, InputGroup
from gaiter.core.spread.importance import Share
from gaiter.core.spread.sampling import Band
from gaiter.core.words import Said
from gaiter.files.catalogue_file import shipped_catalogue
from tests.core.plan.hand_made import (
    COHESIVE,
    ELASTIC,
    PRESSURE,
    SAMPLES,
    STRETCH,
    USUAL_N_PER_CM,
    WOOL_CM,
    bandaged_leg,
    built,
    slope_of,
    tension,
    written,
)
from tests.strategies import case, percentile_leg


@pytest.fixture(scope="module")
def plain() -> SystemPlan:
    return written(built("orthopaedic_wool", "coarse_gauze", ELASTIC))


def elastic(system: SystemPlan) -> Layer:
    return next(layer for layer in system.layers if layer.material == ELASTIC)


def site(system: SystemPlan, landmark: Landmark):
    return next(one for one in system.sites if one.landmark is landmark)


# --- layers: marks, stretch, fabric ---------------------------------------------------------


def test_marks_are_ten_centimetres_times_one_plus_the_stretch(plain: SystemPlan) -> None:
    layer = elastic(plain)
    assert layer.mark_spacing_cm == pytest.approx(14.2)
    assert layer.foot_mark_spacing_cm == pytest.approx(13.0)
    assert layer.stretch_percent == pytest.approx(42)
    assert layer.foot_stretch_percent == pytest.approx(30)


def test_one_stretch_from_foot_to_knee_has_one_mark() -> None:
    layer = elastic(written(built("orthopaedic_wool", ELASTIC, stretches={ELASTIC: (0.5, 0.5)})))
    assert layer.mark_spacing_cm == pytest.approx(15.0)
    assert layer.foot_mark_spacing_cm is None
    assert layer.foot_stretch_percent is None


def test_tensions_follow_from_class_and_stretch(plain: SystemPlan) -> None:
    layer = elastic(plain)
    assert layer.tensions_n_per_cm == pytest.approx((tension(0.30), tension(0.42)), rel=1e-5)
    assert layer.fabric is not None
    assert layer.fabric.usual_tension_n_per_cm == pytest.approx(0.9761, abs=1e-4)
    assert (layer.fabric.usual_stretch, layer.fabric.locking_stretch) == (0.5, 2.18)
    assert (layer.fabric.least_stretch, layer.fabric.largest_stretch) == (0.3, 0.7)


def test_what_presses_nothing_has_neither_mark_nor_tension(plain: SystemPlan) -> None:
    wool, gauze, _elastic = plain.layers
    for layer in (wool, gauze):
        assert not layer.presses
        assert layer.mark_spacing_cm is None
        assert layer.tensions_n_per_cm is None
        assert layer.fabric is None
    assert (wool.stretch_percent, gauze.stretch_percent) == (0, pytest.approx(10))
    assert [layer.number for layer in plain.layers] == [1, 2, 3]
    assert all((layer.width_cm, layer.overlap) == (10, 0.5) for layer in plain.layers)


def test_a_layer_that_only_holds_has_a_tension_and_no_mark() -> None:
    made = built("orthopaedic_wool", ELASTIC)
    layers = tuple(replace(layer, rests=True) for layer in made.design.layers)
    layer = elastic(written(replace(made, design=replace(made.design, layers=layers))))
    assert layer.mark_spacing_cm is None
    assert layer.fabric is None
    assert layer.tensions_n_per_cm is not None


def chords_cm(made: DesignedSystem) -> tuple[float, float]:
    """Length of the elastic layer's middle line as chords in space: on foot and ankle, up the leg.

    The foot ends after five and a half turns, where the ankle is.
    """
    strips = made.design.layers[0].laid.strips
    path = strips.path
    points = points_at(strips.surface, path.s_cm, -2 * np.pi * path.turn)
    chords = np.linalg.norm(np.diff(points, axis=0), axis=1)
    on_foot = path.turn[1:] <= 5.5
    return float(chords[on_foot].sum()), float(chords[~on_foot].sum())


def test_the_roll_is_shorter_than_the_way_by_its_stretch() -> None:
    made = built("orthopaedic_wool", ELASTIC)
    layer = elastic(written(made))
    foot, leg = chords_cm(made)
    # A chord of a forty-eighth of a turn is 0.07 % short; at the cut one belongs to both.
    assert layer.length_cm == pytest.approx(foot + leg, rel=2e-3)
    assert layer.relaxed_length_cm == pytest.approx(foot / 1.30 + leg / 1.42, rel=2e-3)
    path = made.design.layers[0].laid.strips.path
    by_part = np.where(path.turn < 5.5, 1.30, 1.42)
    assert layer.relaxed_length_cm == pytest.approx((path.step_cm / by_part).sum(), rel=1e-9)
    assert layer.rolls == 1
    assert layer.spare_cm == pytest.approx(300 - layer.relaxed_length_cm)
    # Started at the front, a part turn counts whole.
    assert layer.turns == math.ceil(-path.angle[-1] / (2 * np.pi))


def test_wool_lies_on_the_skin_and_what_follows_lies_on_the_wool(plain: SystemPlan) -> None:
    """Half a thickness out, every turn is 2 pi x 0.2825 cm longer: about 11 turns of it."""
    wool, gauze, pressing = plain.layers
    assert gauze.length_cm == pressing.length_cm
    longer = gauze.length_cm - wool.length_cm
    assert longer == pytest.approx(wool.turns * 2 * np.pi * WOOL_CM, rel=0.1)


def test_gauze_has_no_thickness_that_counts() -> None:
    layers = ("orthopaedic_wool", "coarse_gauze", "coarse_gauze", ELASTIC)
    _, first, second, _ = written(built(*layers)).layers
    assert second.length_cm == first.length_cm


def test_a_second_layer_of_wool_lies_on_the_first_and_takes_no_wool_for_pads() -> None:
    made = built("orthopaedic_wool", "orthopaedic_wool", ELASTIC, turns=4)
    first, second, _ = written(made).layers
    assert second.length_cm - first.length_cm == pytest.approx(
        first.turns * 2 * np.pi * WOOL_CM, rel=0.1
    )
    # Four turns of 29 cm on top: 117 cm.
    assert first.rolls == math.ceil((first.relaxed_length_cm + 4 * 29.2) / 350) == 2
    assert second.rolls == math.ceil(second.relaxed_length_cm / 350) == 1


def test_wool_for_pads_is_taken_from_the_wool_and_not_from_the_paste_under_it() -> None:
    paste, wool, _ = written(built("zinc_paste", "orthopaedic_wool", ELASTIC, turns=9)).layers
    assert paste.rolls == math.ceil(paste.relaxed_length_cm / 600) == 1
    assert wool.rolls == 2


def test_a_join_is_saved_by_a_double_length_roll(plain: SystemPlan) -> None:
    wool, gauze, pressing = plain.layers
    assert gauze.rolls == 2
    assert len(gauze.joins) == 1
    assert "One double-length roll saves the join." in gauze.note
    assert "double-length" not in wool.note.text + pressing.note.text


def test_another_width_up_the_leg_starts_with_a_new_roll_at_the_ankle() -> None:
    layer = elastic(written(built("orthopaedic_wool", ELASTIC, leg_width_cm=12.0)))
    assert (layer.width_cm, layer.leg_width_cm) == (10, 12)
    assert layer.rolls == 2
    # After five and a half turns: on the sixth.
    assert layer.joins[0].text.startswith("turn 6, ")
    assert "double-length" not in layer.note
    one_width = elastic(written(built("orthopaedic_wool", ELASTIC)))
    assert one_width.joins == ()


def wounded(**wound):
    """The leg with one open wound."""
    changes = {"legs.right.findings.wound": "leg", "legs.right.wound": wound}
    return case(**changes).legs[Side.RIGHT]


def test_the_wound_lies_where_its_name_says() -> None:
    """On the calf: at the back, 4 cm under the largest girth."""
    made = built("orthopaedic_wool", ELASTIC, leg=wounded(place=WoundPlace.CALF))
    surface = made.design.padded_leg.surface
    back = surface.points_cm[:, surface.section_cm.shape[2] // 2]
    s_cm = surface.landmark_s_cm[Landmark.CALF] - 4
    assert made.wound_cm == pytest.approx([np.interp(s_cm, surface.s_cm, axis) for axis in back.T])
    assert built("orthopaedic_wool", ELASTIC).wound_cm is None


# --- wool for pads, hollows and build-up ----------------------------------------------------


def place(name: str = "Achilles tendon", **about) -> JudgedPlace:
    usual = {
        "band": Band(40.0, 20.0, 90.0),
        "bare_high_mmhg": 130.0,
        "chance_above": 0.0,
        "maximum_mmhg": 120.0,
        "pad_cm": 0.0,
        "exceeds": False,
    }
    return JudgedPlace(name, **{**usual, **about})


def test_extra_wool_is_turns_pads_and_hollows() -> None:
    """Sheets are half a layer, 1.41 mm, and 5.5 cm long: twice 1.25 cm of disc, 1.5 of bevel."""
    made = built("orthopaedic_wool", ELASTIC, turns=3, places=(place(pad_cm=1.0), place("heel")))
    girth = made.design.padded_leg.surface.girth_at_cm(Landmark.GAITER)
    hollow = assemble.Bridged(place="hollow", area_cm2=3.0, depth_mm=4.3)
    # 10 mm are 7.1 sheets: 8; 4.3 mm are 3.04: 4.
    assert made.extra_wool_cm(()) == pytest.approx(3 * girth + 8 * 5.5)
    assert made.extra_wool_cm((hollow,)) == pytest.approx(3 * girth + (8 + 4) * 5.5)
    assert made.extra_wool_cm((hollow, hollow)) == pytest.approx(3 * girth + (8 + 8) * 5.5)


@pytest.mark.parametrize(("more", "rolls"), [(0, 1), (1, 2)])
def test_a_roll_of_wool_more_is_taken_when_the_pads_need_it(more: int, rolls: int) -> None:
    """As many sheets of 5.5 cm as the layer leaves of its roll fit, one more does not."""
    plain, _ = written(built("orthopaedic_wool", ELASTIC)).layers
    left_cm = shipped_catalogue()["orthopaedic_wool"].relaxed_length_cm - plain.relaxed_length_cm
    assert plain.spare_cm == pytest.approx(left_cm)
    sheets = left_cm // 5.5 + more
    pad = place(pad_cm=(sheets - 0.5) * WOOL_CM / 2)
    wool, _ = written(built("orthopaedic_wool", ELASTIC, places=(pad,))).layers
    assert wool.rolls == rolls


def test_pads_are_written_in_millimetres_and_only_where_they_are() -> None:
    places = (place(pad_cm=0.6), place("shin edge", pad_cm=0.0), place("instep", pad_cm=1.2))
    system = written(built("orthopaedic_wool", ELASTIC, places=places))
    assert system.pads_mm == pytest.approx({"Achilles tendon": 6.0, "instep": 12.0})


def test_pressure_points_are_padded_or_exceed_and_come_worst_first() -> None:
    def at(high: float) -> Band:
        return Band(high / 2, high / 4, high)

    places = (
        place("shin edge", band=at(100), pad_cm=0.4, bare_high_mmhg=140.0),
        place("instep", band=at(78), maximum_mmhg=60.0, exceeds=True),
        place("heel", band=at(150), exceeds=True, pad_cm=2.0),
        place("fibular neck", band=at(30)),
        place("inner ankle bone", band=at(110), pad_cm=0.2),
        place("gaiter", band=at(70), maximum_mmhg=60.0, exceeds=True),
    )
    points = written(built("orthopaedic_wool", ELASTIC, places=places)).pressure_points
    # 78/60 above 150/120; then what its pad answers, 110/120 above 100/120.
    assert [one.place for one in points] == ["instep", "heel", "inner ankle bone", "shin edge"]
    instep, heel, _bone, shin = points
    assert (heel.median_mmhg, heel.high_mmhg, heel.maximum_mmhg) == (75, 150, 120)
    assert (heel.padding_mm, instep.padding_mm, shin.padding_mm) == (20, None, 4)
    assert shin.bare_high_mmhg == 140
    assert (heel.overstated, instep.overstated, shin.overstated) == (False, True, False)
    assert not shin.exceeds


# --- pressures at the sites -----------------------------------------------------------------


def test_a_sites_row_is_the_middle_and_the_middle_nine_tenths(plain: SystemPlan) -> None:
    """Of 0.1, 0.2 ... 100 mmHg half lie under 50.05, a twentieth under 5.095 and over 95.005."""
    for row in plain.sites:
        assert row.median_mmhg == pytest.approx(50.05)
        assert row.low_mmhg == pytest.approx(5.095)
        assert row.high_mmhg == pytest.approx(95.005)


def test_chances_are_counted_and_both_ends_of_a_range_lie_in_it(plain: SystemPlan) -> None:
    """Policy: ankle 0.8 to 1.3 of the gaiter's range, never above 60; calf from 0.5; knee 0.3."""
    expected = {
        Landmark.ANKLE: (24, 60, 0.361),
        Landmark.GAITER: (30, 50, 0.201),
        Landmark.CALF: (15, 50, 0.351),
        Landmark.BELOW_KNEE: (9, 50, 0.411),
    }
    for landmark, (low, high, chance) in expected.items():
        row = site(plain, landmark)
        assert (row.target_low_mmhg, row.target_high_mmhg) == pytest.approx((low, high))
        assert row.chance_in_range == pytest.approx(chance)
        # 60.1 to 100: of a thousand bandages 400 above 60, and none counts that equals it.
        assert row.chance_above_maximum == pytest.approx(0.4)
        assert row.maximum_mmhg == 60


def test_the_foot_has_its_own_maximum_and_no_range(plain: SystemPlan) -> None:
    for landmark in (Landmark.METATARSAL_HEADS, Landmark.INSTEP):
        row = site(plain, landmark)
        assert row.maximum_mmhg == 55
        assert row.chance_above_maximum == pytest.approx(0.45)
        assert row.target_low_mmhg is None
        assert row.target_high_mmhg is None
        assert row.chance_in_range is None


def test_the_mean_round_the_limb_is_that_of_the_map(plain: SystemPlan) -> None:
    for row in plain.sites:
        assert row.ring_mean_mmhg == pytest.approx(PRESSURE, rel=1e-5)
        assert row.thicknesses == pytest.approx(2.0)


def test_girths_are_over_the_wool(plain: SystemPlan) -> None:
    """The tape reads 2 pi x 0.2825 = 1.77 cm more than on the skin."""
    measured = percentile_leg(Sex.FEMALE, 1).girth_cm
    for row in plain.sites:
        # Along the leg the surface may miss a girth by a millimetre between rings.
        assert row.girth_cm == pytest.approx(measured[row.landmark] + 1.775, abs=0.1)


def test_a_pad_widens_the_ring_and_lowers_its_mean_by_as_much() -> None:
    bare = site(written(built("orthopaedic_wool", ELASTIC)), Landmark.GAITER)
    over = site(
        written(built("orthopaedic_wool", ELASTIC, pads_cm={"gaiter": 1.0})), Landmark.GAITER
    )
    assert over.girth_cm > bare.girth_cm + 0.5
    # The mean round a convex ring is tension over girth.
    assert over.ring_mean_mmhg * over.girth_cm == pytest.approx(
        bare.ring_mean_mmhg * bare.girth_cm, rel=1e-6
    )


def test_the_profile_is_the_band_at_its_places(plain: SystemPlan) -> None:
    """Every 1.5 cm, half a disc (1.25 cm) inside both ends."""
    surface = bandaged_leg().under(Padding(WOOL_CM, WOOL_CM)).surface
    assert plain.profile.s_cm[0] == pytest.approx(surface.start_s_cm + 1.25)
    np.testing.assert_allclose(np.diff(plain.profile.s_cm), 1.5)
    assert surface.end_s_cm - 1.25 - 1.5 < plain.profile.s_cm[-1] <= surface.end_s_cm - 1.25
    made = built("orthopaedic_wool", ELASTIC)
    made.design.__dict__["profile_mmhg"] = np.stack([SAMPLES, 2 * SAMPLES])
    profile = written(made).profile
    assert profile.median_mmhg == pytest.approx((50.05, 100.1))
    assert profile.low_mmhg == pytest.approx((5.095, 10.19))
    assert profile.high_mmhg == pytest.approx((95.005, 190.01))


def test_the_chance_of_every_site_is_the_designs() -> None:
    made = built("orthopaedic_wool", ELASTIC)
    made = replace(made, design=replace(made.design, chance_in_range=0.625))
    assert written(made).chance_every_site_in_range == 0.625


def test_shares_of_the_spread_are_percent_largest_first() -> None:
    made = built("orthopaedic_wool", ELASTIC)
    groups = list(InputGroup)
    shares = {groups[0]: 0.2, groups[1]: 0.55, groups[2]: 0.25}
    made.design.__dict__["spread_from"] = {
        group: Share(first=share / 2, total=share) for group, share in shares.items()
    }
    found = [(one.source, one.percent) for one in written(made).spread_from]
    assert found == [(groups[1], pytest.approx(55)), (groups[2], 25), (groups[0], 20)]


def test_the_basis_is_what_was_sampled_with() -> None:
    hands = Hands(bias_sd=0.1, scatter_sd=0.2, habit=(0.01, 0.02, 0.03))
    basis = written(built("orthopaedic_wool", ELASTIC, hands=(hands,))).basis
    assert basis is not None
    (one,) = basis.hands
    assert (one.bias_sd, one.scatter_sd, one.habit) == (0.1, 0.2, (0.01, 0.02, 0.03))
    assert (basis.remainder_median, basis.remainder_range95) == (0.92, 0.35)
    assert basis.padding_cm == (0.0, WOOL_CM, 0.565)


# --- standing -------------------------------------------------------------------------------


def rise(resting: float, slope: float, at: float, stretch: float, girth: float, by: float) -> float:
    """Laplace twice: the tension that the growth adds, on the grown radius."""
    share = by / girth
    grown = at + slope * (1 + stretch) * share
    return resting * (grown / at / (1 + share) - 1)


def test_standing_up_adds_what_the_growth_of_the_calf_stretches(plain: SystemPlan) -> None:
    girth = site(plain, Landmark.GAITER).girth_cm
    curve = slope_of(STRETCH, USUAL_N_PER_CM, 2.18)
    at_75 = rise(50.05, curve, tension(STRETCH), STRETCH, girth, 0.75)
    at_100 = rise(50.05, curve, tension(STRETCH), STRETCH, girth, 1.0)
    standing = plain.standing
    # The median of the samples at rest, 0.75 cm from the policy.
    assert standing.girth_rise_cm == 0.75
    assert standing.static_stiffness_mmhg == pytest.approx(at_75, rel=1e-4)
    assert standing.pressure_mmhg == pytest.approx(50.05 + at_75, rel=1e-4)
    assert standing.per_cm_mmhg == pytest.approx(at_100, rel=1e-4)
    assert at_75 < 10
    assert not standing.stiff
    assert not standing.at_least


def test_layers_share_the_pressure_as_the_map_does_and_paste_makes_it_stiff() -> None:
    """Long-stretch over cohesive: each rises by its own curve, on its share of the rest.

    Paste does not stretch, what it adds is not known: rigid bandages are the stiffest there are,
    so the others' rise is the least.
    """
    stretches = {ELASTIC: (0.5, 0.5), COHESIVE: (0.6, 0.4)}
    system = written(
        built("zinc_paste", "orthopaedic_wool", ELASTIC, COHESIVE, stretches=stretches)
    )
    # Cohesive: class 30 mmHg, locking at 108 %.
    usual = 0.75 * USUAL_N_PER_CM
    cohesive = {e: tension(e, usual, 1.08) for e in (0.4, 0.6)}
    # Paste: 20 mmHg on the same ankle, one tension on foot and leg.
    paste = 60 * 0.5 * USUAL_N_PER_CM
    parts = [60 * tension(0.5), 10 * cohesive[0.4] + 50 * cohesive[0.6]]
    whole = paste + sum(parts)
    girth = site(system, Landmark.GAITER).girth_cm
    curves = [
        (slope_of(0.5, USUAL_N_PER_CM, 2.18), tension(0.5), 0.5),
        (slope_of(0.6, usual, 1.08), cohesive[0.6], 0.6),
    ]
    expected = sum(
        rise(50.05 * part / whole, *curve, girth, 0.75)
        for part, curve in zip(parts, curves, strict=True)
    )
    assert system.standing.static_stiffness_mmhg == pytest.approx(expected, rel=1e-4)
    assert expected < 10
    assert (system.standing.stiff, system.standing.at_least) == (True, True)


def test_stiff_starts_exactly_at_the_policys_number() -> None:
    made = built("orthopaedic_wool", ELASTIC)
    stiffness = written(made).standing.static_stiffness_mmhg

    def at(limit: float):
        values = dict(made.policy.values)
        values["stiff_from_mmhg"] = values["stiff_from_mmhg"].model_copy(update={"value": limit})
        return replace(made, policy=made.policy.model_copy(update={"values": values}))

    assert written(at(stiffness)).standing.stiff
    assert not written(at(stiffness + 0.001)).standing.stiff


# --- hollows, gaps, wrinkles, dressing ------------------------------------------------------


def patch(made: DesignedSystem, name: str, cells=None, area_cm2: float = 3.5) -> Patch:
    shape = made.design.padded_leg.surface.section_cm.shape[1:]
    return Patch(name, area_cm2, np.zeros(shape, bool) if cells is None else cells)


def test_hollows_are_written_with_their_depth_in_millimetres(monkeypatch) -> None:
    made = built("orthopaedic_wool", ELASTIC)
    hollow = BridgedArea(patch(made, "hollow behind the inner ankle bone"), 0.35)
    monkeypatch.setattr(assemble, "bridged_areas", lambda *_: (hollow,))
    system = written(made)
    (one,) = system.bridged
    assert (one.place, one.area_cm2, one.depth_mm) == (hollow.patch.place, 3.5, 3.5)
    # Filling it takes three sheets of 1.41 mm, 16.5 cm; the roll has them.
    assert system.layers[0].rolls == 1


@pytest.mark.parametrize(
    ("wound", "off_cm", "name", "fault"),
    [
        (False, 0.0, "inner side of the calf", False),
        (False, 0.0, "heel", True),
        (True, 3.7, "inner side of the calf", True),
        (True, 4.1, "inner side of the calf", False),
    ],
)
def test_a_gap_is_a_fault_over_the_heel_and_within_4_cm_of_the_wound(
    monkeypatch, wound: bool, off_cm: float, name: str, fault: bool
) -> None:
    """Straight above a wound on the inner side of the gaiter."""
    leg = wounded(place=WoundPlace.GAITER) if wound else case().legs[Side.RIGHT]
    made = built("orthopaedic_wool", ELASTIC, leg=leg)
    surface = made.design.padded_leg.surface
    column = surface.section_cm.shape[2] // 4
    up = surface.points_cm[:, column]
    middle = np.array(
        [np.interp(surface.landmark_s_cm[Landmark.GAITER], surface.s_cm, axis) for axis in up.T]
    )
    distance = np.linalg.norm(up - middle, axis=1)
    above = surface.s_cm > surface.landmark_s_cm[Landmark.GAITER]
    cells = np.zeros(surface.section_cm.shape[1:], bool)
    cells[np.flatnonzero(above & (distance > off_cm))[0], column] = True
    monkeypatch.setattr(assemble, "gaps", lambda *_: (patch(made, name, cells),))
    (gap,) = written(made).gaps
    assert (gap.place, gap.area_cm2, gap.fault) == (name, 3.5, fault)


def test_an_edge_stretched_by_more_than_35_percent_wrinkles_and_is_named_once() -> None:
    """Half the width is 5 cm: a bend above 0.07 per cm stretches the edge by 35 %."""
    made = built("orthopaedic_wool", ELASTIC)
    (layer,) = made.design.layers
    path = layer.laid.strips.path
    bend = np.zeros_like(path.turn)
    at = {turn: int(np.argmin(np.abs(path.turn - turn))) for turn in (7.75, 9.0)}
    bend[at[7.75]] = bend[at[7.75] + 1] = -0.0702
    bend[at[9.0]] = 0.0698
    layer.laid.strips = replace(layer.laid.strips, path=replace(path, sideways_bend=bend))
    (words,) = written(made).wrinkle_risk
    # Three quarters of the eighth turn: the inner side.
    assert words.text.startswith("turn 8, inner side of the ")


def dressed(curvature: float = 0.2, **wound) -> str:
    leg = wounded(place=WoundPlace.GAITER, **wound)
    made = built("orthopaedic_wool", ELASTIC, leg=leg)
    padded_leg = made.design.padded_leg
    shape = padded_leg.surface.section_cm.shape[1:]
    padded_leg.__dict__["hoop_curvature"] = np.full(shape, curvature)
    return written(made).dressing


@pytest.mark.parametrize(
    ("wound", "half_cm"),
    [
        # Half of the width and 2 cm all round; without a width a square of 4 cm.
        ({"dressing_thickness_mm": 8, "length_cm": 5, "width_cm": 3}, 3.5),
        ({"dressing_thickness_mm": 8}, 4.0),
        ({"dressing_thickness_mm": 2.5, "length_cm": 5, "width_cm": 3}, 3.5),
    ],
)
def test_a_bulky_dressing_adds_its_own_curvature(wound, half_cm: float) -> None:
    """An arc t high on h to either side has curvature 2 t / h^2; the leg's here is 0.2 per cm."""
    under = 0.92 * PRESSURE
    added = under * 2 * wound["dressing_thickness_mm"] / 10 / half_cm**2 / 0.2
    words = dressed(**wound)
    assert f"A dressing {wound['dressing_thickness_mm']:g} mm thick at the " in words
    assert f"adds about {added:.0f} mmHg there, {under + added:.0f} in all" in words


def test_in_a_hollow_a_dressing_adds_nothing() -> None:
    under = 0.92 * PRESSURE
    words = dressed(curvature=0.0, dressing_thickness_mm=8)
    assert f"adds about 0 mmHg there, {under:.0f} in all" in words
    assert words.values["added"] == 0


def test_no_dressing_or_a_thin_one_says_nothing(plain: SystemPlan) -> None:
    assert plain.dressing.text == ""
    assert dressed().text == ""


# --- stock, dates, words --------------------------------------------------------------------


def test_a_week_changed_every_four_days_takes_two_bandages(plain: SystemPlan) -> None:
    """Twice in seven days: wool twice, washable elastic a second set, tape six strips."""
    assert (plain.change_days, plain.change_reason.text, plain.regular_days) == (2, "first look", 4)
    week = {one.material: (one.now.text, one.week.text) for one in plain.supplies}
    assert week["orthopaedic_wool"] == ("1 roll", "2 rolls")
    assert week[ELASTIC] == ("1 roll", "2 rolls, wash")
    assert week["tape"] == ("3 strips of 8 cm", "6 strips, 48 cm")


def test_the_padding_is_written_so_that_it_can_be_laid_again() -> None:
    made = built("orthopaedic_wool", ELASTIC, turns=3)
    padding = written(made).padding
    assert (padding.even_cm, padding.layer_cm) == (WOOL_CM, WOOL_CM)
    assert (padding.build, padding.end, padding.start) == (Build.EVEN, Landmark.BELOW_KNEE, None)
    assert padding.extra_turns == 3


def test_what_was_judged_is_written_unchanged() -> None:
    verdict = {
        "fit": Fit.TO_ACCEPT,
        "reason": Said("likely 50"),
        "reasons_for": (Said("for"),),
        "reasons_against": (Said("against"),),
        "to_accept": ("instep",),
    }
    by_hand = Said("stretch 42%")
    made = built("orthopaedic_wool", ELASTIC, by_hand=(by_hand,), for_hands=Said("made for P"))
    system = written(made, **verdict)
    assert (system.outcome, system.outcome_reason.text) == (Fit.TO_ACCEPT, "likely 50")
    assert (system.reasons_for, system.reasons_against) == ((Said("for"),), (Said("against"),))
    assert (system.to_accept, system.by_hand) == (("instep",), (by_hand,))
    assert system.for_hands.text == "made for P"


def test_the_hand_made_design_is_what_the_checks_take_it_for() -> None:
    """The premise of this file: 44.4 mmHg on every cell."""
    design: Design = built("orthopaedic_wool", ELASTIC).design
    assert pytest.approx(44.364, abs=0.01) == PRESSURE
    np.testing.assert_allclose(design.pressure_map_mmhg, PRESSURE, rtol=1e-5)
