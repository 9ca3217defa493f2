"""Whole plans of ordinary and odd legs, as a reader gets them."""

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.case import Case, Sex
from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Fit, Plan, Status, UnknownMaterialError, plan
from gaiter.core.policy import Policy
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case, case_mapping, random_leg, with_pressures

SAMPLES = 512


def planned(made: Case, policy: Policy, catalogue: Catalogue, **options) -> Plan:
    return plan(made, policy, catalogue, **{"samples": SAMPLES, **options})


@pytest.fixture(scope="module")
def ordinary() -> Plan:
    return plan(case(), shipped_policy(), shipped_catalogue())


def test_an_ordinary_leg_gets_every_strong_system_best_first(ordinary: Plan) -> None:
    leg = ordinary.legs[Side.RIGHT]
    assert leg.status is Status.PLANNED
    assert {system.name for system in leg.systems} == {
        "zinc_paste_covered", "wool_gauze_long_stretch", "wool_gauze_cohesive", "four_layer",
        "wool_short_stretch",
    }  # fmt: skip
    # Four layers bring the calf to its maximum before the gaiter into its range.
    assert {
        system.name: system.outcome for system in leg.systems if system.outcome is not Fit.FITS
    } == {"four_layer": Fit.CANNOT_BE_REACHED}
    assert leg.systems[0].name == "wool_gauze_long_stretch"
    assert leg.systems[-1].name == "four_layer"
    # Every system that was left out says why.
    assert len(leg.systems) + len(leg.excluded) == len(shipped_catalogue().systems)


def test_the_likely_middle_lies_in_range_and_the_high_side_under_the_maximum(
    ordinary: Plan, policy: Policy
) -> None:
    for system in ordinary.legs[Side.RIGHT].systems:
        gaiter = next(site for site in system.sites if site.landmark is Landmark.GAITER)
        assert (30 <= gaiter.median_mmhg <= 50) is (system.outcome is Fit.FITS)
        for site in system.sites:
            if site.target_low_mmhg is not None:
                assert site.chance_above_maximum <= policy["chance_above_maximum"]


def test_stretch_stays_within_the_material(ordinary: Plan, catalogue: Catalogue) -> None:
    """Nobody is told to overstretch to make up for theory."""
    for system in ordinary.legs[Side.RIGHT].systems:
        for layer in system.layers:
            if layer.mark_spacing_cm is not None:
                material = catalogue[layer.material]
                assert material.least_stretch <= layer.stretch_percent / 100 + 1e-9
                assert layer.stretch_percent / 100 <= material.largest_stretch + 1e-9
                assert layer.mark_spacing_cm == pytest.approx(10 + layer.stretch_percent / 10)


def test_the_same_seed_gives_the_same_plan(policy: Policy, catalogue: Catalogue) -> None:
    once, again = (planned(case(), policy, catalogue, seed=9) for _ in range(2))
    assert once == again
    assert once != planned(case(), policy, catalogue, seed=10)


def test_a_left_leg_gets_the_plan_of_its_mirror_image(policy: Policy, catalogue: Catalogue) -> None:
    mapping = case_mapping()
    mapping["legs"]["left"] = mapping["legs"].pop("right")
    left = planned(Case.model_validate(mapping), policy, catalogue).legs[Side.LEFT]
    right = planned(case(), policy, catalogue).legs[Side.RIGHT]
    assert left.model_copy(update={"side": Side.RIGHT}) == right


def test_a_stopped_leg_has_no_system_and_the_other_leg_is_planned(
    policy: Policy, catalogue: Catalogue
) -> None:
    leg = case_mapping()["legs"]["right"]
    leg["findings"] = {**leg["findings"], "rest_pain": True}
    both = planned(case(**{"legs.left": leg}), policy, catalogue)
    assert both.legs[Side.LEFT].status is Status.STOPPED
    assert both.legs[Side.LEFT].systems == ()
    assert both.legs[Side.RIGHT].status is Status.PLANNED


def test_untested_arteries_have_no_plan_until_the_provisional_level_is_chosen(
    policy: Policy, catalogue: Catalogue
) -> None:
    untested = {"legs.right.arterial": {}}
    bare = planned(case(**untested), policy, catalogue).legs[Side.RIGHT]
    assert bare.status is Status.NOT_YET
    assert bare.systems == ()
    chosen = {"by": "P. Owner", "words": "ulcer weeping, test on Friday"}
    made = planned(case(**untested, **{"legs.right.provisional": chosen}), policy, catalogue).legs[
        Side.RIGHT
    ]
    assert made.decision.maximum_mmhg == 20
    assert made.target is not None
    assert made.target.gaiter_high_mmhg <= 20
    first = made.systems[0]
    assert first.outcome is Fit.FITS
    assert 10 <= next(s for s in first.sites if s.landmark is Landmark.GAITER).median_mmhg <= 20
    assert max(site.chance_above_maximum for site in first.sites) <= policy["chance_above_maximum"]
    assert (made.next_visit - case().today).days <= 2


def test_poor_arteries_put_inelastic_first(policy: Policy, catalogue: Catalogue) -> None:
    made = planned(with_pressures(130, 92), policy, catalogue).legs[Side.RIGHT]
    assert made.systems[0].name == "reduced_short_stretch"
    assert made.decision.maximum_mmhg == 40
    assert any("sensor" in (layer.note or "") for layer in made.systems[0].layers)
    # Looked at within two days even where a bandage was tolerated before.
    assert (made.next_visit - case().today).days <= 2
    elastic = [s for s in made.systems if "short" not in s.name and "zinc" not in s.name]
    assert elastic
    assert all(any("elastic keeps" in words for words in s.reasons_against) for s in elastic)


def test_allergy_excludes_by_ingredient(policy: Policy, catalogue: Catalogue) -> None:
    made = planned(case(**{"person.allergies": ["latex"]}), policy, catalogue).legs[Side.RIGHT]
    assert "wool_gauze_cohesive" not in {system.name for system in made.systems}
    assert any("allergy to latex" in words for words in made.excluded)


def test_only_what_is_in_stock_is_planned(policy: Policy, catalogue: Catalogue) -> None:
    stock = {"orthopaedic_wool": {"rolls": 3}, "short_stretch": {"rolls": 2}}
    made = planned(case(stock=stock), policy, catalogue).legs[Side.RIGHT]
    assert [system.name for system in made.systems] == ["wool_short_stretch"]
    assert any("not in stock" in words for words in made.excluded)


def test_nothing_usable_in_stock_is_said(policy: Policy, catalogue: Catalogue) -> None:
    made = planned(case(stock={"coarse_gauze": {"rolls": 3}}), policy, catalogue)
    leg = made.legs[Side.RIGHT]
    assert leg.status is Status.CANNOT_BE_REACHED
    assert leg.status_reason.text.startswith("no system can be made from the stock; it could be")


def test_an_unknown_material_is_refused_by_name(policy: Policy, catalogue: Catalogue) -> None:
    with pytest.raises(UnknownMaterialError, match="stock.velvet is not in the catalogue"):
        planned(case(stock={"velvet": {"rolls": 3}}), policy, catalogue)


def test_a_measured_wool_replaces_the_assumed_thickness(
    policy: Policy, catalogue: Catalogue
) -> None:
    stock = {"orthopaedic_wool": {"rolls": 3, "thickness_mm": 5}, "short_stretch": {"rolls": 2}}
    made = planned(case(stock=stock), policy, catalogue).legs[Side.RIGHT]
    assert made.systems[0].padding.even_cm == 0.5


def test_untrained_hands_are_told_so(policy: Policy, catalogue: Catalogue) -> None:
    """40 % spread: within the maximum the range cannot be reached, with feedback it can."""
    made = planned(case(**{"bandager.training": "untrained"}), policy, catalogue)
    systems = made.legs[Side.RIGHT].systems
    assert not [system for system in systems if system.outcome is Fit.FITS]
    elastic = next(system for system in systems if system.name == "wool_gauze_long_stretch")
    assert elastic.outcome is Fit.NOT_IN_THESE_HANDS
    assert "someone trained" in elastic.outcome_reason


def test_better_hands_never_lower_the_chance(policy: Policy, catalogue: Catalogue) -> None:
    best = []
    for training in ("untrained", "trained", "trained with feedback"):
        made = planned(case(**{"bandager.training": training}), policy, catalogue)
        best.append(max(s.chance_every_site_in_range for s in made.legs[Side.RIGHT].systems))
    assert best == sorted(best)


def test_an_amputated_forefoot_is_bandaged_from_the_instep(
    policy: Policy, catalogue: Catalogue
) -> None:
    made = planned(
        case(
            **{
                "legs.right.girth_cm.metatarsal_heads": None,
                "legs.right.position_cm.metatarsal_heads": None,
                "legs.right.findings.forefoot_amputation": True,
            }
        ),
        policy,
        catalogue,
    ).legs[Side.RIGHT]
    assert made.status is Status.PLANNED
    sites = {site.landmark for site in made.systems[0].sites}
    assert Landmark.METATARSAL_HEADS not in sites


def test_every_output_carries_cautions_limits_and_versions(ordinary: Plan, policy: Policy) -> None:
    assert any("Not a certified medical device" in words for words in ordinary.cautions)
    assert ordinary.limits
    assert ordinary.versions.policy_sha256 == policy.sha256
    assert ordinary.seed == 20261
    assert ordinary.samples == 4096


def test_heel_is_covered_and_layers_lie_as_their_system_allows(ordinary: Plan) -> None:
    """Wool and gauze spiral by half; what presses may go either way, by half or two thirds."""
    systems = {one.name: one for one in shipped_catalogue().systems_for(22.5)}
    for system in ordinary.legs[Side.RIGHT].systems:
        assert not [gap for gap in system.gaps if gap.place == "heel"]
        recipes = systems[system.name].layers
        for layer, recipe in zip(system.layers, recipes, strict=True):
            assert layer.pattern in recipe.patterns
            assert layer.overlap in recipe.overlaps
            if not layer.presses:
                assert (layer.pattern, layer.overlap) == (Pattern.SPIRAL, 0.5)


@given(st.integers(0, 5000), st.sampled_from([60.0, 40.0]))
@settings(max_examples=12)
def test_on_any_published_leg_a_plan_obeys_its_maximum_or_says_why_not(
    seed: int, level: float
) -> None:
    policy, catalogue = shipped_policy(), shipped_catalogue()
    measured = random_leg(np.random.default_rng(seed), list(Sex)[seed % 2])
    girth = {landmark.value: round(g, 1) for landmark, g in measured.girth_cm.items()}
    place = {landmark.value: round(p, 1) for landmark, p in measured.position_cm.items()}
    ankle = {60.0: 130.0, 40.0: 92.0}[level]
    made = planned(
        with_pressures(
            130,
            ankle,
            **{
                "legs.right.girth_cm": girth,
                "legs.right.position_cm": place,
                "legs.right.foot_length_cm": round(measured.foot_length_cm, 1),
            },
        ),
        policy,
        catalogue,
        samples=256,
    ).legs[Side.RIGHT]
    assert made.decision.maximum_mmhg == level
    allowed = policy["chance_above_maximum"]
    for system in made.systems:
        assert system.outcome_reason
        if system.outcome in (Fit.FITS, Fit.TO_ACCEPT):
            for site in system.sites:
                # The instep may be left for a prescriber to accept by name; nothing else.
                named = site.landmark.label in system.to_accept
                assert site.chance_above_maximum <= allowed or named
            for point in system.pressure_points:
                assert point.high_mmhg <= point.maximum_mmhg or point.place in (
                    *system.to_accept, "instep", "metatarsal heads",
                )  # fmt: skip
            assert bool(system.to_accept) == (system.outcome is Fit.TO_ACCEPT)
        if system.outcome is Fit.FITS:
            assert system.rises == ()


def test_hands_that_cannot_are_told_what_better_ones_reach(policy, catalogue) -> None:
    """Ten times a stretch of 50 % and more: marks of 15 cm and more, and the likely pressure."""
    made = plan(
        case(**{"bandager.training": "untrained"}), policy, catalogue, samples=512,
        systems=frozenset({"wool_gauze_long_stretch"}),
    ).legs[Side.RIGHT]  # fmt: skip
    (system,) = made.systems
    told = str(system.outcome_reason)
    found = re.search(r"can reach likely (\d+) mmHg with marks (\d+\.\d) cm", told)
    assert found
    assert 30 <= float(found[1]) <= 50
    assert 13.0 <= float(found[2]) <= 17.0
    better = plan(
        case(**{"bandager.training": "trained with feedback"}), policy, catalogue, samples=512,
        systems=frozenset({"wool_gauze_long_stretch"}),
    ).legs[Side.RIGHT].systems[0]  # fmt: skip
    assert f"marks {better.layers[-1].mark_spacing_cm:.1f} cm apart" in system.outcome_reason
