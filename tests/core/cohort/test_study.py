from dataclasses import replace

import pytest

from gaiter.core.case import Purpose, Sex, Training
from gaiter.core.cohort.legs import CohortLeg, case_for
from gaiter.core.cohort.study import (
    LegOutcome,
    LegRow,
    StudyTerms,
    candidates,
    few_materials,
    study_leg,
    summary,
)
from gaiter.core.errors import InputError
from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import plan
from gaiter.core.policy import Policy
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case

TITLES = shipped_catalogue().titles
LEG = CohortLeg("A1", Sex.FEMALE, case().legs[Side.RIGHT], ("girth_cm.below_knee",))
TERMS = StudyTerms(
    ("four_layer", "reduced_elastic", "wool_short_stretch"),
    samples=128,
    prices={"orthopaedic_wool": 1.5, "short_stretch": 6.0},
)


@pytest.fixture(scope="module")
def rows() -> dict[str, LegRow]:
    found = study_leg(LEG, TERMS, shipped_policy(), shipped_catalogue())
    return {row.system: row for row in found}


def test_a_row_is_what_the_plan_of_the_leg_says(rows, policy: Policy, catalogue: Catalogue) -> None:
    """Planned with all systems, so that leaving out the unwanted ones moves no number."""
    made = case_for(LEG.leg, LEG.sex, TERMS.purpose, TERMS.training, policy)
    whole = plan(made, policy, catalogue, seed=TERMS.seed, samples=TERMS.samples)
    systems = {system.name: system for system in whole.legs[Side.RIGHT].systems}
    for name in ("four_layer", "wool_short_stretch"):
        row, system = rows[name], systems[name]
        sites = {site.landmark: site for site in system.sites}
        assert row.outcome.value == system.outcome.value
        assert row.chance_in_range == system.chance_every_site_in_range
        assert row.chance_at_gaiter == sites[Landmark.GAITER].chance_in_range
        assert row.median_at_gaiter_mmhg == sites[Landmark.GAITER].median_mmhg
        judged = [site for site in system.sites if site.target_low_mmhg is not None]
        assert row.chance_above_maximum == max(site.chance_above_maximum for site in judged)
        # What is taken from stock for one bandage, tape apart.
        taken = [int(one.now.text.split()[0]) for one in system.supplies if one.material != "tape"]
        assert row.rolls == sum(taken)
        assert row.materials == tuple(sorted(layer.material for layer in system.layers))


def test_only_the_wanted_systems_are_planned(rows, policy: Policy, catalogue: Catalogue) -> None:
    assert list(rows) == list(TERMS.systems)
    made = plan(case(), policy, catalogue, samples=64, systems=frozenset({"four_layer"}))
    assert [system.name for system in made.legs[Side.RIGHT].systems] == ["four_layer"]
    assert made.legs[Side.RIGHT].excluded == ()


def test_a_system_that_does_not_suit_says_why(rows) -> None:
    row = rows["reduced_elastic"]
    assert row.outcome is LegOutcome.LEFT_OUT
    assert row.reason.startswith("full compression is allowed")
    assert row.chance_in_range is row.rolls is row.cost is None


def test_the_cost_is_that_of_every_roll_and_unknown_where_a_price_is_missing(rows) -> None:
    short_stretch = rows["wool_short_stretch"]
    # So many at 6.00 and the rest, of wool, at 1.50.
    dear = (short_stretch.cost - 1.5 * short_stretch.rolls) / (6.0 - 1.5)
    assert dear == pytest.approx(round(dear))
    assert 1 <= round(dear) < short_stretch.rolls
    assert rows["four_layer"].cost is None


def test_what_was_derived_stays_marked(rows) -> None:
    assert rows["four_layer"].estimated == ("girth_cm.below_knee",)


def test_a_leg_that_cannot_be_planned_is_rows_with_the_reason(
    policy: Policy, catalogue: Catalogue
) -> None:
    unmeasured = CohortLeg("B", None, None, reason="not measured: girth of calf")
    found = study_leg(unmeasured, TERMS, policy, catalogue)
    assert [row.outcome for row in found] == [LegOutcome.NOT_PLANNED] * 3
    assert {row.reason for row in found} == {"not measured: girth of calf"}
    girths = LEG.leg.girth_cm.model_copy(update={"heel_instep": 45.0})
    wide = LEG.leg.model_copy(update={"girth_cm": girths, "foot_length_cm": 33.0})
    odd = study_leg(replace(LEG, leg=wide), TERMS, policy, catalogue)
    assert [row.outcome for row in odd] == [LegOutcome.NOT_PLANNED] * 3
    assert "the skin near the heel–instep would fold over itself" in odd[0].reason


def test_an_error_on_one_leg_does_not_end_the_study(
    policy: Policy, catalogue: Catalogue, monkeypatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ValueError("a wheel came off")

    monkeypatch.setattr("gaiter.core.cohort.study.plan", fail)
    found = study_leg(LEG, TERMS, policy, catalogue)
    assert {row.reason for row in found} == {"the leg could not be planned (a wheel came off)"}


def test_the_hands_and_the_seed_decide_and_the_name_does_not(
    rows, policy: Policy, catalogue: Catalogue
) -> None:
    def chance(leg: CohortLeg, **changes: object) -> float | None:
        terms = replace(TERMS, systems=("wool_short_stretch",), **changes)
        return study_leg(leg, terms, policy, catalogue)[0].chance_in_range

    known = rows["wool_short_stretch"].chance_in_range
    assert chance(replace(LEG, name="another")) == known
    assert chance(LEG, training=Training.UNTRAINED) < known
    assert chance(LEG, seed=5) != known


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"systems": ()}, "systems must name at least one system, each once"),
        ({"systems": ("four_layer", "four_layer")}, "each once"),
        ({"samples": 1000}, "samples must be a power of two, 64 to 65536; received 1000"),
        ({"samples": 32}, "received 32"),
        ({"samples": 0}, "received 0"),
    ],
)
def test_terms_are_refused_in_words(changes: dict, words: str) -> None:
    with pytest.raises(InputError, match=words):
        StudyTerms(**{"systems": ("four_layer",), "purpose": Purpose.OEDEMA, **changes})


def test_a_study_compares_known_systems_only() -> None:
    catalogue = shipped_catalogue()
    assert candidates(catalogue) == tuple(catalogue.systems)
    words = "systems must be among .*four_layer.*received five_layer"
    with pytest.raises(InputError, match=words):
        candidates(catalogue, ["four_layer", "five_layer"])


def row(leg: str, system: str, outcome: LegOutcome = LegOutcome.FITS, **fields: object) -> LegRow:
    numbers = {"chance_in_range": 0.5, "chance_above_maximum": 0.01, "rolls": 2, "cost": 3.0}
    return LegRow(leg, system, outcome, "because", **{**numbers, **fields})


def test_the_summary_counts_every_leg_and_averages_the_planned_ones() -> None:
    nothing = dict.fromkeys(("chance_in_range", "chance_above_maximum", "rolls", "cost"))
    short, four = summary(
        [
            row("a", "four_layer", LegOutcome.CANNOT_BE_REACHED, chance_above_maximum=0.05),
            row("a", "wool_short_stretch", rolls=3, chance_in_range=0.4),
            row("b", "four_layer"),
            row("b", "wool_short_stretch"),
            row("c", "four_layer", LegOutcome.NOT_PLANNED, **nothing),
            row("c", "wool_short_stretch", cost=None, rolls=4, chance_in_range=0.6),
        ],
        allowed_chance_above=0.025,
        titles=TITLES,
    )
    assert (short.system, short.fit, short.share_fit) == ("wool_short_stretch", 3, 1.0)
    assert short.mean_chance_in_range == pytest.approx(0.5)
    assert (short.mean_rolls, short.mean_cost) == (3.0, 3.0)
    assert (four.legs, four.planned, four.fit) == (3, 2, 1)
    assert four.share_fit == pytest.approx(1 / 3)
    assert four.share_above_maximum == pytest.approx(1 / 2)
    assert four.title == "Four layers"


def test_a_system_planned_on_no_leg_has_no_means() -> None:
    (one,) = summary([LegRow("a", "four_layer", LegOutcome.NOT_PLANNED, "because")], 0.025, TITLES)
    assert (one.planned, one.mean_rolls, one.share_above_maximum) == (0, None, None)


def test_few_materials_grow_by_what_serves_most_legs_for_each_material() -> None:
    short, layers = ("short", "wool"), ("cover", "crepe", "wool")
    rows = [
        *(row(leg, "wool_short_stretch", materials=short) for leg in "abc"),
        *(row(leg, "four_layer", materials=layers, chance_in_range=0.7) for leg in "abcd"),
        row("e", "four_layer", LegOutcome.CANNOT_BE_REACHED, materials=layers),
    ]
    first, second = few_materials(rows)
    # Two materials for three legs are more for each than three for four.
    assert (first.materials, first.fit, first.share_fit) == (short, 3, 3 / 5)
    assert first.mean_best_chance == pytest.approx(3 * 0.5 / 5)
    assert second.added == ("cover", "crepe")
    assert second.materials == ("cover", "crepe", "short", "wool")
    assert (second.fit, second.mean_best_chance) == (4, pytest.approx(4 * 0.7 / 5))


def test_a_system_with_a_material_that_is_not_in_stock_serves_nobody() -> None:
    rows = [row("a", "x", materials=("gauze", "wool")), row("b", "y", materials=("gauze", "tube"))]
    assert [stock.fit for stock in few_materials(rows)] == [1, 2]
    assert few_materials([row("a", "x", LegOutcome.CANNOT_BE_REACHED, materials=("wool",))]) == ()
    assert few_materials([]) == ()


def test_materials_that_gain_nothing_are_not_listed() -> None:
    rows = [
        row("a", "x", materials=("wool",), chance_in_range=0.6),
        row("a", "y", materials=("gauze", "wool"), chance_in_range=0.6),
    ]
    assert [stock.materials for stock in few_materials(rows)] == [("wool",)]
