"""What is learnt is written as TOML that a case reads back with the same numbers."""

import tomllib

from gaiter.core.case import Bandager, Calibration, Habit
from gaiter.core.case.person import HabitAt, Remainder, SiteOffset
from gaiter.core.landmark import Landmark
from gaiter.files.learnt_entries import calibration_entry, habits_entry


def habit(readings: int, tension: float) -> Habit:
    return Habit(
        readings=readings,
        heights={
            Landmark.ANKLE: HabitAt(tension_percent=tension, sure_percent=2.04),
            Landmark.CALF: HabitAt(tension_percent=-3.0, sure_percent=1.5),
        },
        spread_percent=9.96,
    )


def test_habits_are_read_back_by_material_and_height() -> None:
    text = habits_entry({"elastic": habit(12, 7.46), "paste": habit(3, 0.0)})
    bandager = Bandager.model_validate({"training": "trained", **tomllib.loads(text)["bandager"]})
    assert list(bandager.habits) == ["elastic", "paste"]
    read = bandager.habits["elastic"]
    # One decimal of a per cent is kept.
    assert (read.readings, read.spread_percent) == (12, 10.0)
    assert read.heights == {
        Landmark.ANKLE: HabitAt(tension_percent=7.5, sure_percent=2.0),
        Landmark.CALF: HabitAt(tension_percent=-3.0, sure_percent=1.5),
    }


def test_a_calibration_is_read_back_for_the_clinic_and_each_system() -> None:
    clinic = Remainder(bandages=9, values=21, median=0.71234, range95=0.40004)
    paste = Remainder(bandages=5, values=6, median=0.8, range95=0.3)
    text = calibration_entry(Calibration(clinic=clinic, systems={"zinc_paste": paste}))
    read = Calibration.model_validate(tomllib.loads(text)["calibration"])
    assert read.of("zinc_paste") == paste
    assert read.of("another") == Remainder(bandages=9, values=21, median=0.7123, range95=0.4)


def test_a_calibration_without_systems_has_one_table() -> None:
    clinic = Remainder(bandages=1, values=1, median=0.8, range95=0.3)
    assert calibration_entry(Calibration(clinic=clinic)).count("[") == 1


def test_a_calibrations_sites_are_read_back() -> None:
    clinic = Remainder(bandages=9, values=9, median=0.8, range95=0.3)
    ankle = SiteOffset(bandages=9, legs=4, median=0.81236, range95=0.50004)
    text = calibration_entry(Calibration(clinic=clinic, sites={Landmark.ANKLE: ankle}))
    read = Calibration.model_validate(tomllib.loads(text)["calibration"])
    assert read.sites == {
        Landmark.ANKLE: SiteOffset(bandages=9, legs=4, median=0.8124, range95=0.5)
    }
