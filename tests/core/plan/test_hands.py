import numpy as np
import pytest
from pydantic import ValidationError

from gaiter.core.bandage.pattern import Pattern
from gaiter.core.case import (
    Bandager,
    Calibration,
    Habit,
    HabitAt,
    Remainder,
    Sex,
    SiteOffset,
    Training,
)
from gaiter.core.landmark import Landmark
from gaiter.core.plan import design as planned
from gaiter.core.plan import plan as planned_for
from gaiter.core.plan.hands import (
    calibration_in_words,
    habit_in_words,
    offsets_in_words,
    offsets_of,
    spread_inputs,
    what_habits_change,
)
from gaiter.core.plan.layers import FixedLayer, PressingLayer
from gaiter.core.plan.laying import Geometry
from gaiter.core.plan.maxima import Maxima
from gaiter.core.plan.padded_leg import BandagedLeg, Padding, Sampling
from gaiter.core.plan.search import fixed_design
from gaiter.core.plan.systems import LayerRecipe
from gaiter.core.plan.target import target_range
from gaiter.core.policy import Policy
from gaiter.core.safety import Aim
from gaiter.core.spread.draws import Hands, SpreadInputs
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.core.plan.hand_made import built
from tests.strategies import case, percentile_leg

ELASTIC = "long_stretch_elastic"


def habit(percent: float, sure: float = 2.0, spread: float = 8.0, readings: int = 30) -> dict:
    at = {"tension_percent": percent, "sure_percent": sure}
    heights = dict.fromkeys(("ankle", "calf", "below_knee"), at)
    return {"readings": readings, "heights": heights, "spread_percent": spread}


def elastic_plan(**changes):
    only = frozenset({"wool_gauze_long_stretch"})
    plan = planned_for(case(**changes), shipped_policy(), shipped_catalogue(), systems=only)
    leg = next(iter(plan.legs.values()))
    return plan, next(s for s in leg.systems if s.name == "wool_gauze_long_stretch")


def test_loose_hands_are_asked_for_wider_marks_and_reach_the_same_pressure() -> None:
    _, plain = elastic_plan()
    _, loose = elastic_plan(
        **{"bandager.initials": "R.S.", "bandager.habits": {ELASTIC: habit(-6.0)}}
    )
    assert loose.layers[-1].mark_spacing_cm > plain.layers[-1].mark_spacing_cm
    assert loose.for_hands.text.startswith("Made for R.S.: long-stretch")
    assert (
        f"aim for {loose.layers[-1].mark_spacing_cm:.1f} cm marks instead of "
        f"{plain.layers[-1].mark_spacing_cm:.1f}"
    ) in loose.for_hands
    gaiter = [
        next(s.median_mmhg for s in made.sites if s.landmark is Landmark.GAITER)
        for made in (plain, loose)
    ]
    # Steadier hands may aim nearer the middle of the range within the same maximum.
    assert gaiter[1] == pytest.approx(gaiter[0], rel=0.15)
    # Known hands are steadier than trained hands in general.
    assert loose.chance_every_site_in_range > plain.chance_every_site_in_range
    assert plain.for_hands.text == ""


def test_another_way_to_lay_it_is_said_in_full(policy: Policy) -> None:
    """Same stretch, other overlap: what changes is how it lies, and that is said."""
    catalogue = shipped_catalogue()
    padded_leg = BandagedLeg(percentile_leg(Sex.FEMALE, 1)).under(Padding(0.28))
    layer = PressingLayer(LayerRecipe(ELASTIC), catalogue[ELASTIC])
    maxima = Maxima(60, 60, 60, 120)
    target = target_range(Aim(low_mmhg=30, high_mmhg=50, source="test"), maxima, policy)
    aim = planned.Aim(target, maxima, 0.025)
    hands = Hands.of_spread(0.18)
    sampling = Sampling(SpreadInputs((hands,), 0.92, 0.35), 64, 1)
    ours, theirs = (
        fixed_design(
            padded_leg,
            [layer],
            [FixedLayer(Geometry(Pattern.SPIRAL, overlap, 10.0), 0.5, 0.5)],
            aim,
            sampling,
        )
        for overlap in (0.7, 0.5)
    )
    bandager = case(**{"bandager.habits": {ELASTIC: habit(-15.0)}}).bandager
    said = what_habits_change(ours, theirs, bandager)
    assert "spiral, overlap 70 % and 15.0 cm marks" in said
    assert "instead of spiral, overlap 50 % and 15.0 cm" in said


def test_habits_never_stretch_beyond_the_usual_limit() -> None:
    _, slack = elastic_plan(**{"bandager.habits": {ELASTIC: habit(-60.0)}})
    layer = slack.layers[-1]
    assert layer.stretch_percent / 100 <= layer.fabric.largest_stretch + 1e-9


def test_the_clinics_sensor_replaces_the_policys_remainder(policy: Policy) -> None:
    own = {"bandages": 12, "values": 24, "median": 0.8, "range95": 0.2}
    plan, made = elastic_plan(calibration={"clinic": own})
    assert made.basis.remainder_median == plan.remainder_of(made) == 0.8
    assert made.basis.remainder_range95 == 0.2
    said = [words.text for words in plan.assumptions if "sensor" in words]
    assert said == [
        "Measured over theory by this clinic's sensor: this clinic 0.80 (up to 20 % more or as "
        "much less) from 24 values on 12 bandages; policy has 0.88."
    ]


def test_a_few_bandages_do_not_move_a_plan_yet() -> None:
    few = {"bandages": 4, "values": 9, "median": 0.6, "range95": 0.2}
    plan, made = elastic_plan(calibration={"clinic": few})
    assert made.basis.remainder_median == plan.theory_remainder
    assert any("which is taken until 5 bandages were read" in w for w in plan.assumptions)


def test_without_a_sensor_the_plan_says_that_none_stands_behind_it(policy: Policy) -> None:
    plan, _ = elastic_plan()
    assert any("No reading of this clinic's sensor" in words for words in plan.assumptions)
    assert calibration_in_words(None, policy) in plan.assumptions


def test_a_systems_own_remainder_goes_before_the_clinics(policy: Policy) -> None:
    one = Remainder(bandages=30, values=30, median=0.9, range95=0.2)
    own = Remainder(bandages=12, values=12, median=0.7, range95=0.2)
    given = case().model_copy(
        update={"calibration": Calibration(clinic=one, systems={"four_layer": own})}
    )
    catalogue = shipped_catalogue()
    for system, median in (("four_layer", 0.7), ("wool_short_stretch", 0.9)):
        inputs = spread_inputs(
            system, [catalogue[ELASTIC]], given, Bandager(training=Training.TRAINED), policy
        )
        assert inputs.remainder_median == median


def test_hands_of_a_record_are_its_logarithms(policy: Policy) -> None:
    bandager = Bandager.model_validate(
        {"training": "trained", "habits": {ELASTIC: habit(10.0, 3.0, 8.0)}}
    )
    inputs = spread_inputs("any", [shipped_catalogue()[ELASTIC]], case(), bandager, policy)
    hands = inputs.hands_of(0)
    assert hands.habit == pytest.approx([np.log(1.1)] * 3)
    assert (hands.bias_sd, hands.scatter_sd) == pytest.approx((np.log(1.03), np.log(1.08)))


def test_small_or_unsure_habits_are_not_named() -> None:
    at = HabitAt(tension_percent=-3.0, sure_percent=5.0)
    quiet = Habit(readings=1, heights={Landmark.CALF: at}, spread_percent=11.0)
    assert habit_in_words(quiet).text == "no habit that stands out, ± 11 %, from 1 reading"


def test_a_habit_elsewhere_is_refused() -> None:
    at = HabitAt(tension_percent=-3.0, sure_percent=5.0)
    with pytest.raises(ValidationError, match="heights must be ankle, calf, below_knee; received"):
        Habit(readings=1, heights={Landmark.INSTEP: at}, spread_percent=11.0)


# --- each sentence and number by itself -----------------------------------------------------


def of_heights(**percents: float) -> Habit:
    """Tension too tight (+) or loose (-) at heights, sure to 1 %."""
    heights = {
        Landmark(height): HabitAt(tension_percent=percent, sure_percent=1.0)
        for height, percent in percents.items()
    }
    return Habit(readings=12, heights=heights, spread_percent=9.0)


@pytest.mark.parametrize(
    ("percents", "words"),
    [
        ({"ankle": 6.0}, "tends to 6 % too tight above the ankle"),
        ({"calf": -5.0, "below_knee": 4.0},
         "tends to 5 % too loose at the calf, 4 % too tight below the knee"),
        # As large as what is unsure of it: no habit that stands out.
        ({"calf": 1.0}, "no habit that stands out"),
        ({"calf": -1.1}, "tends to 1 % too loose at the calf"),
    ],
)  # fmt: skip
def test_a_habit_is_named_where_it_is_surer_than_unsure(percents, words: str) -> None:
    assert habit_in_words(of_heights(**percents)).text == f"{words}, ± 9 %, from 12 readings"


def test_a_bias_of_less_than_one_per_cent_is_never_named() -> None:
    at = HabitAt(tension_percent=0.9, sure_percent=0.1)
    sure = Habit(readings=2, heights={Landmark.CALF: at}, spread_percent=9.0)
    assert habit_in_words(sure).text == "no habit that stands out, ± 9 %, from 2 readings"
    one = sure.model_copy(
        update={"heights": {Landmark.CALF: at.model_copy(update={"tension_percent": 1.0})}}
    )
    assert habit_in_words(one).text.startswith("tends to 1 % too tight")


def test_padding_of_several_soft_layers_adds_up(policy: Policy) -> None:
    """Wool of 0 to 5.65 mm, twice."""
    wool = shipped_catalogue()["orthopaedic_wool"]
    trained = Bandager(training=Training.TRAINED)
    elastic = shipped_catalogue()[ELASTIC]
    inputs = spread_inputs("any", [wool, wool, elastic], case(), trained, policy)
    assert inputs.padding_cm == pytest.approx((0.0, 0.565, 1.13))
    assert len(inputs.hands) == 1


@pytest.mark.parametrize(
    ("training", "cv"), [("untrained", 0.40), ("trained", 0.18), ("trained with feedback", 0.11)]
)
def test_hands_without_a_record_spread_as_the_policy_says(policy: Policy, training, cv) -> None:
    """Log-normal of this coefficient of variation, half of its variance the day's."""
    level = Training(training)
    inputs = spread_inputs(
        "any", [shipped_catalogue()[ELASTIC]], case(), Bandager(training=level), policy
    )
    hands = inputs.hands_of(0)
    assert hands.bias_sd == hands.scatter_sd == pytest.approx((np.log(1 + cv**2) / 2) ** 0.5)
    assert hands.habit == (0, 0, 0)
    assert inputs.remainder_median == policy["theory_remainder_median"]
    assert inputs.remainder_range95 == policy["theory_remainder_range95"]


def test_a_height_that_was_never_read_is_taken_as_planned(policy: Policy) -> None:
    known = Bandager(training=Training.TRAINED, habits={ELASTIC: of_heights(calf=10.0)})
    hands = spread_inputs("any", [shipped_catalogue()[ELASTIC]], case(), known, policy).hands_of(0)
    assert hands.habit == pytest.approx((0, np.log(1.1), 0))
    # Sure to 1 % where it was read; what was not read says nothing.
    assert hands.bias_sd == pytest.approx(np.log(1.01))


@pytest.mark.parametrize(("bandages", "median"), [(4, 0.88), (5, 0.7)])
def test_a_calibration_counts_from_five_bandages(policy: Policy, bandages: int, median) -> None:
    own = Remainder(bandages=bandages, values=9, median=0.7, range95=0.2)
    given = case().model_copy(update={"calibration": Calibration(clinic=own, systems={})})
    inputs = spread_inputs(
        "any", [shipped_catalogue()[ELASTIC]], given, Bandager(training=Training.TRAINED), policy
    )
    assert inputs.remainder_median == median
    said = calibration_in_words(given.calibration, policy)
    assert ("which is taken until 5 bandages were read" in said) == (bandages < 5)


def test_a_systems_own_calibration_is_named(policy: Policy) -> None:
    one = Remainder(bandages=30, values=41, median=0.9, range95=0.25)
    own = Remainder(bandages=12, values=15, median=0.7, range95=0.2)
    words = calibration_in_words(Calibration(clinic=one, systems={"four_layer": own}), policy)
    assert words.text == (
        "Measured over theory by this clinic's sensor: this clinic 0.90 (up to 25 % more or as "
        "much less) from 41 values on 30 bandages; four layer 0.70 (up to 20 % more or as much "
        "less) from 15 values on 12 bandages; policy has 0.88."
    )


def test_a_wide_remainder_is_told_in_whole_per_cent(policy: Policy) -> None:
    """0.64 of the median is 64 %."""
    one = Remainder(bandages=30, values=41, median=0.9, range95=0.64)
    assert "(up to 64 % more" in calibration_in_words(Calibration(clinic=one, systems={}), policy)


def test_marks_that_differ_are_asked_for_and_equal_ones_stay() -> None:
    ours = built("orthopaedic_wool", ELASTIC).design
    wider = built("orthopaedic_wool", ELASTIC, stretches={ELASTIC: (0.5, 0.3)}).design
    bandager = Bandager(training=Training.TRAINED, habits={ELASTIC: of_heights(calf=-8.0)})
    said = what_habits_change(wider, ours, bandager)
    assert said.text == (
        "Made for this bandager: long-stretch elastic bandage: tends to 8 % too loose at the calf, "
        "± 9 %, from 12 readings; aim for 15.0 cm marks instead of 14.2"
    )
    same = what_habits_change(ours, ours, bandager)
    assert same.text.endswith("the marks stay as for anybody")
    assert what_habits_change(ours, wider, Bandager(training=Training.TRAINED)).text == ""


def test_marks_that_a_tape_reads_alike_are_no_other_marks() -> None:
    """10 cm, 50.0 and 50.3 % longer: 15.00 and 15.03 cm, both 15.0 on the tape."""
    ours, theirs = (
        built("orthopaedic_wool", ELASTIC, stretches={ELASTIC: (stretch, 0.3)}).design
        for stretch in (0.5, 0.503)
    )
    bandager = Bandager(training=Training.TRAINED, habits={ELASTIC: of_heights(calf=-8.0)})
    said = what_habits_change(ours, theirs, bandager)
    assert said.text.endswith("the marks stay as for anybody")


@pytest.mark.parametrize(("bandages", "used"), [(4, False), (5, True)])
def test_an_offset_counts_from_five_bandages_read_at_both(policy: Policy, bandages, used) -> None:
    clinic = Remainder(bandages=30, values=30, median=0.9, range95=0.2)
    ankle = SiteOffset(bandages=bandages, legs=3, median=0.8, range95=0.5)
    known = Calibration(clinic=clinic, sites={Landmark.ANKLE: ankle})
    given = case().model_copy(update={"calibration": known})
    elastic, hands = shipped_catalogue()[ELASTIC], Bandager(training=Training.TRAINED)
    inputs = spread_inputs("any", [elastic], given, hands, policy)
    assert inputs.offsets == (((Landmark.ANKLE, ankle),) if used else ())
    (words,) = offsets_in_words(known)
    assert ("not used until 5 bandages were read there" in words) is not used
    assert f"legs 3, bandages {bandages}" in words
    assert "reads 0.80 of what it would" in words
    assert "(up to 50 % more or as much less on another leg)" in words
    # A clinic whose level does not count yet has no offset that does.
    few = known.model_copy(update={"clinic": clinic.model_copy(update={"bandages": 4})})
    assert offsets_of(few) == ()


def test_a_plan_tells_what_a_sensor_at_the_ankle_reads_in_this_clinic(policy: Policy) -> None:
    """Twenty bandages of 0.8: the sensor reads a fifth less, and nothing is bandaged otherwise."""
    clinic = {"bandages": 20, "values": 20, "median": 0.88, "range95": 0.35}
    offset = {"bandages": 20, "legs": 9, "median": 0.8, "range95": 0.4}
    _, plain = elastic_plan(calibration={"clinic": clinic})
    plan, known = elastic_plan(calibration={"clinic": clinic, "sites": {"ankle": offset}})
    for one, other in zip(plain.sites, known.sites, strict=True):
        share = 0.8 if one.landmark is Landmark.ANKLE else 1.0
        assert other.inner_mmhg == pytest.approx(share * one.inner_mmhg)
        assert other.median_mmhg == pytest.approx(one.median_mmhg)
    assert known.basis.site_offsets[Landmark.ANKLE].median == 0.8
    assert any(
        "At the ankle this clinic's sensor reads 0.80" in words for words in plan.assumptions
    )
    # A plan without offsets is written as before there were any: its fingerprint holds.
    assert "site_offsets" not in plain.model_dump()["basis"]
    assert "site_offsets" in known.model_dump()["basis"]


def test_a_site_of_a_calibration_is_one_beside_the_gaiter() -> None:
    clinic = Remainder(bandages=30, values=30, median=0.9, range95=0.2)
    one = SiteOffset(bandages=5, legs=3, median=0.8, range95=0.5)
    with pytest.raises(ValidationError, match="sites must be ankle, calf, below_knee; received ga"):
        Calibration(clinic=clinic, sites={Landmark.GAITER: one})
