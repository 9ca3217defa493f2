from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from gaiter.core.applied import calibration
from gaiter.core.applied.calibration import (
    OWN_FROM_BANDAGES,
    BandageReading,
    OffsetReading,
    bandage_reading,
    learnt_calibration,
    leg_readings,
    site_offset,
)
from gaiter.core.applied.document import Advice, Applied
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.landmark import Landmark
from gaiter.core.policy import Policy
from gaiter.core.sensor_site import SENSOR_SITES, SensorSite
from tests.core.applied.applied_plan import CASE, plan, readings, system


def bandages(ratio: float, count: int, system: str = "four_layer", error: float = 0.1):
    """Bandages that differ by 8 %, told to be read with this error."""
    rng = np.random.default_rng(count)
    return [
        BandageReading(system, float(np.log(ratio) + 0.08 * rng.standard_normal()), error, 1)
        for _ in range(count)
    ]


def test_nothing_read_nothing_learnt(policy: Policy) -> None:
    assert learnt_calibration([], policy) is None


def test_more_bandages_come_closer_to_the_clinics_own_remainder(policy: Policy) -> None:
    medians, ranges = [], []
    for count in (1, 5, 20, 100):
        made = learnt_calibration(bandages(0.75, count, error=0.0), policy)
        medians.append(made.clinic.median)
        ranges.append(made.clinic.range95)
        assert made.clinic.bandages == count
    assert medians[0] > medians[1] > medians[3]
    assert medians[3] == pytest.approx(0.75, abs=0.02)
    # From policy's 35 % to the 8 % by which these bandages differ, known to a part in 14 of 100.
    assert ranges[0] > ranges[1] > ranges[3]
    assert ranges[3] == pytest.approx(np.expm1(1.96 * 0.08), abs=0.04)


def test_a_system_has_its_own_only_with_enough_bandages(policy: Policy) -> None:
    few = bandages(0.7, OWN_FROM_BANDAGES - 1, "wool_short_stretch")
    many = bandages(1.0, 30, "four_layer")
    made = learnt_calibration([*few, *many], policy)
    assert set(made.systems) == {"four_layer"}
    assert made.of("wool_short_stretch") == made.clinic
    made = learnt_calibration([*few, few[0], *many], policy)
    assert made.of("wool_short_stretch").median < 0.8 < made.of("four_layer").median


def test_a_bandage_tells_sensor_over_theory_each_site_by_itself() -> None:
    made = applied_pressure(plan(), readings(sensor=[("gaiter", 30), ("calf", 27)]))
    told = bandage_reading(made)
    by_hand = {site.landmark: np.log(site.read_mmhg / site.theory_mmhg)
               for site in made.sites if site.read_mmhg}  # fmt: skip
    assert told.values == 1
    assert told.log_remainder == pytest.approx(by_hand[Landmark.GAITER])
    assert set(told.offsets) == {Landmark.CALF}
    calf = by_hand[Landmark.CALF] - by_hand[Landmark.GAITER]
    assert told.offsets[Landmark.CALF].log_offset == pytest.approx(calf)
    # Theory without a remainder: the plan's pressure over the remainder it was planned with.
    gaiter = next(s for s in made.sites if s.read_mmhg == 30)
    assert gaiter.theory_mmhg == pytest.approx(
        gaiter.planned_mmhg / made.remainder_planned, rel=0.03
    )
    assert told.leg == f"{CASE} right"


def test_without_the_gaiter_nothing_is_taught() -> None:
    """What is read at the calf alone tells neither of the level nor of the calf."""
    made = applied_pressure(plan(), readings(sensor=[("calf", 27), ("ankle", 14)]))
    assert bandage_reading(made) is None


def test_doubted_readings_teach_nothing_until_they_were_read_twice() -> None:
    doubted = readings(sensor=[("gaiter", 4)])
    assert bandage_reading(applied_pressure(plan(), doubted)) is None
    sure = doubted.model_copy(update={"confirmed": True})
    assert bandage_reading(applied_pressure(plan(), sure)) is not None


def test_no_sensor_and_a_foot_alone_teach_nothing() -> None:
    assert bandage_reading(applied_pressure(plan(), readings())) is None
    foot = applied_pressure(plan(), readings(sensor=[("instep", 50)]))
    assert bandage_reading(foot) is None


def test_a_site_that_theory_presses_not_at_all_teaches_nothing() -> None:
    made = applied_pressure(plan(), readings(sensor=[("gaiter", 30), ("calf", 27)]))

    def without(*landmarks: str):
        sites = tuple(
            site.model_copy(update={"theory_mmhg": 0.0}) if site.landmark in landmarks else site
            for site in made.sites
        )
        return bandage_reading(made.model_copy(update={"sites": sites}))

    assert without("calf").offsets == {}
    assert without("gaiter") is None


def sites_read(made, **by_hand):
    """The same bandage with what was read, and theory and its spread, at these sites."""
    sites = tuple(
        site.model_copy(
            update=dict(
                zip(("read_mmhg", "theory_mmhg", "theory_log_sd", "beside_gaiter_log_sd"),
                    by_hand[site.landmark], strict=True)
            )
        )
        if site.landmark in by_hand else site.model_copy(update={"read_mmhg": None})
        for site in made.sites
    )  # fmt: skip
    return made.model_copy(update={"sites": sites})


def test_the_errors_of_level_and_offset_by_hand() -> None:
    """A sensor's 3 mmHg of the value and the spread of theory add as squares.

    The level has the gaiter's; an offset both sensors' and how far theory strays between the two.
    """
    made = sites_read(
        applied_pressure(plan(), readings()),
        gaiter=(40.0, 50.0, 0.05, 0.0), ankle=(15.0, 20.0, 0.3, 0.12),
    )  # fmt: skip
    told = bandage_reading(made)
    assert told.log_remainder == pytest.approx(np.log(0.8))
    assert told.log_error == pytest.approx((0.075**2 + 0.05**2) ** 0.5)
    ankle = told.offsets[Landmark.ANKLE]
    assert ankle.log_offset == pytest.approx(np.log(0.75 / 0.8))
    assert ankle.log_error == pytest.approx((0.075**2 + 0.2**2 + 0.12**2) ** 0.5)
    # Kept before there was a spread between sites: as if they had nothing in common.
    older = sites_read(
        made, gaiter=(40.0, 50.0, 0.05, None), ankle=(15.0, 20.0, 0.3, None)
    )  # fmt: skip
    assert bandage_reading(older).offsets[Landmark.ANKLE].log_error == pytest.approx(
        (0.075**2 + 0.2**2 + 0.05**2 + 0.3**2) ** 0.5
    )


def offset(value: float, site=Landmark.ANKLE, error: float = 0.0, leg: str = "") -> BandageReading:
    return BandageReading(
        "two", 0.0, 0.1, 1, {site: OffsetReading(float(np.log(value)), error)}, leg
    )


@pytest.mark.parametrize(
    ("site", "offset_sd", "leg_sd"),
    [(Landmark.ANKLE, 0.20, 0.20), (Landmark.CALF, 0.08, 0.12), (Landmark.BELOW_KNEE, 0.10, 0.15)],
)
def test_an_offset_is_drawn_towards_none_as_far_as_its_prior_says(site, offset_sd, leg_sd) -> None:
    """Four legs alike: the mean of normal values whose prior is 0 +- offset_sd.

    Each strays by leg_sd of its own and 0.10 of the gaiter's, so n values x have the posterior
    mean x n / (n + (leg_sd^2 + 0.01) / offset_sd^2): 0.76 x at the ankle, 0.51 x at the calf and
    0.55 x below the knee. That legs alike tell of a smaller leg_sd moves it by some hundredths.
    """
    found = site_offset(site, [offset(0.8, site) for _ in range(4)])
    by_hand = 4 / (4 + (leg_sd**2 + 0.01) / offset_sd**2)
    assert np.log(found.median) / np.log(0.8) == pytest.approx(by_hand, abs=0.03)
    assert (found.legs, found.bandages) == (4, 4)
    many = site_offset(site, [offset(0.8, site) for _ in range(400)])
    assert many.median == pytest.approx(0.8, abs=0.01)
    assert many.range95 < found.range95


def test_the_first_leg_moves_the_ankle_by_hand(monkeypatch) -> None:
    """Without the gaiter's own curvature: prior 0 +- 0.20, a leg strays by 0.20; they share.

    One exact value x of weight 1 beside a prior of weight 1: x / 2. Shape 3.5; scale 0.04 * 2
    and a quarter of x squared.
    """
    exact = {**SENSOR_SITES, Landmark.GAITER: SensorSite(0.0, 0.0, "exact")}
    monkeypatch.setattr(calibration, "SENSOR_SITES", exact)
    found = site_offset(Landmark.ANKLE, [offset(0.6)])
    assert found.median == pytest.approx(0.6**0.5, rel=1e-6)
    variance = (0.08 + np.log(0.6) ** 2 / 4) / 2.5
    assert found.log_sd == pytest.approx((variance * 1.5) ** 0.5, rel=1e-6)


def test_an_offset_that_nobody_read_spreads_as_its_site(monkeypatch) -> None:
    """Of no weight at all, a reading leaves the prior: 0.20 of the clinic and 0.20 of the leg."""
    found = site_offset(Landmark.ANKLE, [offset(0.5, error=1e6)])
    assert found.median == pytest.approx(1.0, abs=1e-6)
    # Half a reading of the variance is known more: shape 3.5 instead of 3, scale + 0.2^2 / 2.
    assert found.log_sd == pytest.approx(SENSOR_SITES[Landmark.ANKLE].sd, rel=0.02)


def test_bandages_of_one_leg_teach_the_clinic_as_one_leg() -> None:
    same = site_offset(Landmark.ANKLE, [offset(0.6, error=0.3, leg="a")] * 8)
    apart = site_offset(Landmark.ANKLE, [offset(0.6, error=0.3, leg=str(n)) for n in range(8)])
    assert (same.legs, same.bandages, apart.legs) == (1, 8, 8)
    assert apart.median < same.median < 1
    # Read eight times: as one value with an eighth of its variance.
    once = site_offset(Landmark.ANKLE, [offset(0.6, error=0.3 / 8**0.5, leg="a")])
    assert same.median == pytest.approx(once.median)


def test_sites_move_nothing_of_the_level(policy: Policy) -> None:
    alone = [BandageReading("two", -0.2, 0.1, 1)] * 6
    beside = [BandageReading("two", -0.2, 0.1, 1, offset(0.5).offsets)] * 6
    one, other = (learnt_calibration(given, policy) for given in (alone, beside))
    assert one.clinic == other.clinic
    assert one.sites == {}
    assert set(other.sites) == {Landmark.ANKLE}


def test_one_bandage_moves_the_clinic_as_far_as_half_of_the_prior_allows(policy: Policy) -> None:
    """Without reading errors: one value and one value's worth of belief, the mean between them.

    Policy: 0.88, up to 35 % more. Shape 3 and half of ln(1.35)/1.96 squared in the spread.
    """
    one = [BandageReading("four_layer", float(np.log(0.7)), 0.0, 2)]
    made = learnt_calibration(one, policy).clinic
    assert made.median == pytest.approx((0.88 * 0.7) ** 0.5)
    sd = np.log(1.35) / 1.96
    scale = sd**2 * (3 - 1) / 2 + (np.log(0.88 / 0.7) ** 2) / 4
    variance = scale / (3.5 - 1)
    assert made.range95 == pytest.approx(np.expm1(1.96 * np.sqrt(variance * 1.5)), rel=1e-6)
    assert (made.bandages, made.values) == (1, 2)


@pytest.mark.parametrize(("count", "own"), [(9, False), (10, True)])
def test_ten_bandages_of_a_system_give_it_its_own(policy: Policy, count: int, own: bool) -> None:
    made = learnt_calibration(bandages(0.8, count), policy)
    assert ("four_layer" in made.systems) is own


def test_a_systems_own_remainder_starts_from_the_clinics(policy: Policy) -> None:
    """Ten exact values of 0.7: the clinic's mean has one part of 0.88 in eleven.

    The system's own has one part of the clinic's in eleven.
    """
    same = [BandageReading("four_layer", float(np.log(0.7)), 0.0, 3)] * 10
    made = learnt_calibration(same, policy)
    clinic = (np.log(0.88) + 10 * np.log(0.7)) / 11
    assert made.clinic.median == pytest.approx(np.exp(clinic))
    own = made.systems["four_layer"]
    assert own.median == pytest.approx(np.exp((clinic + 10 * np.log(0.7)) / 11))
    assert (own.bandages, own.values) == (10, 30)
    # Scale: the policy's, and half of ten squares about the mean and one of the mean moved.
    moved = (np.log(0.7) - clinic) / 11
    scale = (np.log(1.35) / 1.96) ** 2 + (10 * moved**2 + (10 * moved) ** 2) / 2
    variance = scale / (3 + 5 - 1)
    assert own.range95 == pytest.approx(np.expm1(1.96 * np.sqrt(variance * (1 + 1 / 11))))


def test_little_pressure_is_a_pressure_and_none_is_no_value() -> None:
    """Half a mmHg where theory has half: a remainder of 1. A sensor that reads 0 tells none."""

    def told(read_mmhg, theory_mmhg):
        site = SimpleNamespace(landmark=Landmark.GAITER, read_mmhg=read_mmhg,
                               theory_mmhg=theory_mmhg, theory_log_sd=0.1)  # fmt: skip
        one = Applied.model_construct(
            advice=Advice.GOOD, system="two", sites=(site,), case=None, side="right"
        )
        return bandage_reading(one)

    assert told(0.5, 0.5).log_remainder == 0
    assert told(0.0, 40.0) is told(None, 40.0) is None


def test_a_sensor_at_the_ankle_teaches_by_its_inner_side() -> None:
    """As likely as the plan has it at both: nothing is learnt of the ankle."""
    planned = {site.landmark: site for site in system().sites}
    ankle, gaiter = planned[Landmark.ANKLE], planned[Landmark.GAITER]
    made = applied_pressure(
        plan(), readings(sensor=[("ankle", ankle.inner_mmhg), ("gaiter", gaiter.median_mmhg)])
    )
    told = bandage_reading(made)
    assert np.exp(told.log_remainder) == pytest.approx(made.remainder_planned, rel=0.03)
    assert np.exp(told.offsets[Landmark.ANKLE].log_offset) == pytest.approx(1, abs=0.03)
    # Against the ring, which is planned to have much more, it would be less than two thirds.
    assert ankle.inner_mmhg < 0.67 * ankle.median_mmhg


def test_a_leg_is_told_what_was_read_on_it() -> None:
    made = sites_read(
        applied_pressure(plan(), readings()),
        gaiter=(36.0, 40.0, 0.1, 0.0), ankle=(15.0, 20.0, 0.3, 0.12), instep=(40.0, 40.0, 0.1, 0.1),
    )  # fmt: skip
    told = leg_readings(made, date(2026, 11, 20))
    assert [(one.site, one.ratio) for one in told] == [
        (Landmark.ANKLE, 0.75), (Landmark.GAITER, 0.9)
    ]  # fmt: skip
    assert told[1].theory_log_sd == pytest.approx(0.1)
    assert {(one.on, one.system) for one in told} == {(date(2026, 11, 20), made.system)}
    # What is doubted, or can be no leg's, tells nothing.
    assert leg_readings(made.model_copy(update={"advice": Advice.READ_AGAIN}), made.today) == []
    slip = sites_read(made, gaiter=(6.0, 40.0, 0.1, 0.0))
    assert leg_readings(slip, made.today) == []
