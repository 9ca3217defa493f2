"""Bandages that agree with what was read: weights, overlaps and turns worked out by hand."""

from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest

from gaiter.core.applied import sampled
from gaiter.core.applied.sampled import (
    SAMPLES,
    WIDEST_HANDS,
    SampledApplied,
    sampled_after,
    spread_inputs_of,
    turn_at,
)
from gaiter.core.case import SiteOffset
from gaiter.core.landmark import Landmark
from gaiter.core.spread.draws import Hands, SiteAt
from tests.core.applied.applied_plan import marks_cm, plan, readings, system


@cache
def after(sensor=(), overlap_cm: float | None = None, marks: bool = False) -> SampledApplied:
    """Bandages after these sensor values, an overlap, and the planned marks."""
    given = readings(
        None if marks else [],
        sensor or (("gaiter", 40.0),),
        overlaps=[] if overlap_cm is None else [{"layer": 3, "cm": overlap_cm}],
    )
    if not sensor:
        given = given.model_copy(update={"sensor": ()})
    return sampled_after(next(iter(plan().legs.values())), system(), given, 5)


def unread() -> SampledApplied:
    """The same bandages before anything was read: nothing is moved, all are kept."""
    return after()


def row(landmark: Landmark) -> int:
    return list(unread().padded_leg.sites).index(landmark)


@pytest.mark.parametrize("mmhg", [25.0, 40.0, 55.0])
def test_a_sensors_value_weighs_every_bandage_by_how_well_it_agrees(mmhg: float) -> None:
    """Its error is 3 mmHg and a tenth of the pressure there, as squares; then Bayes' rule."""
    before = unread().pressure_mmhg[row(Landmark.GAITER)]
    sd = np.sqrt(9 + (0.1 * before) ** 2)
    weight = np.exp(-(((mmhg - before) / sd) ** 2) / 2) / sd
    weight /= weight.sum()
    made = after((("gaiter", mmhg),))
    found = made.pressure_mmhg[row(Landmark.GAITER)]
    # 4096 evenly spaced picks: less than a tenth of a mmHg.
    assert found.mean() == pytest.approx((weight * before).sum(), abs=0.1)
    spread = np.sqrt((weight * before**2).sum() - (weight * before).sum() ** 2)
    assert found.std() == pytest.approx(spread, rel=0.02)
    surprise = (mmhg - before.mean()) / np.sqrt(before.var() + (sd**2).mean())
    assert made.sensor_surprise == pytest.approx((surprise,))
    # Everything else of the same bandages goes with them.
    remainder = (weight * unread().remainder).sum()
    assert made.remainder.mean() == pytest.approx(remainder, abs=2e-3)
    calf = (weight * unread().pressure_mmhg[row(Landmark.CALF)]).sum()
    # A mean of 4096 picks of other places of the same bandages: a sixtieth of their spread.
    assert made.pressure_mmhg[row(Landmark.CALF)].mean() == pytest.approx(calf, abs=0.15)


def test_two_sensors_weigh_together() -> None:
    rows = [row(Landmark.GAITER), row(Landmark.CALF)]
    before, read = unread().pressure_mmhg[rows], np.array([[35.0], [20.0]])
    # The calf's own share: 0.08 of the clinic's offset and 0.12 of this leg's curvature.
    sd = np.hypot(3, np.array([[0.1], [np.hypot(0.08, 0.12)]]) * before)
    weight = (np.exp(-(((read - before) / sd) ** 2) / 2) / sd).prod(axis=0)
    weight /= weight.sum()
    made = after((("gaiter", 35.0), ("calf", 20.0)))
    for at, expected in zip(rows, (weight * before).sum(axis=1), strict=True):
        assert made.pressure_mmhg[at].mean() == pytest.approx(expected, abs=0.1)
    assert len(made.sensor_surprise) == 2


def test_without_a_sensor_every_bandage_is_kept_and_theory_has_no_remainder() -> None:
    made = unread()
    assert made.sensor_surprise == made.spacing_surprise == ()
    assert made.pressure_mmhg.shape[1] == SAMPLES == 4096
    np.testing.assert_allclose(made.theory_mmhg * made.remainder, made.pressure_mmhg)
    assert np.median(made.remainder) == pytest.approx(0.88, rel=0.01)


def test_an_unread_bandage_lies_as_planned() -> None:
    for site in system().sites:
        assert np.median(unread().pressure_mmhg[row(site.landmark)]) == pytest.approx(
            site.median_mmhg, rel=0.02
        )
    assert np.median(unread().profile_mmhg, axis=1) == pytest.approx(
        system().profile.median_mmhg, rel=0.05
    )


@pytest.mark.parametrize(("cm", "overlap"), [(4.0, 0.42), (8.0, 0.74)])
def test_an_overlap_counts_four_fifths_of_what_was_read(cm: float, overlap: float) -> None:
    """Hands stray by 1 cm, one reading by half: trust 1 / (1 + 0.25); half is planned.

    0.5 + 0.8 x (0.4 - 0.5) and 0.5 + 0.8 x (0.8 - 0.5).
    """
    (laid,) = after(overlap_cm=cm).laid
    assert laid.geometry.overlap == pytest.approx(overlap)
    assert (laid.geometry.pattern, laid.geometry.width_cm) == (system().layers[-1].pattern, 10)


def test_spacings_draw_the_turn_that_was_read_to_its_mark() -> None:
    made = after(marks=True)
    stretch = made.stretch[0][made.turn_at(3, Landmark.CALF)]
    planned = system().layers[-1].stretch_percent / 100
    # Read to 2 mm on 10 cm; what is left is about that.
    assert stretch.mean() == pytest.approx(planned, abs=0.01)
    assert 0.01 < stretch.std() < 0.03
    assert len(made.spacing_surprise) == 3


def test_the_turn_at_a_place_is_the_one_whose_middle_lies_nearest() -> None:
    (laid,) = unread().laid
    for place in (Landmark.ANKLE, Landmark.CALF, Landmark.BELOW_KNEE):
        turn = turn_at(laid, place)
        assert turn >= 5
        path = laid.strips.path
        middles = np.interp(np.arange(laid.strips.turns) + 0.5, path.turn, path.s_cm)
        off = np.abs(middles - laid.padded_leg.surface.landmark_s_cm[place])
        assert off[turn] == off[5:].min()


def test_hands_of_any_day_stray_as_the_widest_that_was_published() -> None:
    """44 +- 19 mmHg at the calf; half of the variance of the logarithm is the day's."""
    assert WIDEST_HANDS.bias_sd == pytest.approx((np.log(1 + (19 / 44) ** 2) / 2) ** 0.5)


def test_the_spread_is_the_plans_own() -> None:
    one = system()
    hands = one.basis.hands[0].model_copy(
        update={"bias_sd": 0.05, "scatter_sd": 0.07, "habit": (0.1, 0.2, 0.3)}
    )
    basis = one.basis.model_copy(
        update={
            "hands": (hands,), "remainder_median": 0.8, "remainder_range95": 0.2,
            "padding_cm": (0.1, 0.2, 0.4),
        }
    )  # fmt: skip
    inputs = spread_inputs_of(one.model_copy(update={"basis": basis}))
    assert inputs.hands == (Hands(0.05, 0.07, (0.1, 0.2, 0.3)),)
    assert (inputs.remainder_median, inputs.remainder_range95) == (0.8, 0.2)
    assert inputs.padding_cm == (0.1, 0.2, 0.4)
    with pytest.raises(ValueError, match="the plan keeps no spread"):
        spread_inputs_of(one.model_copy(update={"basis": None}))


# --- the system changed, so that one thing alone decides ------------------------------------


def after_on(of_system: dict, **given) -> SampledApplied:
    """Bandages of the system with these changes, after these readings."""
    one = system().model_copy(update=of_system)
    return sampled_after(next(iter(plan().legs.values())), one, readings(**given), 5)


def hands(**changes):
    """The plan's spread with other hands."""
    basis = system().basis
    (usual,) = basis.hands
    return basis.model_copy(update={"hands": (usual.model_copy(update=changes),)})


def test_turns_of_foot_and_ankle_have_their_own_stretch() -> None:
    """30 % on the first five turns, and the plan's up the leg: the median bandage."""
    *under, layer = system().layers
    assert layer.stretch_percent > 33
    tensions = (float(layer.fabric.curve.tension_n_per_cm(0.3)), layer.tensions_n_per_cm[1])
    own = layer.model_copy(update={"foot_stretch_percent": 30.0, "tensions_n_per_cm": tensions})
    one = system().model_copy(update={"layers": (*under, own)})
    nothing = readings([], (("gaiter", 40.0),)).model_copy(update={"sensor": ()})
    made = sampled_after(next(iter(plan().legs.values())), one, nothing, 5)
    middle = np.median(made.stretch[0], axis=1)
    assert middle[:5] == pytest.approx(0.3, abs=0.01)
    assert middle[5:] == pytest.approx(layer.stretch_percent / 100, abs=0.01)


def test_a_habit_moves_the_stretch_that_is_expected() -> None:
    """Hands that pull 20 % harder at every height, with hardly any spread."""
    steady = hands(bias_sd=1e-4, scatter_sd=1e-4, habit=(np.log(1.2),) * 3)
    made = after_on({"basis": steady}, spacings_cm=[], sensor=[("gaiter", 40.0)])
    layer = system().layers[-1]
    expected = layer.fabric.curve.stretch_for(1.2 * layer.tensions_n_per_cm[1])
    assert made.stretch[0][5:] == pytest.approx(float(expected), abs=0.002)


@pytest.mark.parametrize("bias_sd", [0.05, 0.6])
def test_a_spacing_is_as_odd_as_the_widest_published_hands_find_it(bias_sd: float) -> None:
    """A reading 0.1 of stretch above the plan, in hands at least as wide as any published.

    The slope of the curve makes d e / d ln t = e (1 - e / lock) of a spread in ln t.
    """
    basis = hands(bias_sd=bias_sd, scatter_sd=0.1)
    layer = system().layers[-1]
    planned = layer.stretch_percent / 100
    made = after_on({"basis": basis}, spacings_cm=[marks_cm() + 1.0])
    wide = max(bias_sd, (np.log(1 + (19 / 44) ** 2) / 2) ** 0.5)
    per_log = planned * (1 - planned / layer.fabric.locking_stretch)
    sd = np.sqrt(per_log**2 * (wide**2 + 0.1**2) + 0.02**2)
    assert made.spacing_surprise == pytest.approx((0.1 / sd,), rel=1e-3)


def test_every_layer_is_drawn_to_its_own_marks() -> None:
    """The elastic bandage twice; the outer one is read at the calf, the inner above the ankle."""
    *under, last = system().layers
    twice = (*under, last, last.model_copy(update={"number": 4}))
    made = after_on(
        {"layers": twice},
        spacings=[
            {"layer": 4, "place": "calf", "cm": marks_cm() + 0.4},
            {"layer": 3, "place": "ankle", "cm": marks_cm() - 0.4},
        ],
    )
    inner, outer = made.stretch
    planned = last.stretch_percent / 100
    assert inner.shape == outer.shape == (last.turns, SAMPLES)
    # A reading is good to 0.02, and hands of 30 % are believed much less.
    assert outer[made.turn_at(4, Landmark.CALF)].mean() == pytest.approx(planned + 0.04, abs=0.01)
    assert inner[made.turn_at(3, Landmark.ANKLE)].mean() == pytest.approx(planned - 0.04, abs=0.01)
    assert outer[made.turn_at(4, Landmark.CALF)].std() < 0.025
    assert inner[made.turn_at(3, Landmark.CALF)].std() > 0.03
    # Two of them press about twice as much; the outer one adds between half and all of its own.
    share = np.median(made.pressure_mmhg / unread().pressure_mmhg.mean(axis=1)[:, None], axis=1)
    assert ((share[:6] > 1.4) & (share[:6] < 2.1)).all()


def test_a_layer_without_planned_tension_presses_nothing() -> None:
    *under, last = system().layers
    idle = last.model_copy(update={"fabric": None, "tensions_n_per_cm": None})
    made = after_on({"layers": (*under, idle)}, spacings_cm=[], sensor=[("gaiter", 40.0)])
    assert (made.pressure_mmhg == 0).all()
    assert (made.profile_mmhg == 0).all()
    assert (made.stretch[0] == 0).all()


def test_a_width_of_its_own_up_the_leg_counts_in_the_overlap() -> None:
    """5 cm of 12 are read where half is planned: four fifths of the way to 5 / 12."""
    *under, last = system().layers
    wide = last.model_copy(update={"overlap": 0.5, "leg_width_cm": 12.0})
    made = after_on({"layers": (*under, wide)}, overlaps=[{"layer": 3, "cm": 5.0}])
    (laid,) = made.laid
    assert laid.geometry.overlap == pytest.approx(0.5 + 0.8 * (5 / 12 - 0.5))
    assert (laid.geometry.width_cm, laid.geometry.leg_width_cm) == (10, 12)


def test_an_overlap_of_another_layer_moves_nothing() -> None:
    *under, last = system().layers
    twice = (*under, last, last.model_copy(update={"number": 4}))
    made = after_on({"layers": twice}, overlaps=[{"layer": 4, "cm": 8.0}])
    assert [laid.geometry.overlap for laid in made.laid] == pytest.approx(
        [0.5, 0.5 + 0.8 * (0.8 - 0.5)]
    )


def test_picks_lie_in_the_middle_of_their_share() -> None:
    """Two bandages of 40 and 46 mmHg: the middles of the halves are at 1/4 and 3/4.

    They are read to 3 mmHg and a tenth, 5 and 5.49 mmHg. Where 37.3 mmHg are read they weigh
    exp(-(2.7 / 5)^2 / 2) / 5 = 0.173 and exp(-(8.7 / 5.49)^2 / 2) / 5.49 = 0.052: the first has
    0.769, and both picks fall on it. At 38.3 it has 0.735, and the second is picked once.
    """
    leg = SimpleNamespace(row_read=[Landmark.GAITER].index)
    pressure = np.array([[40.0, 46.0]])
    for mmhg, expected in ((37.3, [0, 0]), (38.3, [0, 1]), (60.0, [1, 1])):
        picks, _far = sampled._agreeing(
            leg, pressure, readings([], sensor=[("gaiter", mmhg)]), (SiteAt(1.0, 0.1),)
        )
        assert picks.tolist() == expected


def test_a_reading_that_no_bandage_comes_near_picks_the_nearest() -> None:
    """150 mmHg where 5 and 6 are pressed are 48 and 47 standard deviations off."""
    leg = SimpleNamespace(row_read=[Landmark.GAITER].index)
    pressure = np.array([[5.0, 6.0]])
    picks, far = sampled._agreeing(
        leg, pressure, readings([], sensor=[("gaiter", 150.0)]), (SiteAt(1.0, 0.1),)
    )
    assert picks.tolist() == [1, 1]
    # 5.5 are expected, give or take 0.5 and on average sqrt(9 + 30.5 / 100).
    assert far == pytest.approx((144.5 / np.sqrt(0.25 + 9.305),))


def test_a_sensor_at_the_ankle_weighs_bandages_by_their_inner_side() -> None:
    """10 mmHg read on the inner side: Bayes' rule there, and the ring goes with it."""
    inner = unread().padded_leg.names.index("inner side of the ankle")
    before = unread().pressure_mmhg[inner]
    # 0.20 of the clinic's offset and 0.20 of this leg's curvature, as squares.
    sd = np.sqrt(9 + 0.08 * before**2)
    weight = np.exp(-(((10.0 - before) / sd) ** 2) / 2) / sd
    weight /= weight.sum()
    made = after((("ankle", 10.0),))
    assert made.pressure_mmhg[inner].mean() == pytest.approx((weight * before).sum(), abs=0.05)
    ring = (weight * unread().pressure_mmhg[row(Landmark.ANKLE)]).sum()
    assert made.pressure_mmhg[row(Landmark.ANKLE)].mean() == pytest.approx(ring, abs=0.15)
    surprise = (10.0 - before.mean()) / np.sqrt(before.var() + (sd**2).mean())
    assert made.sensor_surprise == pytest.approx((surprise,))


def lognormal(median, log_sd, seed: int = 1):
    """Bandages that differ by one factor, the same at every site: a remainder and nothing else."""
    factor = np.exp(log_sd * np.random.default_rng(seed).standard_normal(40000))
    return np.array(median)[:, None] * factor


def posterior(pressure, sensor, sites):
    """Median and SD of the logarithm of the factor by which the first site's bandages differ."""
    leg = SimpleNamespace(row_read=[place for place, _mmhg in sensor].index)
    picks, _far = sampled._agreeing(leg, pressure, readings([], sensor=sensor), sites)
    log = np.log(pressure[0, picks])
    return np.exp(np.median(log)), log.std()


def test_two_readings_are_the_normal_posterior_in_the_logarithm() -> None:
    """Prior ln 40 +- 0.2, all bandages alike but for their tightness.

    Gaiter 34 where 40 are expected, inner ankle 20 where 20 are. Errors of the logarithm near the
    posterior: hypot(3 / 36, 0.10) = 0.130 and hypot(3 / 18, 0.283) = 0.328. Precisions 25, 59.0
    and 9.3; the mean is off by (59.0 ln 0.85 + 9.3 ln 1) / 93.3 = -0.103, its SD 0.104. A normal
    error of the value instead of its logarithm shifts that by a part of a hundredth.
    """
    sites = (SiteAt(1.0, 0.10), SiteAt(1.0, np.hypot(0.2, 0.2)))
    read = [("gaiter", 34.0), ("ankle", 20.0)]
    median, sd = posterior(lognormal([40.0, 20.0], 0.2), read, sites)
    assert median == pytest.approx(40 * np.exp(-0.103), rel=0.015)
    assert sd == pytest.approx(0.104, rel=0.06)


def test_the_ankle_does_not_outweigh_the_gaiter() -> None:
    """The gaiter says a fifth less, the ankle a fifth more: it stays with the gaiter."""
    inputs = spread_inputs_of(system())
    sites = (inputs.site(Landmark.GAITER), inputs.site(Landmark.ANKLE))
    read = [("gaiter", 32.0), ("ankle", 24.0)]
    median, _sd = posterior(lognormal([40.0, 20.0], 0.2), read, sites)
    assert median < 36


def test_a_clinics_offset_is_in_what_a_sensor_is_expected_to_read() -> None:
    """The clinic's ankles read 0.8 of theory: 16 where 20 are pressed is as expected."""
    read = [("ankle", 16.0)]
    pressed = lognormal([20.0], 0.2)
    known, _ = posterior(pressed, read, (SiteAt(0.8, 0.2),))
    unknown, _ = posterior(pressed, read, (SiteAt(1.0, 0.2),))
    assert known == pytest.approx(20, rel=0.02)
    assert unknown < 18.5
    offset = SiteOffset(bandages=9, legs=5, median=0.8, range95=float(np.expm1(1.96 * 0.2)))
    basis = system().basis.model_copy(update={"site_offsets": {Landmark.ANKLE: offset}})
    inputs = spread_inputs_of(system().model_copy(update={"basis": basis}))
    assert inputs.site(Landmark.ANKLE).log_sd == pytest.approx(0.2)
    assert inputs.site(Landmark.ANKLE).median == 0.8
    assert inputs.site(Landmark.CALF) == SiteAt(1.0, pytest.approx(np.hypot(0.08, 0.12)))


def test_the_ratio_of_two_readings_is_held_against_that_of_the_bandages() -> None:
    """However tight the bandage, gaiter over ankle is 2: only the sites' errors are left.

    60 over 10 is three times that: ln 3 of hypot(3 / 40, 0.10, 3 / 20, 0.2) = 0.279.
    """
    pressure = lognormal([40.0, 20.0], 0.3)
    read = [("gaiter", 60.0), ("ankle", 10.0)]
    leg = SimpleNamespace(row_read=["gaiter", "ankle"].index)
    sites = (SiteAt(1.0, 0.10), SiteAt(1.0, 0.20))

    def pairs(sensor, sites=sites):
        return sampled._pairs(leg, pressure, readings([], sensor=sensor), sites)

    ((one, other, off),) = pairs(read)
    assert (one, other) == (0, 1)
    sd = (0.075**2 + 0.10**2 + 0.15**2 + 0.20**2) ** 0.5
    assert off == pytest.approx(np.log(3) / sd, rel=0.01)
    # Twice as tight at both is no contradiction; a clinic's offset is in what is expected.
    ((_, _, off),) = pairs([("gaiter", 80.0), ("ankle", 40.0)])
    assert off == pytest.approx(0, abs=0.01)
    ((_, _, off),) = pairs(read, (sites[0], SiteAt(0.5, 0.20)))
    assert off == pytest.approx(np.log(1.5) / (0.075**2 + 0.01 + 0.09 + 0.04) ** 0.5, rel=0.01)
    assert pairs([("gaiter", 40.0)]) == ()
    # A sensor that reads nothing is read to its error.
    ((_, _, off),) = pairs([("gaiter", 40.0), ("ankle", 0.0)])
    assert off == pytest.approx(np.log(40 / 3 / 2) / sd, rel=0.01)
