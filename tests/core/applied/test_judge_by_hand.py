"""Every number and threshold of what was applied, on sampled bandages set by hand.

A thousand bandages press at every site exactly as planned, but for what a test changes.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from gaiter.core.applied import judge
from gaiter.core.applied.document import Advice
from gaiter.core.applied.sampled import SampledApplied, sampled_after
from gaiter.core.landmark import Landmark
from gaiter.core.plan.document import LegPlan, SystemPlan
from tests.core.applied.applied_plan import PLACES, SYSTEM, marks_cm, plan, readings, system

EVENLY = np.arange(1, 1001) / 10


def leg() -> LegPlan:
    return next(iter(plan().legs.values()))


@cache
def real() -> SampledApplied:
    return sampled_after(leg(), system(), readings(), 1)


def changed_plan(of_leg: dict | None = None, of_sites: dict | None = None, **of_system):
    """The plan with its leg, its one system and that system's sites changed."""
    one = system()
    sites = tuple(
        site.model_copy(update=(of_sites or {}).get(site.landmark, {})) for site in one.sites
    )
    made: SystemPlan = one.model_copy(update={"sites": sites, **of_system})
    old = leg().model_copy(update={"systems": (made,), **(of_leg or {})})
    return plan().model_copy(update={"legs": {leg().side: old}})


@pytest.fixture
def applied(monkeypatch):
    """What is said of a bandage with these samples at these sites."""

    def made(rows=None, given=None, the_plan=None, **after):
        the_plan = the_plan or plan()
        every = [one for leg in the_plan.legs.values() for one in leg.systems]
        laid = next(one for one in every if one.name == SYSTEM)
        planned = {site.landmark: site.median_mmhg for site in laid.sites}
        discs = len(real().pressure_mmhg)
        pressure = np.full((discs, 1000), 10.0)
        for row, landmark in enumerate(real().padded_leg.sites):
            pressure[row] = (rows or {}).get(landmark, planned[landmark])
        by_hand = replace(
            real(),
            pressure_mmhg=pressure,
            theory_mmhg=after.pop("theory_mmhg", pressure),
            remainder=after.pop("remainder", np.full(1000, 0.88)),
            **after,
        )
        monkeypatch.setattr(judge, "sampled_after", lambda *_: by_hand)
        return judge.applied_pressure(the_plan, given or readings())

    return made


def at(made, landmark: Landmark):
    return next(site for site in made.sites if site.landmark is landmark)


GAITER, CALF, ANKLE = Landmark.GAITER, Landmark.CALF, Landmark.ANKLE


def above(count: int, landmark: Landmark = GAITER, mmhg: float = 60.1):
    """So many of a thousand bandages above the maximum of 60, the others as planned.

    Round the ankle the maximum is 1.3 times that, 78.
    """
    mmhg = 78.1 if landmark is ANKLE else mmhg
    planned = next(site.median_mmhg for site in system().sites if site.landmark is landmark)
    return {landmark: np.where(np.arange(1000) < count, mmhg, planned)}


def test_a_row_is_the_middle_the_band_and_the_chances(applied) -> None:
    """Of 0.1 ... 100 mmHg a twentieth lies under 5.095; 30 to 50 are 201, above 60 are 400."""
    made = applied({GAITER: EVENLY})
    assert made.maximum_mmhg == 60
    row = at(made, GAITER)
    assert (row.low_mmhg, row.median_mmhg, row.high_mmhg) == pytest.approx((5.095, 50.05, 95.005))
    assert (row.target_low_mmhg, row.target_high_mmhg) == (30, 50)
    assert row.chance_in_range == pytest.approx(0.201)
    assert row.chance_above_maximum == pytest.approx(0.4)
    assert row.off_mmhg == pytest.approx(50.05 - row.planned_mmhg)
    # Every other judged site lies in its range in every bandage.
    assert made.chance_every_site_in_range == pytest.approx(0.201)


def test_every_site_in_range_counts_bandages_and_not_sites(applied) -> None:
    """The first 400 miss at the gaiter, the last 300 at the calf: 300 are in range at both."""
    number = np.arange(1000)
    rows = {
        GAITER: np.where(number < 400, 20.0, 40.0),
        CALF: np.where(number >= 700, 5.0, 30.0),
    }
    assert applied(rows).chance_every_site_in_range == pytest.approx(0.3)


def test_theory_is_its_own_median_and_spread(applied) -> None:
    """Quartiles of 0.1 ... 100 are 25.075 and 75.025, 1.349 standard deviations apart."""
    theory = np.tile(EVENLY, (len(real().pressure_mmhg), 1))
    row = at(applied(theory_mmhg=theory), GAITER)
    assert row.theory_mmhg == pytest.approx(50.05)
    assert row.theory_log_sd == pytest.approx(np.log(75.025 / 25.075) / 1.34898, rel=1e-4)


def test_a_slack_bandage_is_laid_again_and_its_theory_tells_nothing(applied) -> None:
    """A quarter of the bandages press nothing: a spread without end is written as e to the 5th."""
    theory = np.tile(np.where(np.arange(1000) < 251, 0.0, 10.0), (len(real().pressure_mmhg), 1))
    assert at(applied(theory_mmhg=theory), GAITER).theory_log_sd == 5
    tiny = np.tile(np.where(np.arange(1000) < 251, 1e-6, 10.0), (len(theory), 1))
    assert at(applied(theory_mmhg=tiny), GAITER).theory_log_sd == 5


def test_marks_ten_centimetres_apart_on_short_stretch_are_judged() -> None:
    """No stretch at all, read twice: some of the bandages press nothing anywhere."""
    slack = {
        "system": "wool_short_stretch",
        "spacings": [{"layer": 2, "place": place, "cm": 10.0} for place in PLACES],
        "confirmed": True,
    }
    made = judge.applied_pressure(plan(), readings(**slack))
    assert made.advice is Advice.REDO
    assert all(site.low_mmhg < 0.5 * site.planned_mmhg for site in made.sites)


def test_where_most_bandages_press_nothing_theory_knows_nothing(applied) -> None:
    """The middle half of 0, 0, 0 ... 40 mmHg has no width in logarithms: as wide as it gets."""
    theory = np.where(np.arange(1000) < 800, 0.0, 40.0)
    made = applied(theory_mmhg=np.tile(theory, (len(real().pressure_mmhg), 1)))
    assert {site.theory_log_sd for site in made.sites} == {5}


def test_the_remainder_is_the_median_beside_the_plans(applied) -> None:
    made = applied(remainder=np.linspace(0.7, 0.9, 1000))
    assert made.remainder_median == pytest.approx(0.8)
    assert made.remainder_planned == 0.88
    assert (made.spacings_read, made.sensor_values_read) == (3, 0)


# The shipped policy: a chance of 25 % takes it off, one of more than 10 % lays it again.
@pytest.mark.parametrize(
    ("count", "advice"),
    [(250, Advice.TAKE_OFF), (249, Advice.REDO), (101, Advice.REDO), (100, Advice.GOOD)],
)
def test_the_chance_above_the_maximum_decides(applied, count: int, advice: Advice) -> None:
    made = applied(above(count))
    assert made.advice is advice
    if advice is not Advice.GOOD:
        words = f"above the maximum of 60 mmHg with a chance of {count / 1000:.0%}"
        assert words in made.reasons[0]


def test_the_plans_own_chances_come_before_those_of_earlier_programs(applied) -> None:
    own = {"take_off_from_chance": 0.5, "redo_from_chance": 0.3}
    assert applied(above(499), the_plan=changed_plan(own)).advice is Advice.REDO
    assert applied(above(300), the_plan=changed_plan(own)).advice is Advice.GOOD
    none = {"take_off_from_chance": None, "redo_from_chance": None}
    old = changed_plan(none)
    assert applied(above(250), the_plan=old).advice is Advice.TAKE_OFF
    assert applied(above(101), the_plan=old).advice is Advice.REDO
    assert applied(above(100), the_plan=old).advice is Advice.GOOD


def test_a_site_without_a_maximum_of_its_own_has_the_legs(applied) -> None:
    old = changed_plan(of_sites={GAITER: {"maximum_mmhg": None}})
    assert at(applied(above(200), the_plan=old), GAITER).chance_above_maximum == pytest.approx(0.2)
    lower = changed_plan(of_sites={GAITER: {"maximum_mmhg": 30.0}})
    assert at(applied(above(200), the_plan=lower), GAITER).chance_above_maximum == 1


@pytest.mark.parametrize(("guard", "advice"), [(True, Advice.TAKE_OFF), (False, Advice.GOOD)])
def test_the_foot_is_held_where_the_plan_guards_it(applied, guard: bool, advice: Advice) -> None:
    made = applied(above(300, Landmark.INSTEP, 90.0), the_plan=changed_plan({"guard_foot": guard}))
    assert made.advice is advice
    assert at(made, Landmark.INSTEP).guarded is guard
    assert at(made, GAITER).guarded


@pytest.mark.parametrize(("mmhg", "advice"), [(60.0, Advice.GOOD), (60.5, Advice.TAKE_OFF)])
def test_a_sensor_at_exactly_the_maximum_is_not_above_it(applied, mmhg, advice) -> None:
    given = readings(sensor=[("gaiter", mmhg)])
    assert applied(given=given, sensor_surprise=(0.0,)).advice is advice


# As planned means within 2 mmHg or a tenth of what was planned, whichever is more.
@pytest.mark.parametrize(
    ("planned", "median", "advice"),
    [
        (40.0, 36.0, Advice.GOOD),
        (40.0, 35.9, Advice.REDO),
        (10.0, 8.0, Advice.GOOD),
        (10.0, 7.9, Advice.REDO),
    ],
)
def test_out_of_range_but_as_planned_is_not_laid_again(applied, planned, median, advice) -> None:
    edge = {"median_mmhg": planned, "target_low_mmhg": planned - 0.5}
    made = applied({GAITER: median}, the_plan=changed_plan(of_sites={GAITER: edge}))
    assert made.advice is advice
    if advice is Advice.GOOD:
        assert [one.text for one in made.reasons] == ["it lies as planned, within the maximum"]
    else:
        low, high = planned - 0.5, 50
        assert made.reasons[0].text == (
            f"gaiter: too loose, likely {median:.0f} mmHg where {low:.0f} to {high} is aimed at"
        )


def test_nearer_to_its_range_than_planned_is_still_too_loose(applied) -> None:
    below = {"median_mmhg": 25.0, "target_low_mmhg": 30.0}
    made = applied({GAITER: 28.9}, the_plan=changed_plan(of_sites={GAITER: below}))
    assert made.reasons[0].text.startswith("gaiter: too loose, likely 29 mmHg where 30 to 50 is")


def test_too_tight_is_said_the_other_way(applied) -> None:
    assert applied({GAITER: 56.0}).reasons[0].text == (
        "gaiter: too tight, likely 56 mmHg where 30 to 50 is aimed at"
    )


def test_both_ends_of_a_range_lie_in_it(applied) -> None:
    for median in (30.0, 50.0):
        made = applied({GAITER: median})
        assert made.advice is Advice.GOOD
        assert [one.text for one in made.reasons] == [
            "every judged site is likely in its range, within the maximum"
        ]
        assert at(made, GAITER).chance_in_range == made.chance_every_site_in_range == 1


@pytest.mark.parametrize(
    ("off", "word"), [(3.01, "wider"), (-3.01, "closer"), (3.0, ""), (-3.0, "")]
)
def test_a_spacing_three_deviations_off_is_asked_for_again(applied, off, word) -> None:
    made = applied(spacing_surprise=(0.0, off, 0.0))
    assert made.advice is (Advice.READ_AGAIN if word else Advice.GOOD)
    if word:
        (words,) = made.questions
        assert words.text.startswith(
            f"layer 3, calf: marks {marks_cm():g} cm apart are far {word} than"
        )


@pytest.mark.parametrize(
    ("off", "word"), [(3.01, "above"), (-3.01, "below"), (3.0, ""), (-3.0, "")]
)
@pytest.mark.parametrize("marks", [True, False])
def test_a_sensor_three_deviations_off_is_asked_for_again(applied, off, word, marks) -> None:
    given = readings(None if marks else [], sensor=[("gaiter", 40.0)])
    made = applied(given=given, spacing_surprise=(0.0,) * 3 * marks, sensor_surprise=(off,))
    assert made.advice is (Advice.READ_AGAIN if word else Advice.GOOD)
    if word:
        (words,) = made.questions
        what = "the marks" if marks else "the plan"
        assert f"sensor at the gaiter: 40 mmHg is far {word} what {what} can give" in words


@pytest.mark.parametrize(
    ("off", "said"),
    [
        (3.01, "40 mmHg at the gaiter and 18 mmHg at the ankle"),
        (-3.01, "18 mmHg at the ankle and 40 mmHg at the gaiter"),
        (3.0, ""),
        (-3.0, ""),
    ],
)
def test_two_sensors_three_deviations_apart_are_named_together(applied, off, said) -> None:
    given = readings(sensor=[("gaiter", 40.0), ("ankle", 18.0)])
    made = applied(
        given=given, spacing_surprise=(0.0,) * 3, sensor_surprise=(0.0, 0.0),
        sensor_pairs=((0, 1, off),),
    )  # fmt: skip
    assert made.advice is (Advice.READ_AGAIN if said else Advice.GOOD)
    assert [words.text for words in made.questions] == [
        f"the sensor reads {said}: these do not go together; read both again, each at its own place"
    ] * bool(said)


@pytest.mark.parametrize(("spacings", "advice"), [(1, Advice.READ_MORE), (2, Advice.GOOD)])
def test_two_spacings_of_a_layer_are_enough(applied, spacings: int, advice: Advice) -> None:
    given = readings([marks_cm()] * spacings)
    made = applied(given=given, spacing_surprise=(0.0,) * spacings)
    assert made.advice is advice
    if advice is Advice.READ_MORE:
        assert made.reasons[0].text.startswith(
            "layer 3, long-stretch elastic bandage: 1 of its spacing"
        )


def test_a_sensor_elsewhere_does_not_stand_for_the_spacings(applied) -> None:
    given = readings([], sensor=[("calf", 30.0)])
    made = applied(given=given, spacing_surprise=(), sensor_surprise=(0.0,))
    assert made.advice is Advice.READ_MORE
    assert "0 of its spacings read; read ankle, calf, below knee as well" in made.reasons[0]


# Two thirds of 10 cm are planned; turns stray by twice half a centimetre anyway.
@pytest.mark.parametrize(("cm", "said"), [(7.6, False), (7.7, True), (5.7, False), (5.6, True)])
def test_an_overlap_off_by_more_than_a_centimetre_is_a_reason(applied, cm: float, said) -> None:
    given = readings(overlaps=[{"layer": 3, "cm": cm}])
    made = applied({GAITER: 20.0}, given, with_layer(overlap=2 / 3))
    words = f"layer 3 overlaps by {cm:g} cm, planned 6.7 cm"
    assert made.advice is Advice.REDO
    assert (words in [one.text for one in made.reasons]) is said


def test_a_layers_spacings_are_the_middle_and_the_band_of_its_turn(applied) -> None:
    """Stretches of 0.30 to 0.50 on every turn: likely 14 cm, 13.1 to 14.9."""
    stretch = tuple(np.tile(np.linspace(0.3, 0.5, 1000), (len(one), 1)) for one in real().stretch)
    made = applied(stretch=stretch)
    (layer,) = made.layers
    fabric, planned = system().layers[-1].fabric, system().layers[-1].tensions_n_per_cm[1]
    assert [spacing.place.value for spacing in layer.spacings] == list(PLACES)
    for spacing in layer.spacings:
        assert spacing.planned_cm == pytest.approx(marks_cm())
        assert spacing.likely_cm == pytest.approx(14.0)
        assert (spacing.low_cm, spacing.high_cm) == pytest.approx((13.1, 14.9))
        tension = float(fabric.curve.tension_n_per_cm(0.4))
        assert spacing.tension_percent == pytest.approx(100 * (tension / planned - 1))
        assert spacing.read_cm == marks_cm()
        assert spacing.read_log_tension == pytest.approx(0, abs=1e-6)


def test_slack_reads_as_what_a_tape_can_tell(applied) -> None:
    """Marks 10.05 cm apart are read as 2 % of stretch, the error of a tape."""
    made = applied(given=readings([10.05, marks_cm(), marks_cm()], confirmed=True))
    spacing = made.layers[0].spacings[0]
    layer = system().layers[-1]
    tension = float(layer.fabric.curve.tension_n_per_cm(0.02))
    assert spacing.read_log_tension == pytest.approx(np.log(tension / layer.tensions_n_per_cm[1]))
    slope = float(layer.fabric.curve.slope_n_per_cm(0.02))
    assert spacing.read_log_error == pytest.approx(0.02 * slope / tension)


def test_what_is_taken_off_begins_again_at_the_first_turn(applied) -> None:
    off = applied(above(300))
    assert off.redo is not None
    assert off.redo.from_turn == 1
    again = applied({Landmark.BELOW_KNEE: 1.0})
    assert again.advice is Advice.REDO
    assert again.redo.from_turn > 3
    assert applied().redo is None


def test_exactly_the_maximum_is_not_above_it(applied) -> None:
    assert at(applied({GAITER: 60.0}), GAITER).chance_above_maximum == 0


def test_a_leg_without_a_maximum_takes_no_pressure_at_all(applied) -> None:
    """Where neither the leg nor the site has one it is 0 mmHg: nothing is let through."""
    decision = leg().decision.model_copy(update={"maximum_mmhg": None})
    no_site = {site.landmark: {"maximum_mmhg": None} for site in system().sites}
    made = applied({GAITER: 0.05}, the_plan=changed_plan({"decision": decision}, no_site))
    assert (made.maximum_mmhg, at(made, GAITER).chance_above_maximum) == (0, 1)
    assert made.advice is Advice.TAKE_OFF


def test_the_spread_of_a_weak_bandages_theory_is_a_ratio_too(applied) -> None:
    """A hundredth of 0.1 ... 100 mmHg: the quartiles' ratio stays."""
    theory = np.tile(EVENLY / 100, (len(real().pressure_mmhg), 1))
    row = at(applied(theory_mmhg=theory), GAITER)
    assert row.theory_log_sd == pytest.approx(np.log(75.025 / 25.075) / 1.34898, rel=1e-4)


def with_layer(**changes):
    """The plan with its stretching layer changed."""
    *under, last = system().layers
    return changed_plan(layers=(*under, last.model_copy(update=changes)))


@pytest.mark.parametrize(("cm", "said"), [(6.0, False), (6.1, True), (4.0, False), (3.9, True)])
def test_exactly_a_centimetre_of_overlap_is_how_turns_stray(applied, cm: float, said) -> None:
    """Half of 10 cm is planned."""
    given = readings(overlaps=[{"layer": 3, "cm": cm}])
    made = applied({GAITER: 20.0}, given, with_layer(overlap=0.5))
    words = f"layer 3 overlaps by {cm:g} cm, planned 5.0 cm"
    assert (words in [one.text for one in made.reasons]) is said


def test_an_overlap_is_that_of_the_width_used_up_the_leg(applied) -> None:
    """Half of 12 cm from the ankle up, whatever is used on the foot."""
    given = readings(overlaps=[{"layer": 3, "cm": 7.1}])
    made = applied({GAITER: 20.0}, given, with_layer(overlap=0.5, leg_width_cm=12.0))
    words = "layer 3 overlaps by 7.1 cm, planned 6.0 cm"
    assert words in [one.text for one in made.reasons]


def test_a_spacing_read_at_the_gaiter_is_shown_beside_the_three_heights(applied) -> None:
    """The three are always shown; the gaiter where it was read, in the order up the leg."""
    spacings = [
        {"layer": 3, "place": "gaiter", "cm": 14.0},
        {"layer": 3, "place": "calf", "cm": 15.0},
    ]
    made = applied(given=readings(spacings=spacings), spacing_surprise=(0.0, 0.0))
    shown = {one.place.value: one.read_cm for one in made.layers[0].spacings}
    assert shown == {"ankle": None, "gaiter": 14.0, "calf": 15.0, "below_knee": None}
    assert list(shown) == ["ankle", "gaiter", "calf", "below_knee"]
    unread = made.layers[0].spacings[0]
    assert unread.read_log_tension is unread.read_log_error is None


def test_a_layer_shows_where_it_was_read_and_not_where_another_was(applied) -> None:
    fabric = {"fabric": None, "tensions_n_per_cm": (0.5, 0.5)}
    *_, last = real().layers
    resting = last.model_copy(update={"number": 2, **fabric})
    made = applied(
        layers=(resting, last), laid=real().laid * 2, stretch=real().stretch * 2,
    )  # fmt: skip
    assert [layer.number for layer in made.layers] == [3]
    unplanned = last.model_copy(update={"number": 2, "tensions_n_per_cm": None})
    made = applied(layers=(unplanned, last), laid=real().laid * 2, stretch=real().stretch * 2)
    assert [layer.number for layer in made.layers] == [3]


def test_turns_without_stretch_are_shown_as_ten_centimetres(applied) -> None:
    """A sampled turn below no stretch at all is slack: its marks lie 10 cm apart."""
    stretch = tuple(np.full((len(one), 1000), -0.05) for one in real().stretch)
    for spacing in applied(stretch=stretch).layers[0].spacings:
        assert (spacing.low_cm, spacing.likely_cm, spacing.high_cm) == (10, 10, 10)
        assert spacing.tension_percent == -100


def test_only_the_sites_that_are_wrong_say_where_to_begin(applied) -> None:
    """Too loose at the calf begins over it; a chance above the maximum at the ankle lower down."""
    loose = applied({CALF: 5.0})
    risky = applied({CALF: 5.0, **above(150, ANKLE)})
    assert loose.advice is risky.advice is Advice.REDO
    assert risky.redo.from_turn < loose.redo.from_turn


@pytest.mark.parametrize(("mmhg", "off"), [(60.0, False), (60.1, True)])
def test_a_sensor_at_the_ankle_lies_on_a_point_and_is_judged_by_the_legs_maximum(
    applied, mmhg: float, off: bool
) -> None:
    """The mean round the limb may have 78 there; a point has 60 as at the gaiter."""
    made = applied(given=readings(sensor=[("ankle", mmhg)]), sensor_surprise=(0.0,))
    words = "ankle: the sensor reads 60.1 mmHg, above the maximum of 60 mmHg"
    assert (made.advice is Advice.TAKE_OFF) is off
    assert (words in [one.text for one in made.reasons]) is off


def test_a_sensor_at_the_ankle_is_compared_with_its_inner_side(applied) -> None:
    """Theory of 0.1 ... 100 mmHg on the inner side and 10 everywhere else, the ring too."""
    theory = np.full((len(real().pressure_mmhg), 1000), 10.0)
    inner = real().padded_leg.names.index("inner side of the ankle")
    theory[inner] = EVENLY
    made = applied(theory_mmhg=theory)
    assert at(made, ANKLE).theory_mmhg == pytest.approx(50.05)
    assert at(made, ANKLE).theory_log_sd == pytest.approx(
        np.log(75.025 / 25.075) / 1.34898, rel=1e-4
    )
    assert at(made, GAITER).theory_mmhg == 10
    # The gaiter is the same in every bandage, so their ratio spreads as the ankle alone.
    assert at(made, ANKLE).beside_gaiter_log_sd == pytest.approx(at(made, ANKLE).theory_log_sd)
    assert at(made, GAITER).beside_gaiter_log_sd == 0
    # Judged is the ring all the same.
    assert at(applied({ANKLE: EVENLY}), ANKLE).median_mmhg == pytest.approx(50.05)
