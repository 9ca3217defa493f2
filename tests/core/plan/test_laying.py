"""One leg with what is laid on it: girths and their errors, pads, heights and padding by hand."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.bandage.wool import Build
from gaiter.core.case import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.padded_leg import BandagedLeg, Padding
from gaiter.core.pressure.surface_map import ring_mean_at
from gaiter.core.spread.draws import TAPE_SD_CM
from tests.strategies import percentile_leg

SPIRAL = Geometry(Pattern.SPIRAL, 0.5, 10.0)


@cache
def leg(*estimated: str) -> BandagedLeg:
    return BandagedLeg(replace(percentile_leg(Sex.MALE, 1), estimated=estimated))


def test_a_girths_error_is_its_landmarks_and_is_shared_between_two() -> None:
    """A tape's error at a measured landmark, 1.8 cm (Gordon et al. 2014) at an estimated one."""
    padded_leg = leg("girth_cm.gaiter").under(Padding())
    places = padded_leg.surface.landmark_s_cm
    gaiter, calf = places[Landmark.GAITER], places[Landmark.CALF]
    s = np.array([gaiter, calf, gaiter + 0.25 * (calf - gaiter), places[Landmark.BELOW_KNEE] + 1])
    error = padded_leg.girths_at(s).error_cm
    order = list(Landmark)
    rows = {site: error[:, order.index(site)] for site in Landmark}
    assert rows[Landmark.GAITER] == pytest.approx([1.8, 0, 0.75 * 1.8, 0])
    assert rows[Landmark.CALF] == pytest.approx([0, TAPE_SD_CM, 0.25 * TAPE_SD_CM, 0])
    assert rows[Landmark.BELOW_KNEE][3] == pytest.approx(TAPE_SD_CM)


def test_girths_at_discs_are_those_of_their_middle() -> None:
    """A disc at the edge of the forefoot lies on one side of it, its middle half a centimetre in.

    Rings stand 1.6 mm apart, and round the bend girths change by up to 3 cm a cm: 0.8 mm of the
    way to the nearest ring are 0.24 cm of girth.
    """
    padded_leg = leg().under(Padding(0.28))
    surface = padded_leg.surface
    found = padded_leg.girths(padded_leg.discs)
    for where, girth in zip(padded_leg.discs, found.girth_cm, strict=True):
        middle = where.weights @ surface.s_cm[where.rings]
        expected = np.interp(middle, surface.s_cm, surface.girth_cm)
        assert girth == pytest.approx(expected, abs=0.25)


def test_an_even_padding_widens_every_girth_by_two_pi_times_it() -> None:
    bare, padded = leg().under(Padding()), leg().under(Padding(0.5))
    for landmark in (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF):
        more = padded.girth_cm(landmark) - bare.girth_cm(landmark)
        assert more == pytest.approx(np.pi, abs=0.02)


def test_start_and_end_of_the_bandage_are_those_asked_for() -> None:
    short = leg().under(Padding(end=Landmark.CALF, start=Landmark.INSTEP))
    assert short.surface.end is Landmark.CALF
    assert short.surface.start is Landmark.INSTEP
    assert leg().under(Padding()).surface.start is Landmark.METATARSAL_HEADS
    assert Landmark.BELOW_KNEE not in short.sites
    assert short.profile[0][-1] < leg().under(Padding()).profile[0][-1]


def test_what_was_laid_once_is_not_laid_again() -> None:
    padded_leg = leg().under(Padding(0.28))
    assert leg().under(Padding(0.28)) is padded_leg
    assert padded_leg.laid(SPIRAL) is padded_leg.laid(SPIRAL)
    assert leg().under(Padding(0.29)) is not padded_leg


def test_built_up_wool_adds_to_the_even_layer() -> None:
    built = leg().under(Padding(0.28, 0.28, Build.CONE))
    assert built.wool.kind is Build.CONE
    extra = np.interp(
        built.surface.landmark_s_cm[Landmark.GAITER], built.surface.s_cm, built.wool.extra_cm
    )
    bare = leg().bare.girth_at_cm(Landmark.GAITER)
    # Even layer and build-up together, to the ripple between rings.
    assert built.girth_cm(Landmark.GAITER) - bare == pytest.approx(
        2 * np.pi * (0.28 + extra), abs=0.05
    )


def test_every_turn_shares_its_heights_of_a_habit_out_wholly() -> None:
    """A turn at the calf is all calf; half-way to the ankle, half and half; beyond, the nearest."""
    padded_leg = leg().under(Padding(0.28))
    laid = padded_leg.laid(SPIRAL)
    heights, middles = laid.heights, laid.turn_s_cm
    assert heights.shape == (laid.strips.turns, 3)
    assert heights.sum(axis=1) == pytest.approx(1)
    s = padded_leg.surface.landmark_s_cm
    ankle, calf, knee = s[Landmark.ANKLE], s[Landmark.CALF], s[Landmark.BELOW_KNEE]
    for middle, (low, middle_share, high) in zip(middles, heights, strict=True):
        up = np.clip((middle - ankle) / (calf - ankle), 0, 1)
        over = np.clip((middle - calf) / (knee - calf), 0, 1)
        assert (low, high) == pytest.approx((1 - up, over))
        assert middle_share == pytest.approx(up - over)


def test_the_turn_that_holds_the_end_presses_nothing() -> None:
    """First turn without stretch; five on foot and ankle; the rest up the leg."""
    laid = leg().under(Padding(0.28)).laid(SPIRAL)
    assert not laid.table[0].any()
    assert laid.table[1:].any()
    foot, up = laid.part_maps
    surface = laid.padded_leg.surface
    calf = np.abs(surface.s_cm - surface.landmark_s_cm[Landmark.CALF]) < 1
    assert not foot[calf].any()
    assert up[calf].any()
    np.testing.assert_allclose(laid.unit_map, foot + up)


def test_pads_lie_on_their_places_and_the_thicker_counts() -> None:
    plain = leg().under(Padding(0.28))
    both = plain.under_pads({"Achilles tendon": 0.4, "heel": 1.0, "nowhere": 2.0, "shin edge": 0.0})
    cells = both.pads_on_cells_cm
    assert cells.max() == pytest.approx(1.0)
    for name, thickness in (("Achilles tendon", 0.4), ("heel", 1.0)):
        s, angle = both.place(name)
        ring = int(np.argmin(np.abs(both.surface.s_cm - s)))
        column = round(angle / (2 * np.pi) * cells.shape[1]) % cells.shape[1]
        assert cells[ring, column] == pytest.approx(thickness)
    # 1 / (1 + curvature x thickness) arrives; 1 where no pad is.
    hoop = both.hoop_curvature
    np.testing.assert_allclose(both.arrives, 1 / (1 + hoop * cells))
    assert plain.arrives.min() == 1


def test_other_pads_change_only_their_own_discs() -> None:
    plain = leg().under(Padding(0.28))
    padded = plain.under_pads({"Achilles tendon": 0.6})
    for before, after in zip(plain.discs, padded.discs, strict=True):
        if after.name == "Achilles tendon":
            assert after.arrives < 1
        else:
            assert after is before
    again = padded.under_pads({})
    assert all(where.arrives == 1 for where in again.discs)
    assert plain.names[:1] == ["metatarsal heads"]
    assert plain.names[len(plain.sites) : -1] == [where.name for where in plain.bony]


def test_another_width_begins_at_the_ankle_after_five_turns_and_a_half() -> None:
    wide = leg().under(Padding(0.28)).laid(Geometry(Pattern.SPIRAL, 0.5, 10.0, 15.0))
    turn = wide.strips.path.turn
    assert 5.5 in turn
    np.testing.assert_array_equal(wide.strips.width_cm, np.where(turn < 5.5, 10.0, 15.0))
    plain = leg().under(Padding(0.28)).laid(SPIRAL)
    assert np.all(np.asarray(plain.strips.width_cm) == 10.0)


def test_a_turn_lies_where_its_middle_does() -> None:
    laid = leg().under(Padding(0.28)).laid(SPIRAL)
    path = laid.strips.path
    for number, s_cm in enumerate(laid.turn_s_cm):
        assert s_cm == np.interp(number + 0.5, path.turn - path.turn[0], path.s_cm)


def test_the_second_turn_presses_and_the_line_up_the_leg_has_its_own_table() -> None:
    padded_leg = leg().under(Padding(0.28))
    laid = padded_leg.laid(SPIRAL)
    assert laid.table[1].any()
    assert laid.table.shape[2] == len(padded_leg.discs)
    assert laid.profile_table.shape[2] == len(padded_leg.profile[1])
    at_discs, at_profile = (laid.sampled(resting=True, profile=one) for one in (False, True))
    np.testing.assert_array_equal(at_discs.table, laid.table)
    np.testing.assert_array_equal(at_profile.table, laid.profile_table)
    assert at_discs.turns.resting
    assert at_discs.turns.foot_turns == 5


def test_the_same_turns_over_other_pads_have_tables_of_their_own() -> None:
    padded_leg = leg().under(Padding(0.28))
    laid = padded_leg.laid(SPIRAL)
    over = laid.on(padded_leg.under_pads({"heel": 1.0}))
    assert over.strips is laid.strips
    row = padded_leg.names.index("heel")
    assert over.table[..., row].sum() < laid.table[..., row].sum()
    np.testing.assert_allclose(over.table[..., :row], laid.table[..., :row])


def test_ring_means_and_thicknesses_are_those_of_the_maps() -> None:
    """No turn of foot and ankle reaches gaiter or calf; half overlap is two thicknesses."""
    laid = leg().under(Padding(0.28)).laid(SPIRAL)
    assert laid.ring_units.shape == (2, 4)
    assert laid.ring_units[0, 2:].tolist() == [0, 0]
    surface = laid.padded_leg.surface
    s = surface.s_cm
    between = (s > surface.landmark_s_cm[Landmark.GAITER]) & (
        s < surface.landmark_s_cm[Landmark.CALF] - 2
    )
    assert laid.thicknesses[between].mean() == pytest.approx(2.0, abs=0.1)
    # 471.278 n t / G with the thicknesses there; climbing turns on a cone take a little.
    there = ring_mean_at(surface, laid.thicknesses, surface.landmark_s_cm[Landmark.CALF])
    calf = 471.278 * there / surface.girth_at_cm(Landmark.CALF)
    assert laid.ring_units[1, 2] == pytest.approx(calf, rel=0.06)
