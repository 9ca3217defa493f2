"""One system on one leg: its padding, what is said of it, and what a change by hand changes."""

from dataclasses import replace
from functools import cache

import pytest

from gaiter.core.fabric import Thickness
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Adjustment, LayerChange, bench_of, system_on_leg
from gaiter.core.plan.padded_leg import PaddedLeg
from gaiter.core.plan.steep import Steepness
from gaiter.core.plan.suitability import Argument, Bearing
from gaiter.core.plan.system_on_leg import LegTask, SystemOnLeg, changed, computed
from gaiter.core.plan.systems import LayerRecipe, System, Trait
from gaiter.core.safety import Effect
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case

ELASTIC, WOOL = "long_stretch_elastic", "orthopaedic_wool"
FOUND = (Argument(Bearing.FOR, 1, "praised"), Argument(Bearing.AGAINST, 2, "blamed"))


def task(**changes) -> LegTask:
    """The right leg of the ordinary case, with 64 bandages drawn from seed 5."""
    none = frozenset({"no such system"})
    bench = bench_of(
        case(**changes), shipped_policy(), shipped_catalogue(), samples=64, seed=5, systems=none
    )
    return bench.legs[Side.RIGHT].task


def soft(key: str, cm: float):
    """Wool of a sure thickness, under another name."""
    thickness = Thickness(low_cm=cm, high_cm=cm, source="invented")
    return shipped_catalogue()[WOOL].model_copy(update={"key": key, "thickness": thickness})


def made(asked: LegTask, *wool_cm: float, key: str = ELASTIC, found=FOUND, **system) -> SystemOnLeg:
    """A system of so much wool under one spiral of a bandage that presses."""
    materials = [*(soft(f"wool_{cm:g}", cm) for cm in wool_cm), shipped_catalogue()[key]]
    recipes = tuple(LayerRecipe(one.key) for one in materials)
    about = {"traits": frozenset({Trait.ELASTIC}), "change_days": 4, **system}
    return computed(System("own", "Own", recipes, **about), materials, found, asked)


@cache
def plain() -> SystemOnLeg:
    return made(task(), 0.2, 0.3)


def test_soft_layers_add_up_and_the_thickest_is_one_layer_of_build_up() -> None:
    padding = plain().plan.padding
    assert (padding.even_cm, padding.layer_cm) == pytest.approx((0.5, 0.3))
    assert (padding.start, padding.end) == (Landmark.METATARSAL_HEADS, Landmark.BELOW_KNEE)
    # Half a centimetre of wool on the gaiter's girth is pi more.
    gaiter = next(one for one in plain().plan.sites if one.landmark is Landmark.GAITER)
    bare = task().bandaged_leg.bare.girth_at_cm(Landmark.GAITER)
    assert gaiter.girth_cm - bare == pytest.approx(3.14, abs=0.05)


def test_without_wool_there_is_nothing_to_build_up_with() -> None:
    padding = made(task()).plan.padding
    assert (padding.even_cm, padding.layer_cm) == (0, 0)


def test_it_ends_where_its_system_ends() -> None:
    assert made(task(), 0.3, end=Landmark.CALF).plan.padding.end is Landmark.CALF


def test_it_is_drawn_as_often_and_from_the_seed_that_the_plan_says() -> None:
    sampling = plain().design.sampling
    assert (sampling.samples, sampling.seed) == (64, 5)
    assert [layer.material.key for layer in plain().design.layers] == [ELASTIC]
    assert plain().plan.for_hands.text == ""


def test_reasons_for_and_against_stand_on_their_own_sides() -> None:
    one = made(task(), 0.3, substituted=("replaced",))
    assert "praised" in [str(text) for text in one.plan.reasons_for]
    assert "blamed" not in [str(text) for text in one.plan.reasons_for]
    against = [str(text) for text in one.plan.reasons_against]
    assert "praised" not in against
    assert against[0] == "blamed"
    assert against[-1] == "replaced"
    assert one.arguments[:2] == FOUND


@pytest.mark.parametrize(("bad", "poor", "told"), [(30, 0, 1), (8, 0, 0), (30, 1, 0), (8, 1, 0)])
def test_a_steep_fabric_speaks_against_itself_unless_arteries_ask_for_inelastic(
    monkeypatch, bad: float, poor: int, told: int
) -> None:
    """From 40 to 55 mmHg with 2 mm more; the hands spread it over 30 mmHg, more than 30 to 50."""
    monkeypatch.setattr(system_on_leg, "steepness_of", lambda _: Steepness(40.0, 55.0, bad))
    asked = task()
    effects = frozenset({Effect.INELASTIC} if poor else ())
    decision = asked.patient.decision.model_copy(update={"effects": effects})
    asked = replace(asked, patient=replace(asked.patient, decision=decision))
    one = made(asked, 0.3, found=())
    assert len(one.arguments) == told
    assert len(one.plan.reasons_against) == told


class ThinLeg:
    """A leg on which wool cannot build up so much of the girth."""

    def __init__(self, real, short_cm: float) -> None:
        self.real, self.short_cm = real, short_cm

    def __getattr__(self, name: str):
        return getattr(self.real, name)

    def under(self, padding) -> PaddedLeg:
        leg = self.real.under(padding)
        return PaddedLeg(leg.surface, replace(leg.wool, short_cm=self.short_cm), ())


@pytest.mark.parametrize(("short_cm", "said"), [(0.0, None), (0.6, "1 cm"), (2.4, "2 cm")])
def test_a_leg_too_thin_for_wool_is_told_by_how_much(short_cm: float, said: str | None) -> None:
    asked = task()
    asked = replace(asked, bandaged_leg=ThinLeg(asked.bandaged_leg, short_cm))
    against = [str(text) for text in made(asked, 0.3, found=()).plan.reasons_against]
    assert len(against) == (said is not None)
    assert said is None or said in against[0]


@pytest.mark.parametrize(("key", "named"), [(ELASTIC, True), ("short_stretch", False)])
def test_hands_are_named_where_a_layer_that_presses_has_their_habit(key: str, named: bool) -> None:
    at = {"tension_percent": -20.0, "sure_percent": 1.0}
    heights = dict.fromkeys(("ankle", "calf", "below_knee"), at)
    habit = {"readings": 30, "heights": heights, "spread_percent": 8.0}
    asked = task(**{"bandager.initials": "R.S.", "bandager.habits": {key: habit}})
    assert ("R.S." in str(made(asked, 0.3).plan.for_hands)) is named


def test_nothing_changed_is_the_same() -> None:
    assert changed(plain(), Adjustment("own"), task()) is plain()


def test_a_change_by_hand_is_laid_as_chosen_and_told() -> None:
    """6 mm are 0.6 cm; reasons are looked up again for its materials and traits."""
    change = Adjustment(
        "own", {ELASTIC: LayerChange(stretch=0.4)}, start=Landmark.INSTEP, end=Landmark.CALF,
        pads_mm={"heel": 6.0},
    )  # fmt: skip
    one = changed(plain(), change, task())
    assert one.design.layers[0].stretch == 0.4
    assert one.design.padded_leg.pads_cm["heel"] == pytest.approx(0.6)
    assert one.plan.pads_mm["heel"] == pytest.approx(6.0)
    assert (one.plan.padding.start, one.plan.padding.end) == (Landmark.INSTEP, Landmark.CALF)
    assert len(one.plan.by_hand) == 4
    assert plain().plan.by_hand == ()
    assert "praised" not in [str(text) for text in one.plan.reasons_for]


def test_a_change_of_one_end_leaves_the_other_where_it_was() -> None:
    was = made(task(), 0.3, end=Landmark.CALF)
    start = changed(was, Adjustment("own", start=Landmark.INSTEP), task()).plan.padding
    assert (start.start, start.end) == (Landmark.INSTEP, Landmark.CALF)
    end = changed(was, Adjustment("own", end=Landmark.BELOW_KNEE), task()).plan.padding
    assert (end.start, end.end) == (Landmark.METATARSAL_HEADS, Landmark.BELOW_KNEE)
