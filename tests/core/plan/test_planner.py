"""The planner's own part: what is planned and ranked, why not, and what a plan says of itself."""

import re
from dataclasses import dataclass
from datetime import date, timedelta

import pytest

from gaiter.core.fabric import Catalogue
from gaiter.core.landmark import Landmark, Side
from gaiter.core.leg.build import LegShapeError
from gaiter.core.plan import Fit, Plan, Status, bench_of, plan, planner
from gaiter.core.plan.document import Layer, SystemPlan
from gaiter.core.plan.pressures import SitePressure
from gaiter.core.plan.suitability import Argument, Bearing
from gaiter.core.plan.system_on_leg import SystemOnLeg
from gaiter.core.policy import Policy
from gaiter.core.safety import Effect, Outcome, decide
from gaiter.core.words import from_document
from tests.strategies import case

# --- ranking and refusals, with systems that are only said to be made -----------------------

STRONG = ("zinc_paste_covered", "wool_gauze_long_stretch", "wool_gauze_cohesive", "four_layer",
          "wool_short_stretch")  # fmt: skip
SHORT_STRETCH, LONG_STRETCH = "wool_short_stretch", "wool_gauze_long_stretch"


@dataclass(frozen=True)
class Said:
    """What is said to come of designing a system."""

    outcome: Fit = Fit.FITS
    weight: int = 0
    chance: float = 0.5
    layers: int = 2
    rolls: int = 1
    likely_mmhg: float = 40.0
    days: int = 3


class Made:
    """Designs nothing: says of every system what it was told to, and keeps who asked."""

    def __init__(self, **told: Said) -> None:
        self.told, self.asked = told, []

    def __call__(self, system, materials, _found, task) -> SystemOnLeg:
        self.asked.append((system.name, task))
        said = self.told.get(system.name, Said(Fit.CANNOT_BE_REACHED))
        sites = (
            SitePressure.model_construct(landmark=Landmark.ANKLE, median_mmhg=99.0),
            SitePressure.model_construct(landmark=Landmark.GAITER, median_mmhg=said.likely_mmhg),
        )
        rolls = [said.rolls] * said.layers
        written = SystemPlan.model_construct(
            name=system.name, title=system.title, outcome=said.outcome,
            outcome_reason=from_document(f"so says {system.name}"), sites=sites,
            change_days=said.days,
            chance_every_site_in_range=said.chance,
            layers=tuple(Layer.model_construct(rolls=count) for count in rolls),
        )  # fmt: skip
        verdict = Bearing.FOR if said.weight > 0 else Bearing.AGAINST
        argument = Argument(verdict, abs(said.weight), from_document("invented"))
        return SystemOnLeg(system, materials, None, None, written, (argument,))


@pytest.fixture
def told(monkeypatch, policy, catalogue):
    """Plans the right leg with systems of which everything is said."""

    def planned(made: Made, only=STRONG, effects=frozenset(), **changes):
        asked = case(**changes)
        safety = decide(asked, policy)
        leg = safety.legs[Side.RIGHT].model_copy(update={"effects": effects})
        safety = safety.model_copy(update={"legs": {Side.RIGHT: leg}})
        monkeypatch.setattr(planner, "decide", lambda *_: safety)
        monkeypatch.setattr(planner, "computed", made)
        systems = None if only is None else frozenset(only)
        return bench_of(asked, policy, catalogue, systems=systems)

    return planned


def order(bench) -> list[str]:
    return [system.name for system in bench.plan.legs[Side.RIGHT].systems]


# The better of two; the lesser; what counts between them.
BETTER = [
    (Said(Fit.NOT_IN_THESE_HANDS, weight=-4), Said(Fit.CANNOT_BE_REACHED, weight=4)),
    (Said(Fit.FITS, weight=-4), Said(Fit.NOT_IN_THESE_HANDS, weight=4)),
    (Said(Fit.TO_ACCEPT, weight=-4), Said(Fit.NOT_IN_THESE_HANDS, weight=4)),
    # What has to be accepted comes after what fits, and before what has less for it.
    (Said(Fit.FITS), Said(Fit.TO_ACCEPT, chance=0.9)),
    (Said(Fit.TO_ACCEPT, weight=1), Said(Fit.FITS)),
    (Said(weight=1), Said(chance=0.9)),
    (Said(weight=-1), Said(weight=-2)),
    # Chances to the hundredth: 0.496 and 0.504 are both 0.50.
    (Said(chance=0.51, layers=4), Said(chance=0.50, layers=2)),
    (Said(chance=0.496, layers=2), Said(chance=0.504, layers=4)),
    (Said(layers=2, rolls=4), Said(layers=3, rolls=1)),
    (Said(rolls=1), Said(rolls=2)),
]


@pytest.mark.parametrize(("better", "lesser"), BETTER)
def test_the_better_of_two_systems_comes_first(told, better: Said, lesser: Said) -> None:
    only = (SHORT_STRETCH, LONG_STRETCH)
    for first, second in (only, only[::-1]):
        made = Made(**{first: better, second: lesser})
        assert order(told(made, only)) == [first, second]


@pytest.mark.parametrize(("chance", "first"), [(0.29, SHORT_STRETCH), (0.3, LONG_STRETCH)])
def test_no_reason_outweighs_pressures_that_come_true_half_as_often(told, chance, first) -> None:
    made = Made(**{SHORT_STRETCH: Said(chance=0.6), LONG_STRETCH: Said(weight=4, chance=chance)})
    assert order(told(made, (SHORT_STRETCH, LONG_STRETCH)))[0] == first


def test_poor_arteries_put_inelastic_before_what_has_more_for_it(told) -> None:
    made = Made(**{SHORT_STRETCH: Said(weight=-4), LONG_STRETCH: Said(weight=4)})
    only = (SHORT_STRETCH, LONG_STRETCH)
    assert order(told(made, only)) == [LONG_STRETCH, SHORT_STRETCH]
    poor = frozenset({Effect.INELASTIC})
    assert order(told(made, only, effects=poor)) == [SHORT_STRETCH, LONG_STRETCH]
    # What cannot be reached is not first for it.
    never = Made(**{SHORT_STRETCH: Said(Fit.CANNOT_BE_REACHED), LONG_STRETCH: Said()})
    assert order(told(never, only, effects=poor)) == [LONG_STRETCH, SHORT_STRETCH]


def test_every_system_of_the_catalogue_is_asked_unless_some_are_named(told, catalogue) -> None:
    made = Made(**dict.fromkeys(STRONG, Said()))
    bench = told(made, only=None)
    leg = bench.plan.legs[Side.RIGHT]
    assert {name for name, _task in made.asked} == set(STRONG)
    # The others are reduced or for support, and are left out with a word on each.
    assert len(leg.excluded) == len(catalogue.systems) - len(STRONG)
    assert set(bench.legs[Side.RIGHT].made) == set(STRONG)
    named = told(Made(**{SHORT_STRETCH: Said()}), only=(SHORT_STRETCH,)).plan.legs[Side.RIGHT]
    assert ([one.name for one in named.systems], named.excluded) == ([SHORT_STRETCH], ())


def test_a_leg_is_designed_under_the_policys_numbers(told, policy) -> None:
    """Chance of exceeding 2.5 %, a rise of 5 %; 4096 bandages drawn from the usual seed."""
    made = Made(**{SHORT_STRETCH: Said()})
    told(made, only=(SHORT_STRETCH,))
    ((_name, task),) = made.asked
    assert task.aim.allowed_chance_above == policy["chance_above_maximum"] == 0.025
    assert task.aim.allowed_rise == policy["rise_allowed_percent"] / 100 == 0.05
    assert (task.samples, task.seed, task.side) == (4096, 20261, Side.RIGHT)
    assert task.aim.maximum_mmhg == 60


def numbers(words: object) -> list[str]:
    return re.findall(r"\d+", str(words))


def test_what_is_planned_says_aim_likely_and_maximum_and_the_next_visit(told) -> None:
    """The first system's likely pressure and days: 25 November and three."""
    made = Made(**{SHORT_STRETCH: Said(weight=1, likely_mmhg=41.2), LONG_STRETCH: Said(days=5)})
    leg = told(made, (SHORT_STRETCH, LONG_STRETCH)).plan.legs[Side.RIGHT]
    assert leg.status is Status.PLANNED
    assert numbers(leg.headline) == ["30", "50", "41", "60"]
    assert leg.next_visit == date(2026, 11, 28)
    assert str(leg.status_reason) == leg.decision.headline


@pytest.mark.parametrize(
    ("outcome", "status"),
    [
        (Fit.FITS, Status.PLANNED),
        (Fit.TO_ACCEPT, Status.PLANNED),
        (Fit.NOT_IN_THESE_HANDS, Status.PLANNED),
        (Fit.CANNOT_BE_REACHED, Status.CANNOT_BE_REACHED),
    ],
)
def test_a_leg_is_planned_where_its_first_system_is_not_beyond_reach(told, outcome, status) -> None:
    made = Made(**{SHORT_STRETCH: Said(outcome), LONG_STRETCH: Said(Fit.CANNOT_BE_REACHED)})
    leg = told(made, (SHORT_STRETCH, LONG_STRETCH)).plan.legs[Side.RIGHT]
    assert leg.status is status
    reached = status is Status.PLANNED
    assert (leg.next_visit is not None) is reached
    assert numbers(leg.headline) == (["30", "50", "40", "60"] if reached else ["30", "50", "60"])
    if not reached:
        assert "so says wool" in str(leg.status_reason)
        # Everything is in stock: nothing is designed again.
        assert len(made.asked) == 2


HALF = {"orthopaedic_wool": {"rolls": 3}, "short_stretch": {"rolls": 2}}


def test_what_is_not_in_stock_is_named_where_only_it_would_reach(told, catalogue) -> None:
    only = (SHORT_STRETCH, LONG_STRETCH, "four_layer")
    reach = {"four_layer": Said(), LONG_STRETCH: Said(weight=1)}
    leg = told(Made(**reach), only, stock=HALF).plan.legs[Side.RIGHT]
    assert [one.name for one in leg.systems] == [SHORT_STRETCH]
    told_of = [name for name in only if catalogue.titles[name].lower() in str(leg.status_reason)]
    assert told_of == [LONG_STRETCH]
    hardly = Made(**{LONG_STRETCH: Said(Fit.NOT_IN_THESE_HANDS)})
    leg = told(hardly, only, stock=HALF).plan.legs[Side.RIGHT]
    assert str(leg.status_reason) == f"so says {SHORT_STRETCH}"
    to_accept = Made(**{"four_layer": Said(Fit.TO_ACCEPT)})
    leg = told(to_accept, only, stock=HALF).plan.legs[Side.RIGHT]
    assert catalogue.titles["four_layer"].lower() in str(leg.status_reason)


def test_what_may_not_be_worn_is_left_out_and_not_designed(told, catalogue) -> None:
    made = Made(**dict.fromkeys(STRONG, Said()))
    latex = {"person.allergies": ["latex"]}
    leg = told(made, ("wool_gauze_cohesive", SHORT_STRETCH), **latex).plan.legs[Side.RIGHT]
    assert [name for name, _task in made.asked] == [SHORT_STRETCH]
    assert [words for words in leg.excluded if "latex" in str(words)]


@pytest.mark.parametrize(
    ("update", "status", "words"),
    [
        ({"outcome": Outcome.STOP}, Status.STOPPED, ""),
        ({"outcome": Outcome.STOP, "maximum_mmhg": None}, Status.STOPPED, ""),
        ({"maximum_mmhg": None}, Status.NOT_YET, ""),
        ({"aim": None}, Status.CANNOT_BE_REACHED, "60 mmHg"),
    ],
)
def test_of_a_stopped_leg_or_without_a_maximum_or_an_aim_nothing_is_designed(
    policy, catalogue, monkeypatch, update, status, words
) -> None:
    safety = decide(case(), policy)
    leg = safety.legs[Side.RIGHT].model_copy(update=update)
    safety = safety.model_copy(update={"legs": {Side.RIGHT: leg}})
    made = Made()
    monkeypatch.setattr(planner, "decide", lambda *_: safety)
    monkeypatch.setattr(planner, "computed", made)
    bench = bench_of(case(), policy, catalogue)
    planned = bench.plan.legs[Side.RIGHT]
    assert (planned.status, planned.systems, made.asked) == (status, (), [])
    assert words in str(planned.status_reason)
    assert dict(bench.legs) == {}


def test_a_leg_that_no_surface_fits_says_where_it_folds(told, monkeypatch) -> None:
    def refused(_measured):
        raise LegShapeError(Landmark.CALF)

    monkeypatch.setattr(planner, "BandagedLeg", refused)
    leg = told(Made()).plan.legs[Side.RIGHT]
    assert leg.status is Status.CANNOT_BE_REACHED
    assert str(leg.status_reason) == str(LegShapeError(Landmark.CALF))
    assert "the skin near the calf would fold" in leg.status_reason


def test_a_plan_keeps_what_the_leg_was_measured_as(told) -> None:
    leg = told(Made(**{SHORT_STRETCH: Said()}), (SHORT_STRETCH,)).plan.legs[Side.RIGHT]
    asked = case().legs[Side.RIGHT]
    assert leg.surface.foot_length_cm == asked.foot_length_cm
    assert leg.surface.girth_cm[Landmark.ANKLE] == asked.girth_cm.ankle
    assert set(leg.surface.s_cm) == set(Landmark)
    assert leg.wound_place == (asked.wound.place if asked.wound else None)
    assert leg.purpose == "venous ulcer"


# --- stock, words and numbers of one small plan ---------------------------------------------

SHORT = "wool_short_stretch"
ONE = {"samples": 64, "systems": frozenset({SHORT})}


def small(policy: Policy, catalogue: Catalogue, **changes) -> Plan:
    return plan(case(**changes), policy, catalogue, **ONE)


def stocked(**items) -> dict:
    return {"orthopaedic_wool": {"rolls": 3}, "short_stretch": {"rolls": 2}, **items}


def test_only_the_systems_asked_for_are_planned_or_left_out(policy, catalogue) -> None:
    leg = small(policy, catalogue).legs[Side.RIGHT]
    assert [system.name for system in leg.systems] == [SHORT]
    assert leg.excluded == ()


def test_no_rolls_left_is_not_in_stock(policy: Policy, catalogue: Catalogue) -> None:
    leg = small(policy, catalogue, stock=stocked(short_stretch={"rolls": 0})).legs[Side.RIGHT]
    assert leg.systems == ()
    assert any("short stretch is not in stock" in words for words in leg.excluded)
    assert leg.status is Status.CANNOT_BE_REACHED
    assert leg.next_visit is None
    assert leg.headline.text == "Aim 30–50, never above 60 mmHg at the gaiter"


def test_the_clinics_own_roll_replaces_the_catalogues(policy: Policy, catalogue: Catalogue) -> None:
    """5 m instead of 2.63 m of short-stretch: one roll instead of two; 8 cm wide."""
    own = {"rolls": 2, "relaxed_length_cm": 500.0, "widths_cm": [8.0]}
    before = small(policy, catalogue).legs[Side.RIGHT].systems[0].layers[-1]
    after = small(policy, catalogue, stock=stocked(short_stretch=own)).legs[Side.RIGHT]
    layer = after.systems[0].layers[-1]
    assert (before.width_cm, layer.width_cm) == (10, 8)
    assert layer.rolls == 1
    assert layer.spare_cm == pytest.approx(500 - layer.relaxed_length_cm)


def test_a_bench_tested_roll_brings_its_own_curve(policy: Policy, catalogue: Catalogue) -> None:
    """Twice the tension at the same stretch asks for less stretch, and the plan says which roll."""
    curve = {"usual_stretch": 0.75, "usual_tension_n_per_cm": 1.95, "locking_stretch": 0.9}
    made = small(policy, catalogue, stock=stocked(short_stretch={"rolls": 2, "curve": curve}))
    layer = made.legs[Side.RIGHT].systems[0].layers[-1]
    assert layer.fabric.usual_tension_n_per_cm == 1.95
    generic = small(policy, catalogue).legs[Side.RIGHT].systems[0].layers[-1]
    assert layer.stretch_percent < generic.stretch_percent
    assert any("Materials other than short_stretch are generic" in w for w in made.assumptions)


@pytest.mark.parametrize(
    ("stock", "said", "unsaid"),
    [
        (None, ("Stock was not given", "Materials are generic", "Thickness of the wool is"), ()),
        (stocked(), ("Materials are generic", "Thickness of the wool is"), ("Stock was",)),
        (stocked(orthopaedic_wool={"rolls": 3, "thickness_mm": 5}), ("Materials are generic",),
         ("Stock was", "Thickness of the wool")),
    ],
)  # fmt: skip
def test_what_was_assumed_is_said_and_nothing_else(policy, catalogue, stock, said, unsaid) -> None:
    words = small(policy, catalogue, stock=stock).assumptions
    for start in said:
        assert any(one.text.startswith(start) for one in words), start
    for start in unsaid:
        assert not any(one.text.startswith(start) for one in words), start
    assert len(words) == len(said) + 1


def test_a_collapsed_foot_is_not_planned_and_says_so(policy: Policy, catalogue: Catalogue) -> None:
    leg = small(policy, catalogue, **{"legs.right.findings.foot_collapsed": True}).legs[Side.RIGHT]
    assert leg.status is Status.CANNOT_BE_REACHED
    assert leg.systems == ()
    assert leg.status_reason.text.startswith("the foot is collapsed, a shape outside the model")


def test_the_leg_carries_its_maxima_chances_and_target(policy: Policy, catalogue) -> None:
    """60 at gaiter and foot; over bone what an ankle of 135 mmHg less 30 leaves: 105."""
    leg = small(policy, catalogue).legs[Side.RIGHT]
    assert (leg.maxima.leg_mmhg, leg.maxima.foot_mmhg, leg.maxima.bony_mmhg) == (60, 60, 105)
    chances = (leg.chance_allowed, leg.redo_from_chance, leg.take_off_from_chance)
    assert chances == (0.025, 0.10, 0.25)
    assert leg.guard_foot
    assert (leg.target.gaiter_low_mmhg, leg.target.gaiter_high_mmhg) == (30, 50)
    assert leg.next_visit == leg.systems[0].change_days * timedelta(1) + case().today


def test_a_plan_names_its_case_seed_and_bandager(policy: Policy, catalogue: Catalogue) -> None:
    made = plan(case(reference="Heron (invented)"), policy, catalogue, seed=7, **ONE)
    assert (made.case.reference, made.case.invented) == ("Heron (invented)", True)
    assert (made.seed, made.samples, made.bandager) == (7, 64, "trained")
    assert made.today == case().today
    assert made.theory_remainder == 0.88
    assert made.versions.policy == policy.label
    assert made.versions.catalogue_sha256 == catalogue.sha256
