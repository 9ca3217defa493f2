from types import SimpleNamespace

import numpy as np
import pytest

from gaiter.core.applied.calibration import (
    OWN_FROM_BANDAGES,
    BandageReading,
    bandage_reading,
    learnt_calibration,
)
from gaiter.core.applied.document import Advice, Applied
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.landmark import Landmark
from gaiter.core.policy import Policy
from tests.core.applied.applied_plan import plan, readings, system


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


def test_a_bandage_tells_sensor_over_theory() -> None:
    made = applied_pressure(plan(), readings(sensor=[("gaiter", 30), ("calf", 27)]))
    told = bandage_reading(made)
    by_hand = [np.log(site.read_mmhg / site.theory_mmhg) for site in made.sites if site.read_mmhg]
    assert told.values == 2
    assert told.log_remainder == pytest.approx(np.mean(by_hand))
    # Theory without a remainder: the plan's pressure over the remainder it was planned with.
    gaiter = next(s for s in made.sites if s.read_mmhg == 30)
    assert gaiter.theory_mmhg == pytest.approx(
        gaiter.planned_mmhg / made.remainder_planned, rel=0.03
    )


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

    assert without("calf").values == 1
    assert without("calf", "gaiter") is None


def test_the_error_of_a_bandage_is_that_of_its_best_site() -> None:
    """A sensor's 3 mmHg of the value and the spread of theory add as squares; 40 mmHg is better."""
    made = applied_pressure(plan(), readings(sensor=[("gaiter", 30), ("calf", 27)]))
    by_hand = {"gaiter": (40.0, 0.05), "calf": (20.0, 0.3)}
    sites = tuple(
        site.model_copy(update={"read_mmhg": by_hand[site.landmark][0], "theory_mmhg": 40.0,
                                "theory_log_sd": by_hand[site.landmark][1]})
        if site.landmark in by_hand else site
        for site in made.sites
    )  # fmt: skip
    told = bandage_reading(made.model_copy(update={"sites": sites}))
    assert told.log_error == pytest.approx(np.hypot(3 / 40, 0.05))
    assert told.log_remainder == pytest.approx(np.log(0.5) / 2)
    assert (told.values, told.system) == (2, made.system)


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
        one = Applied.model_construct(advice=Advice.GOOD, system="two", sites=(site,))
        return bandage_reading(one)

    assert told(0.5, 0.5).log_remainder == 0
    assert told(0.0, 40.0) is told(None, 40.0) is None


def test_a_sensor_at_the_ankle_teaches_by_its_inner_side() -> None:
    """As likely as the plan has it there: the remainder that it was planned with."""
    planned = next(site for site in system().sites if site.landmark is Landmark.ANKLE)
    made = applied_pressure(plan(), readings(sensor=[("ankle", planned.inner_mmhg)]))
    told = bandage_reading(made)
    assert np.exp(told.log_remainder) == pytest.approx(made.remainder_planned, rel=0.03)
    # What the ring is planned to have would teach less than half of it.
    assert planned.inner_mmhg < planned.median_mmhg / 2
