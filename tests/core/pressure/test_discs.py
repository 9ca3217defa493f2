from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import erfc

from gaiter.core.case.person import Sex
from gaiter.core.landmark import Landmark
from gaiter.core.leg.build import leg_surface
from gaiter.core.leg.tube import round_limb
from gaiter.core.pressure.discs import (
    DISC_RADIUS_CM,
    Disc,
    bony_places,
    disc,
    hoop_curvature,
    inner_line,
    judged_sites,
    reading_sites,
    ring,
)
from tests.core.bandage.test_path import cylinder
from tests.strategies import percentile_leg


def test_a_disc_averages_its_own_area() -> None:
    surface = cylinder(5.0)
    where = disc(surface, "test", 20.0, np.pi / 2)
    assert where.weights.sum() == pytest.approx(1)
    assert where.mean(np.ones(surface.section_cm.shape[1:])) == pytest.approx(1)
    # The mean of s over a disc is its centre; half a ring is 0.07 cm.
    s_map = np.broadcast_to(surface.s_cm[:, None], surface.section_cm.shape[1:])
    assert where.mean(s_map) == pytest.approx(20.0, abs=0.07)
    reach = np.abs(surface.s_cm[where.rings] - 20.0)
    assert reach.max() < DISC_RADIUS_CM + 0.25


def test_padding_widens_what_a_disc_reads() -> None:
    bare = leg_surface(percentile_leg(Sex.MALE, 1))
    thick = bare.padded(0.8)
    assert len(disc(thick, "", 25.0, 1.5).rings) > len(disc(bare, "", 25.0, 1.5).rings)


def test_a_pad_lowers_an_even_pressure_by_its_curvature() -> None:
    """On a cylinder of radius r a pad of thickness t lifts the fabric to r + t: P r / (r + t)."""
    surface = cylinder(5.0)
    even = np.full(surface.section_cm.shape[1:], 80.0)
    padded = disc(surface, "", 20.0, 1.0, pad_cm=1.0)
    assert padded.mean(even) == pytest.approx(80 * 5 / 6, rel=1e-3)


def test_a_pad_spreads_a_narrow_peak() -> None:
    surface = cylinder(5.0)
    bare = disc(surface, "", 20.0, 1.0)
    peak = np.zeros(surface.section_cm.shape[1:])
    peak[bare.rings, bare.angles] = 80.0
    padded = bare.under_pad(surface, 1.0)
    assert padded.mean(peak) < 0.8 * 80 * 5 / 6


def test_pads_are_laid_by_name() -> None:
    surface = leg_surface(percentile_leg(Sex.FEMALE, 1))
    pads = {"Achilles tendon": 0.4, "instep": 0.6}
    names = {where.name: where.arrives for where in bony_places(surface, pads)}
    assert names["Achilles tendon"] < 1
    assert names["shin edge"] == 1
    sites = reading_sites(surface, pads)
    assert sites[Landmark.INSTEP].arrives < 1
    assert sites[Landmark.GAITER].arrives == 1


def test_reading_sites_are_on_the_inner_side_and_wholly_under_the_bandage() -> None:
    measured = percentile_leg(Sex.FEMALE, 1)
    surface = leg_surface(measured)
    sites = reading_sites(surface)
    assert set(sites) == set(measured.girth_cm) - {Landmark.HEEL_INSTEP}
    for landmark in (Landmark.ANKLE, Landmark.GAITER, Landmark.CALF):
        where = sites[landmark]
        assert np.median(surface.angle[where.angles]) == pytest.approx(np.pi / 2, abs=0.05)
    assert surface.s_cm[sites[Landmark.BELOW_KNEE].rings].max() < surface.end_s_cm


def test_bony_places_stand_out_of_their_section() -> None:
    surface = leg_surface(percentile_leg(Sex.FEMALE, 1))
    names = {where.name for where in bony_places(surface)}
    assert {"shin edge", "inner ankle bone", "Achilles tendon", "heel"} <= names
    # The fibular neck lies above where this bandage ends.
    assert "fibular neck" not in names


def test_sites_beyond_start_and_end_of_the_bandage_are_not_read() -> None:
    whole = leg_surface(percentile_leg(Sex.FEMALE, 1))
    part = whole.between(Landmark.INSTEP, Landmark.CALF)
    assert set(reading_sites(part)) == {
        Landmark.INSTEP, Landmark.ANKLE, Landmark.GAITER, Landmark.CALF,
    }  # fmt: skip
    names = {where.name for where in bony_places(part)}
    assert "first metatarsal head" not in names
    assert "shin edge" in names
    # At both ends the disc lies wholly under the bandage: a diameter of 2.5 cm inside.
    assert reading_sites(part)[Landmark.CALF].s_cm == pytest.approx(part.end_s_cm - 2.5)
    assert reading_sites(part)[Landmark.INSTEP].s_cm == pytest.approx(part.start_s_cm + 2.5)


def test_the_foot_is_read_half_way_to_its_top_and_the_leg_on_its_inner_side() -> None:
    sites = reading_sites(leg_surface(percentile_leg(Sex.FEMALE, 1)))
    for landmark, where in sites.items():
        in_foot = landmark in (Landmark.METATARSAL_HEADS, Landmark.INSTEP)
        assert np.rad2deg(where.angle) == pytest.approx(45 if in_foot else 90)


def test_the_line_up_the_leg_turns_from_the_top_of_the_foot_to_the_inner_side() -> None:
    surface = leg_surface(percentile_leg(Sex.FEMALE, 1))
    s, discs = inner_line(surface, 2.0)
    assert s[0] == pytest.approx(surface.start_s_cm + 1.25)
    np.testing.assert_allclose(np.diff(s), 2.0)
    assert 0 <= surface.end_s_cm - 1.25 - s[-1] < 2.0
    heel, ankle = (surface.landmark_s_cm[m] for m in (Landmark.HEEL_INSTEP, Landmark.ANKLE))
    for place, where in zip(s, discs, strict=True):
        way = min(max((place - heel) / (ankle - heel), 0), 1)
        assert np.rad2deg(where.angle) == pytest.approx(45 + 45 * way)


def test_a_disc_reads_cells_by_their_area_and_a_millimetre_of_rim() -> None:
    """On a cone cells farther up are larger; a disc of radius 1.25 reads about 4.9 cm2 of skin."""
    surface = cylinder(4.0)
    where = disc(surface, "", 20.0, 0.0)
    half = np.zeros(surface.section_cm.shape[1:])
    half[surface.s_cm > surface.s_cm[int(np.argmin(np.abs(surface.s_cm - 20)))]] = 1
    assert where.mean(half) == pytest.approx(0.5, abs=0.04)
    off = np.linalg.norm(
        surface.points_cm[where.rings, where.angles]
        - surface.points_cm[int(np.argmin(np.abs(surface.s_cm - 20))), 0],
        axis=-1,
    )
    # A rim of half a millimetre: nothing beyond 1.25 and three of it counts.
    assert off.max() < 1.25 + 0.2
    inner = where.weights[off < 1.1]
    assert inner.max() / inner.min() == pytest.approx(1, abs=0.02)


def test_hoop_curvature_of_a_cylinder_and_of_a_hollow() -> None:
    assert hoop_curvature(cylinder(4.0))[150] == pytest.approx(0.25, rel=1e-3)
    surface = cylinder(4.0)
    waist = np.where(np.abs(surface.angle - np.pi) < 0.3, 0.6, 1.0)
    hollow = replace(surface, section_cm=surface.section_cm * waist)
    assert hoop_curvature(hollow).min() == 0


# --- on a tube of radius 4: rings every 0.5 cm, columns every 3.75 degrees -------------------


def smear(off_cm, wide_cm: float):
    """Twice the share that a disc's Gaussian rim, so wide, leaves so far from its middle."""
    return erfc((off_cm - 1.25) / (2**0.5 * wide_cm))


@pytest.mark.parametrize(("padding_cm", "pad_cm", "wide_cm"), [
    (0.0, 0.0, 0.05), (0.04, 0.0, 0.05), (0.3, 0.0, 0.3), (0.3, 0.4, 0.5),
])  # fmt: skip
def test_a_disc_is_smeared_as_widely_as_its_padding(padding_cm, pad_cm, wide_cm) -> None:
    """Straight distances on the tube: rings apart, and the chord of so many columns."""
    tube = replace(round_limb(4), padding_cm=padding_cm)
    where = disc(tube, "", 20.0, np.pi / 2, pad_cm=pad_cm)
    off = np.hypot(
        0.5 * (np.arange(81) - 40)[:, None],
        8 * np.sin(np.pi / 96 * (np.arange(96) - 24)),
    )
    expected = smear(off, wide_cm)
    expected[expected <= 1e-3 * expected.max()] = 0
    found = np.zeros((81, 96))
    found[where.rings, where.angles] = where.weights
    assert found == pytest.approx(expected / expected.sum(), abs=1e-9)
    assert where.arrives == pytest.approx(1 / (1 + pad_cm / 4))


@pytest.mark.parametrize(("share", "read"), [(1.03e-3, True), (0.97e-3, False)])
def test_a_cell_is_read_from_a_thousandth_of_the_middles_share_on(share: float, read: bool) -> None:
    """The cell 2.5 cm up the leg, under wool that lets this share of it count."""
    wool = brentq(lambda wide: smear(2.5, wide) / smear(0.0, wide) - share, 0.2, 0.8)
    where = disc(replace(round_limb(4), padding_cm=wool), "", 20.0, np.pi / 2)
    assert ((where.rings == 45) & (where.angles == 24)).any() == read


def test_on_a_cone_a_cell_counts_by_its_area() -> None:
    """As far up the leg as down it from the middle, cells are as large as their radius."""
    surface = cylinder(2.0, 0.3)
    where = disc(surface, "", 20.0, 0.0)
    middle = int(np.argmin(np.abs(surface.s_cm - 20.0)))
    weight = {ring: where.weights[(where.rings == ring) & (where.angles == 0)].item()
              for ring in (middle - 6, middle + 6)}  # fmt: skip
    radius = 2 + 0.3 * surface.s_cm
    assert weight[middle + 6] / weight[middle - 6] == pytest.approx(
        radius[middle + 6] / radius[middle - 6]
    )


def test_without_a_pad_all_of_it_arrives() -> None:
    here = np.array([0])
    assert Disc("bare", here, here, np.array([1.0]), 0.0, 0.0).mean(np.array([[50.0]])) == 50


@pytest.mark.parametrize(
    ("start", "end"),
    [(Landmark.ANKLE, Landmark.CALF), (Landmark.METATARSAL_HEADS, Landmark.ANKLE)],
)
def test_a_bony_place_where_the_bandage_starts_or_ends_is_judged(start, end) -> None:
    """The Achilles tendon stands at the ankle's own height."""
    part = round_limb(4).between(start, end)
    assert "Achilles tendon" in {where.name for where in bony_places(part)}


def test_the_last_disc_up_the_leg_may_touch_the_end() -> None:
    """From 1.25 to 38.75 of 40 cm in 15 steps of 2.5."""
    s, discs = inner_line(round_limb(4), 2.5)
    assert s == pytest.approx(1.25 + 2.5 * np.arange(16))
    assert len(discs) == 16


def test_the_curvature_round_a_tube_is_one_over_its_radius() -> None:
    assert hoop_curvature(round_limb(4)) == pytest.approx(0.25, abs=1e-9)


# --- the mean round the limb ------------------------------------------------------------------


def test_a_ring_is_every_cell_within_a_discs_radius_up_and_down() -> None:
    """Rings every 0.5 cm: 19 to 21 cm are within 1.25 of 20; both edges belong at 20.25."""
    tube = round_limb(4)
    assert sorted({*tube.s_cm[ring(tube, "", 20.0).rings]}) == [19.0, 19.5, 20.0, 20.5, 21.0]
    band = ring(tube, "ankle", 20.25)
    assert sorted({*tube.s_cm[band.rings]}) == [19.0, 19.5, 20.0, 20.5, 21.0, 21.5]
    assert len(band.rings) == 6 * 96
    assert band.weights == pytest.approx(1 / (6 * 96))
    assert (band.name, band.s_cm, band.is_ring, band.arrives) == ("ankle", 20.25, True, 1.0)


def test_a_ring_counts_cells_by_their_area() -> None:
    """A quarter of a round limb's way counts a quarter; on a cone a ring counts by its radius."""
    tube = round_limb(4)
    quarter = np.where(tube.angle < np.pi / 2, 40.0, 0.0) * np.ones((81, 1))
    assert ring(tube, "", 20.0).mean(quarter) == pytest.approx(10)
    cone = cylinder(2.0, 0.3)
    band = ring(cone, "", 20.0)
    by_ring = {one: band.weights[band.rings == one].sum() for one in sorted({*band.rings})}
    first, last = min(by_ring), max(by_ring)
    radius = 2 + 0.3 * cone.s_cm
    assert by_ring[last] / by_ring[first] == pytest.approx(radius[last] / radius[first])


def test_no_pad_covers_a_ring() -> None:
    tube = round_limb(4)
    band = ring(tube, "", 20.0)
    assert band.under_pad(tube, 1.0) is band


def test_the_mean_curvature_round_a_leg_is_that_of_its_girth() -> None:
    """A closed curve turns by 2 pi once round: over its girth, less what the skin leans."""
    surface = leg_surface(percentile_leg(Sex.FEMALE, 1))
    for landmark in (Landmark.ANKLE, Landmark.CALF):
        band = ring(surface, "", surface.landmark_s_cm[landmark])
        by_girth = 2 * np.pi / surface.girth_at_cm(landmark)
        # The skin leans by up to 15 degrees, a cosine of 0.966.
        assert band.mean(hoop_curvature(surface)) == pytest.approx(by_girth, rel=0.035)


def test_the_ankle_is_judged_round_the_limb_and_every_other_site_where_it_is_read() -> None:
    surface = leg_surface(percentile_leg(Sex.FEMALE, 1))
    pads = {"ankle": 0.5, "calf": 0.5}
    read, judged = reading_sites(surface, pads), judged_sites(surface, pads)
    assert list(judged) == list(read)
    assert [site for site, one in judged.items() if one.is_ring] == [Landmark.ANKLE]
    assert not any(one.is_ring for one in read.values())
    ankle = judged[Landmark.ANKLE]
    assert ankle.s_cm == surface.landmark_s_cm[Landmark.ANKLE]
    assert (ankle.name, ankle.arrives) == ("ankle", 1.0)
    for site in set(read) - {Landmark.ANKLE}:
        assert (judged[site].rings == read[site].rings).all()
        assert judged[site].arrives == read[site].arrives
    assert judged[Landmark.CALF].arrives < 1


def test_a_bandage_that_begins_above_the_ankle_has_no_ring_there() -> None:
    part = round_limb(4).between(Landmark.GAITER, Landmark.CALF)
    assert Landmark.ANKLE not in judged_sites(part)
