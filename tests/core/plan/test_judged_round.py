"""The ankle is judged by the mean round the limb: its row, its neighbours and its words."""

from dataclasses import replace

import numpy as np
import pytest

from gaiter.core.landmark import Landmark
from gaiter.core.plan import SystemPlan
from gaiter.core.plan.pads import padded
from gaiter.core.plan.pressures import SitePressure
from gaiter.core.plan.rebuilt import bandaged_leg_of
from gaiter.core.plan.skin_map import likely_skin_map
from tests.core.applied import applied_plan
from tests.core.plan.hand_made import COHESIVE, ELASTIC, SAMPLES, aim, built, written
from tests.made_up_language import made_up, ordinary_letters

INNER = "inner side of the ankle"


def ankle_of(system: SystemPlan) -> SitePressure:
    return next(site for site in system.sites if site.landmark is Landmark.ANKLE)


def by_hand(ring_mmhg, inner_mmhg):
    """The hand-made bandage with these sampled pressures round the ankle and on its inner side."""
    made = built("orthopaedic_wool", ELASTIC)
    names, pressure = made.design.padded_leg.names, made.design.pressure_mmhg.copy()
    pressure[names.index("ankle")], pressure[names.index(INNER)] = ring_mmhg, inner_mmhg
    return replace(made, design=replace(made.design, pressure_mmhg=pressure))


def test_the_ankles_row_is_judged_round_the_limb_and_names_its_inner_side() -> None:
    """Of 0.1 ... 100 mmHg 400 of 1000 lie above 60, 361 in 24 to 60; half of them on the side."""
    site = ankle_of(written(by_hand(SAMPLES, SAMPLES / 2)))
    assert site.is_ring
    assert site.median_mmhg == pytest.approx(50.05)
    assert site.chance_above_maximum == pytest.approx(0.4)
    assert (site.target_low_mmhg, site.target_high_mmhg) == (24, 60)
    assert site.chance_in_range == pytest.approx(0.361)
    assert site.inner_mmhg == pytest.approx(25.025)


def test_what_the_inner_side_has_judges_nothing() -> None:
    """Ten times as much on a flat place that nobody judges: the same row."""
    one, other = (
        ankle_of(written(by_hand(SAMPLES / 2, inner))) for inner in (SAMPLES, 10 * SAMPLES)
    )
    assert other.inner_mmhg == pytest.approx(10 * one.inner_mmhg)
    assert other.model_copy(update={"inner_mmhg": one.inner_mmhg}) == one


def test_every_other_site_is_judged_where_it_is_read() -> None:
    for site in written(by_hand(SAMPLES, SAMPLES / 2)).sites:
        if site.landmark is not Landmark.ANKLE:
            assert not site.is_ring
            assert site.inner_mmhg == site.median_mmhg
            assert not site.round_words


def test_the_highest_part_of_the_ring_is_told() -> None:
    """Twice as much on a quarter of the ankle: as likely as the gaiter, 50.05 mmHg, and twice."""
    made = by_hand(SAMPLES, SAMPLES)
    assert ankle_of(written(made)).highest_mmhg == pytest.approx(50.05)
    (layer,) = made.design.layers
    surface = made.design.padded_leg.surface
    near = np.abs(surface.s_cm - surface.landmark_s_cm[Landmark.ANKLE]) < 3
    maps = layer.laid.part_maps
    twice = [one.copy() for one in maps]
    for one in twice:
        one[np.ix_(near, range(10, 34))] *= 2
    layer.laid.__dict__["part_maps"] = tuple(twice)
    try:
        # A disc at the end of the quarter reads a little across it, through 2.8 mm of wool.
        assert ankle_of(written(made)).highest_mmhg == pytest.approx(100.1, rel=0.05)
    finally:
        layer.laid.__dict__["part_maps"] = maps


def test_on_a_leg_with_a_flat_inner_ankle_a_sensor_reads_less_than_is_judged() -> None:
    leg = next(iter(applied_plan.plan().legs.values()))
    surface = bandaged_leg_of(leg).bare
    ring = int(np.abs(surface.s_cm - surface.landmark_s_cm[Landmark.ANKLE]).argmin())
    forms, quarter = surface.forms, surface.section_cm.shape[2] // 4
    on_the_side = forms.second[2, ring, quarter] / forms.metric[2, ring, quarter]
    # Flatter than half of a round ankle of its girth.
    assert on_the_side < 0.5 * 2 * np.pi / surface.girth_at_cm(Landmark.ANKLE)
    for system in leg.systems:
        site = ankle_of(system)
        assert site.inner_mmhg < 0.7 * site.median_mmhg
        assert site.highest_mmhg > 1.3 * site.median_mmhg
        # The mean of the likely map over 2.5 cm, whose columns stand evenly round the limb.
        mapped = likely_skin_map(
            bandaged_leg_of(leg), system, applied_plan.plan().remainder_of(system)
        )
        s_cm = mapped.surface.s_cm - mapped.surface.landmark_s_cm[Landmark.ANKLE]
        mean = mapped.pressure_mmhg[np.abs(s_cm) <= 1.25].mean()
        assert site.median_mmhg == pytest.approx(mean, abs=2.0)


def pressed(**mmhg: float):
    """The hand-made design with 20 mmHg everywhere but at these places, and every place judged."""
    made = built("orthopaedic_wool", ELASTIC).design
    pressure = np.full((len(made.pressure_mmhg), 1000), 20.0)
    for name, value in mmhg.items():
        pressure[made.padded_leg.names.index(name.replace("_", " "))] = value
    # Nothing is padded: what exceeds, exceeds bare.
    bare = dict.fromkeys(made.padded_leg.names, 0.0)
    _, places = padded(replace(made, pressure_mmhg=pressure), aim(), bare)
    return {place.name: place for place in places}


def test_tendons_at_the_ankle_keep_their_own_maxima() -> None:
    """95 mmHg are above 60 round the ankle and under the 120 of both tendons; 130 are not."""
    places = pressed(ankle=95, front_ankle_tendon=95, Achilles_tendon=95)
    tendons = [places["front ankle tendon"], places["Achilles tendon"]]
    assert [one.maximum_mmhg for one in tendons] == [120, 120]
    assert not any(one.exceeds for one in tendons)
    assert (places["ankle"].maximum_mmhg, places["ankle"].exceeds) == (60, True)


@pytest.mark.parametrize("name", ["front_ankle_tendon", "Achilles_tendon"])
def test_the_ring_within_its_maximum_answers_for_no_tendon(name: str) -> None:
    exceeding = {one.name for one in pressed(**{name: 130}).values() if one.exceeds}
    assert exceeding == {name.replace("_", " ")}


def test_the_inner_side_is_no_place_that_is_judged_or_padded() -> None:
    design = built("orthopaedic_wool", ELASTIC).design
    design = replace(design, pressure_mmhg=np.full_like(design.pressure_mmhg, 20.0))
    made, places = padded(design, aim(), {INNER: 1.0})
    assert INNER not in {place.name for place in places}
    assert made is design


def test_the_plan_says_in_words_what_is_judged_at_the_ankle() -> None:
    site = ankle_of(written(by_hand(SAMPLES, SAMPLES / 2)))
    assert site.round_words.text == (
        "The ankle is judged by its mean round the limb, likely 50 mmHg. A sensor on its inner "
        "side would likely read 25; its highest 2.5 cm likely have 50."
    )
    assert ordinary_letters(site.round_words.told(made_up)) == []


@pytest.mark.parametrize("old", [{"is_ring": False}, {"inner_mmhg": None}, {"highest_mmhg": None}])
def test_a_plan_made_before_the_numbers_were_kept_says_nothing(old: dict) -> None:
    system = written(by_hand(SAMPLES, SAMPLES / 2))
    assert len(system.round_words) == 1
    site = ankle_of(system).model_copy(update=old)
    assert not site.round_words
    assert system.model_copy(update={"sites": (site,)}).round_words == ()


def test_several_layers_have_one_sentence() -> None:
    stretches = {ELASTIC: (0.42, 0.3), COHESIVE: (0.42, 0.3)}
    assert len(written(built(ELASTIC, COHESIVE, stretches=stretches)).round_words) == 1
