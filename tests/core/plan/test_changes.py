"""A plan in force beside the same bandage on the leg of today."""

from datetime import date
from functools import cache

import pytest

from gaiter.core.case import LegReading
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Fit, bench_of
from gaiter.core.plan.changes import ChangeCode, as_recorded, largest_girth_change, plan_change
from tests.strategies import case

GIRTH = "legs.right.girth_cm."


@pytest.fixture(scope="module")
def bench(policy, catalogue):
    @cache
    def made(**changes):
        only = frozenset({"four_layer", "wool_short_stretch"})
        return bench_of(case(**changes), policy, catalogue, samples=512, systems=only)

    return made


def pair(bench, **changes):
    """A plan, and the same bandage on the changed leg."""
    then = bench().plan.legs[Side.RIGHT]
    later = bench(**changes)
    _ = later.plan
    return then, later.adjusted(Side.RIGHT, as_recorded(then.systems[0])).leg


def changed(bench, **changes):
    return plan_change(*pair(bench, **changes), 0.05)


def test_an_unchanged_leg_is_still_right(bench) -> None:
    change = changed(bench)
    assert change.code is ChangeCode.STILL_RIGHT
    assert change.now_mmhg == pytest.approx(change.before_mmhg, abs=0.5)
    assert change.sentence.text.startswith("still right: likely ")


def test_a_leg_whose_sensor_read_little_since_is_said_to(bench) -> None:
    """The same bandage presses as much less as measured over theory fell."""

    def told(mmhg: float) -> LegReading:
        return LegReading(
            on=date(2026, 11, 20), site="gaiter", system="four_layer", mmhg=mmhg,
            theory_mmhg=40.0, theory_sd_percent=5.0,
        )  # fmt: skip

    change = changed(bench, **{"legs.right.sensor_readings": (told(24.0),)})
    then = bench().plan.legs[Side.RIGHT].systems[0].basis.remainder_median
    words = "changed because sensor readings since take measured over theory as 0.7"
    assert change.code is ChangeCode.PRESSURE
    assert change.sentence.text.startswith(words)
    assert f", then {then:.2f}: " in change.sentence
    now = float(change.sentence.text.removeprefix(words[:-3]).partition(",")[0])
    # Theory is told to 0.01.
    assert change.now_mmhg / change.before_mmhg == pytest.approx(now / then, abs=0.02)
    # A fiftieth less is no cause to name.
    small = changed(bench, **{"legs.right.sensor_readings": (told(34.0),)})
    assert "sensor readings" not in small.sentence


def test_a_smaller_leg_is_pressed_more_and_the_sentence_says_why(bench) -> None:
    was = case().legs[Side.RIGHT].girth_cm
    slimmer = {
        f"{GIRTH}{name.value}": round(0.93 * was.at(name), 1)
        for name in Landmark
        if was.at(name) is not None
    }
    slimmer[f"{GIRTH}ankle"] = round(0.9 * was.ankle, 1)
    then, now = pair(bench, **slimmer)
    change = plan_change(then, now, 0.05)
    # Its computed stretch stood at the allowed chance of exceeding the maximum already.
    assert change.code is ChangeCode.BEYOND
    assert change.landmark is Landmark.ANKLE
    smaller = was.ankle - round(0.9 * was.ankle, 1)
    assert change.sentence.text.startswith(
        f"changed because the ankle is {smaller:.1f} cm smaller: "
    )
    assert f"{change.before_mmhg:.0f} → {change.now_mmhg:.0f} mmHg" in change.sentence
    # Laplace: the same tension presses with thicknesses over girth. The inner side of a slimmer
    # leg is shaped a little otherwise, hence the slack.
    before, after = (leg.systems[0].sites[_row(leg)] for leg in (then, now))
    laplace = (after.thicknesses / after.girth_cm) / (before.thicknesses / before.girth_cm)
    assert change.now_mmhg / change.before_mmhg == pytest.approx(laplace, abs=0.05)
    assert laplace > 1.05


def test_foot_and_leg_keep_the_stretches_that_were_recorded(bench) -> None:
    """Whatever share of the leg's stretch today's leg would have on the foot."""
    system = bench().plan.legs[Side.RIGHT].systems[0]
    last = system.layers[-1]
    for foot, kept in ((None, last.stretch_percent), (last.stretch_percent + 2, None)):
        own = last.model_copy(update={"foot_stretch_percent": foot})
        recorded = system.model_copy(update={"layers": (*system.layers[:-1], own)})
        later = bench(**{f"{GIRTH}instep": 24.6})
        _ = later.plan
        now = later.adjusted(Side.RIGHT, as_recorded(recorded)).leg.systems[0].layers[-1]
        assert now.stretch_percent == pytest.approx(last.stretch_percent)
        on_foot = now.foot_stretch_percent or now.stretch_percent
        assert on_foot == pytest.approx(kept or foot)


def _row(leg) -> int:
    return [site.landmark for site in leg.systems[0].sites].index(Landmark.GAITER)


def test_a_bandage_that_cannot_be_made_says_so(bench) -> None:
    then = bench().plan.legs[Side.RIGHT]
    change = plan_change(then, None, 0.05)
    assert (change.code, change.now_mmhg) == (ChangeCode.NOT_MADE, None)


def test_another_maximum_counts_before_another_pressure(bench) -> None:
    then = bench().plan.legs[Side.RIGHT]
    decision = then.decision.model_copy(update={"maximum_mmhg": 40.0})
    now = then.model_copy(update={"decision": decision})
    change = plan_change(then, now, 0.05)
    assert change.code is ChangeCode.MAXIMUM
    assert "the maximum is 40 mmHg, then 60 mmHg" in change.sentence


@pytest.mark.parametrize(("share", "code"), [(0.049, "still right"), (0.051, "pressure changed")])
def test_the_policy_says_from_when_a_pressure_is_another(bench, share, code) -> None:
    then = bench().plan.legs[Side.RIGHT]
    system = then.systems[0]
    sites = tuple(
        site.model_copy(update={"median_mmhg": site.median_mmhg * (1 + share)})
        for site in system.sites
    )
    now = then.model_copy(update={"systems": (system.model_copy(update={"sites": sites}),)})
    assert plan_change(then, now, 0.05).code == code


@pytest.mark.parametrize("percent", [4.0, 22.0])
def test_what_only_holds_the_wool_stays_as_it_was_recorded(bench, percent: float) -> None:
    """Just taut, also below the least stretch of the same fabric laid to press."""
    later = bench()
    then = next(s for s in later.plan.legs[Side.RIGHT].systems if s.name == "four_layer")
    holding = then.layers[1]
    assert holding.presses
    assert holding.mark_spacing_cm is None
    layers = [then.layers[0], holding.model_copy(update={"stretch_percent": percent})]
    then = then.model_copy(update={"layers": (*layers, *then.layers[2:])})
    now = later.adjusted(Side.RIGHT, as_recorded(then)).made.plan
    assert now.layers[1].stretch_percent == pytest.approx(percent)
    assert now.layers[1].mark_spacing_cm is None


def test_a_change_within_the_tape_is_none(bench) -> None:
    then = bench().plan.legs[Side.RIGHT].surface
    moved = dict(then.girth_cm)
    moved[Landmark.CALF] += 0.05
    now = then.model_copy(update={"girth_cm": moved})
    assert largest_girth_change(then, now) == (None, 0.0)


# --- girths and sentences, one thing changed at a time --------------------------------------


@pytest.fixture(scope="module")
def then(bench):
    return bench().plan.legs[Side.RIGHT]


def with_girths(leg, **by_cm: float):
    """The leg's surface with girths larger by so many centimetres."""
    girth = dict(leg.surface.girth_cm)
    for name, by in by_cm.items():
        girth[Landmark(name)] += by
    return leg.surface.model_copy(update={"girth_cm": girth})


@pytest.mark.parametrize(
    ("by_cm", "expected"),
    [
        # Ankle 22.5, calf 37 and instep 24 cm: 1 cm of 22.5 is more than 1.5 cm of 37.
        ({"ankle": -1.0, "calf": 1.5}, (Landmark.ANKLE, -1.0)),
        ({"ankle": -1.0, "calf": 1.8}, (Landmark.CALF, 1.8)),
        ({"calf": 0.11}, (Landmark.CALF, 0.11)),
        ({"calf": -0.11}, (Landmark.CALF, -0.11)),
        ({"calf": 0.09}, (None, 0.0)),
    ],
)
def test_the_largest_change_is_the_largest_for_its_girth(then, by_cm, expected) -> None:
    landmark, by = largest_girth_change(then.surface, with_girths(then, **by_cm))
    assert landmark is expected[0]
    assert by == pytest.approx(expected[1])


@pytest.mark.parametrize(("was", "now"), [(22.3, 22.4), (22.4, 22.5), (22.4, 22.3)])
def test_a_millimetre_of_the_tape_is_a_change_whatever_the_girth(then, was, now) -> None:
    """In binary 22.4 - 22.3 is a little less than 0.1, and 22.5 - 22.4 a little more."""
    before, after = (
        then.surface.model_copy(update={"girth_cm": {**then.surface.girth_cm, Landmark.ANKLE: cm}})
        for cm in (was, now)
    )
    expected = 0.1 if now > was else -0.1
    assert largest_girth_change(before, after) == (Landmark.ANKLE, expected)


def test_an_estimated_girth_tells_of_no_change(then) -> None:
    now = with_girths(then, ankle=3.0, calf=0.5)
    guessed = now.model_copy(update={"estimated": ("girth_cm.ankle",)})
    assert largest_girth_change(then.surface, guessed)[0] is Landmark.CALF
    was = then.surface.model_copy(update={"estimated": ("girth_cm.ankle",)})
    assert largest_girth_change(was, now)[0] is Landmark.CALF


def test_an_estimated_girth_is_known_by_its_field_also_where_its_name_has_two_words(then) -> None:
    """The case's fields are named girth_cm.below_knee, a reader's place below knee."""
    now = with_girths(then, below_knee=6.0, calf=0.5)
    guessed = now.model_copy(update={"estimated": ("girth_cm.below_knee",)})
    assert largest_girth_change(then.surface, now)[0] is Landmark.BELOW_KNEE
    assert largest_girth_change(then.surface, guessed)[0] is Landmark.CALF
    # Where a girth was measured at a height that was not, the tape has changed all the same.
    at_some_height = now.model_copy(update={"estimated": ("position_cm.below_knee",)})
    assert largest_girth_change(then.surface, at_some_height)[0] is Landmark.BELOW_KNEE


def test_a_landmark_of_one_day_only_is_no_change(then) -> None:
    now = with_girths(then, ankle=3.0, calf=0.5)
    girth = {site: cm for site, cm in now.girth_cm.items() if site is not Landmark.ANKLE}
    less = now.model_copy(update={"girth_cm": girth})
    assert largest_girth_change(then.surface, less)[0] is Landmark.CALF


def test_without_a_surface_nothing_changed(then) -> None:
    assert largest_girth_change(None, then.surface) == (None, 0.0)
    assert largest_girth_change(then.surface, None) == (None, 0.0)


def later(then, *, share: float = 0.0, surface=None, **changes):
    """The same leg with another likely pressure at the gaiter, and other things changed."""
    system = then.systems[0]
    sites = tuple(
        site.model_copy(update={"median_mmhg": 40.0 * (1 + share)})
        if site.landmark is Landmark.GAITER
        else site
        for site in system.sites
    )
    outcome = changes.pop("outcome", system.outcome)
    made = system.model_copy(
        update={"sites": sites, "outcome": outcome, "outcome_reason": "it exceeds 60 mmHg"}
    )
    return then.model_copy(
        update={"systems": (made,), "surface": surface or then.surface, **changes}
    )


@pytest.mark.parametrize(
    ("by_cm", "cause"),
    [
        ({"ankle": 1.24}, "the ankle is 1.2 cm larger"),
        ({"calf": 0.6}, "the calf is 0.6 cm larger"),
        ({"below_knee": -2.0}, "the girth at the below knee is 2.0 cm smaller"),
        ({"instep": -1.0}, "the instep is 1.0 cm smaller"),
        ({}, "fabric, padding or hands are no longer what the plan took"),
    ],
)
def test_another_pressure_names_its_cause_and_both_numbers(then, by_cm, cause) -> None:
    now = later(then, share=0.25, surface=with_girths(then, **by_cm))
    change = plan_change(later(then), now, 0.1)
    assert change.code is ChangeCode.PRESSURE
    assert change.sentence.text == f"changed because {cause}: 40 → 50 mmHg at the gaiter"
    assert (change.before_mmhg, change.now_mmhg) == (40, 50)
    assert not change.still_right


@pytest.mark.parametrize(
    ("remainder", "cause"),
    [
        (0.80, "sensor readings since take measured over theory as 0.80, then 0.88"),
        (0.96, "sensor readings since take measured over theory as 0.96, then 0.88"),
        # Under a twentieth: the girth that changed has more to do with it.
        (0.85, "the calf is 0.6 cm larger"),
        (None, "the calf is 0.6 cm larger"),
    ],
)
def test_another_theory_is_named_before_a_girth(then, remainder, cause) -> None:
    def at(leg, median):
        system, basis = leg.systems[0], leg.systems[0].basis
        basis = basis.model_copy(update={"remainder_median": median}) if median else None
        return leg.model_copy(update={"systems": (system.model_copy(update={"basis": basis}),)})

    now = at(later(then, share=0.25, surface=with_girths(then, calf=0.6)), remainder)
    change = plan_change(at(later(then), 0.88), now, 0.1)
    assert change.sentence.text == f"changed because {cause}: 40 → 50 mmHg at the gaiter"


@pytest.mark.parametrize("share", [0.125, -0.125])
def test_a_drift_of_exactly_the_policys_share_counts(then, share: float) -> None:
    assert plan_change(later(then), later(then, share=share), 0.125).code is ChangeCode.PRESSURE
    assert plan_change(later(then), later(then, share=share), 0.126).still_right


def test_what_still_holds_says_both_pressures(then) -> None:
    change = plan_change(later(then), later(then, share=0.05), 0.1)
    assert change.sentence.text == "still right: likely 42 mmHg at the gaiter, 40 as planned"
    assert change.still_right


def test_another_aim_counts_before_another_pressure(then) -> None:
    target = then.target.model_copy(update={"gaiter_low_mmhg": 20.0, "gaiter_high_mmhg": 30.0})
    change = plan_change(later(then), later(then, share=0.25, target=target), 0.1)
    assert change.code is ChangeCode.AIM
    assert change.sentence.text == (
        "changed because the aim is 20–30 mmHg, then 30–50 mmHg; 40 → 50 mmHg at the gaiter"
    )
    none = plan_change(later(then), later(then, target=None), 0.1)
    assert "the aim is none, then 30–50 mmHg" in none.sentence
    other_top = then.target.model_copy(update={"gaiter_high_mmhg": 45.0})
    assert plan_change(later(then), later(then, target=other_top), 0.1).code is ChangeCode.AIM


def test_a_leg_that_may_not_be_compressed_any_more_has_no_maximum(then) -> None:
    decision = then.decision.model_copy(update={"maximum_mmhg": None})
    change = plan_change(later(then), later(then, decision=decision), 0.1)
    assert change.code is ChangeCode.MAXIMUM
    assert change.sentence.text == (
        "changed because the maximum is none, then 60 mmHg; 40 → 40 mmHg at the gaiter"
    )


def test_beyond_the_maximum_counts_before_another_pressure(then) -> None:
    now = later(then, share=0.5, outcome=Fit.CANNOT_BE_REACHED, surface=with_girths(then, calf=-2))
    change = plan_change(later(then), now, 0.1)
    assert change.code is ChangeCode.BEYOND
    assert change.sentence.text == (
        "changed because the calf is 2.0 cm smaller: 40 → 60 mmHg at the gaiter; it exceeds 60 mmHg"
    )


def test_no_system_left_is_a_bandage_that_cannot_be_made(then) -> None:
    change = plan_change(later(then), later(then).model_copy(update={"systems": ()}), 0.1)
    assert change.code is ChangeCode.NOT_MADE
    assert (change.before_mmhg, change.now_mmhg, change.landmark) == (40, None, None)
    assert change.girth_change_cm == 0


def test_a_recorded_bandage_is_laid_as_it_stands_there(then) -> None:
    four = next(one for one in then.systems if one.name == "four_layer")
    kept = as_recorded(four.model_copy(update={"pads_mm": {"Achilles tendon": 6.0}}))
    assert kept.system == "four_layer"
    assert kept.pads_mm == {"Achilles tendon": 6.0}
    assert set(kept.layers) == {layer.material for layer in four.layers if layer.presses}
    for layer in four.layers:
        if layer.presses:
            change = kept.layers[layer.material]
            assert change.stretch == pytest.approx(layer.stretch_percent / 100, abs=1e-6)
            assert (change.overlap, change.pattern) == (layer.overlap, layer.pattern)
    assert (kept.start, kept.end) == (Landmark.METATARSAL_HEADS, Landmark.BELOW_KNEE)


def test_a_start_or_end_that_cannot_be_chosen_is_left_to_the_plan(then) -> None:
    system = then.systems[0]
    odd = {"start": Landmark.HEEL_INSTEP, "end": Landmark.GAITER}
    padding = system.padding.model_copy(update=odd)
    kept = as_recorded(system.model_copy(update={"padding": padding}))
    assert (kept.start, kept.end) == (None, None)
