"""``gaiter technique``: habits and calibration from bandages whose readings are known by hand."""

import json
import math
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from gaiter.cli import app
from gaiter.core.applied.document import Applied
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.applied.readings import Readings
from gaiter.core.case import Habit
from gaiter.files.applied_file import applied_json
from gaiter.files.example_bench import example_bench
from gaiter.files.plan_file import plan_json

pytestmark = pytest.mark.long

DAY = date(2026, 11, 25)
CALF = {"layer": 2, "place": "calf", "cm": 17.0}


@cache
def read_once(*, marks: bool, sensor: bool) -> Applied:
    given = {
        "schema": "gaiter.readings/1", "side": "right", "system": "one_elastic", "confirmed": True,
        "spacings": [CALF] if marks else [],
        "sensor": [{"place": "gaiter", "mmhg": 38.0}] if sensor else [],
    }  # fmt: skip
    return applied_pressure(example_bench().plan, Readings.model_validate(given))


def bandage_file(
    path: Path, log_tension: float | None = None, *, sensor: bool = False, bandage: str = ""
) -> Path:
    """An elastic bandage whose calf was read without error at this log of tension over planned."""
    made = read_once(marks=log_tension is not None, sensor=sensor)
    told = json.loads(applied_json(made.model_copy(update={"bandage": bandage})))
    for spacing in told["layers"][0]["spacings"]:
        if spacing["place"] == "calf" and log_tension is not None:
            spacing |= {"read_log_tension": log_tension, "read_log_error": 0.0}
    path.write_text(json.dumps(told))
    return path


def technique(
    *files: Path, today: date = DAY, training: str = "trained", more: tuple[str, ...] = ()
) -> Result:
    asked = ["technique", *map(str, files), "--training", training, "--today", str(today), *more]
    return CliRunner().invoke(app, asked)


@pytest.mark.parametrize(
    ("days", "percent"),
    [
        # The level's spread counts as one reading: half of the way, the root of two.
        (0, 100 * (math.sqrt(2) - 1)),
        # After the half-life a reading counts half: a third of the way.
        (90, 100 * (2 ** (1 / 3) - 1)),
    ],
)
def test_a_calf_at_twice_the_tension_is_a_habit_that_fades(tmp_path, days, percent) -> None:
    file = bandage_file(tmp_path / "a.json", math.log(2))
    result = technique(file, today=DAY + timedelta(days=days), more=("--json",))
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    habit = Habit.model_validate(told["habits"]["long_stretch_elastic"])
    assert (told["bandages"], habit.readings) == (1, 1)
    assert habit.heights["calf"].tension_percent == pytest.approx(percent, abs=0.05)
    # Nothing was read at the other heights.
    assert habit.heights["ankle"].tension_percent == 0
    assert told["calibration"] is None


@pytest.mark.parametrize(
    ("training", "percent"),
    [
        # Half of the variance log(1 + 0.18^2) is the mean's: exp(sqrt(0.0319 / 2)) is 1.135.
        # 18 %: Ehmann et al. 2023.
        ("trained", 13.5),
        # Of 40 %, the policy's for a blind mixed group: exp(sqrt(0.1484 / 2)) is 1.313.
        ("untrained", 31.3),
    ],
)
def test_a_height_that_was_not_read_is_as_unsure_as_the_training(tmp_path, training, percent):
    file = bandage_file(tmp_path / "a.json", math.log(2))
    told = json.loads(technique(file, training=training, more=("--json",)).stdout)
    ankle = told["habits"]["long_stretch_elastic"]["heights"]["ankle"]
    assert ankle["sure_percent"] == pytest.approx(percent, abs=0.1)


def test_two_bandages_count_as_two(tmp_path) -> None:
    """Exact readings about twice the tension beside the prior's one: two thirds of the way."""
    files = [
        bandage_file(tmp_path / f"{name}.json", math.log(2) + off, bandage=name * 64)
        for name, off in {"a": 0.1, "b": -0.1}.items()
    ]
    told = json.loads(technique(*files, more=("--json",)).stdout)
    habit = told["habits"]["long_stretch_elastic"]
    assert (told["bandages"], habit["readings"]) == (2, 2)
    percent = 100 * (2 ** (2 / 3) - 1)
    assert habit["heights"]["calf"]["tension_percent"] == pytest.approx(percent, abs=0.05)


def test_words_and_an_entry_for_the_case_file_are_printed(tmp_path) -> None:
    printed = technique(bandage_file(tmp_path / "a.json", math.log(2))).output
    assert "long stretch elastic: tends to 41 % too tight at the calf" in " ".join(printed.split())
    assert "No reading of this clinic's sensor stands behind the pressures" in printed
    entry = printed.split("For the case file:")[1]
    assert "[bandager.habits.long_stretch_elastic]" in entry
    assert "calf = { tension_percent = 41.4" in entry
    assert "calibration" not in entry


def test_without_marks_nothing_is_known_of_the_hands_and_a_sensor_still_teaches(tmp_path) -> None:
    printed = technique(bandage_file(tmp_path / "a.json", sensor=True)).output
    assert "No mark spacing was read: nothing is known of the hands." in printed
    entry = printed.split("For the case file:")[1]
    assert "[calibration.clinic]\nbandages = 1\nvalues = 1\n" in entry
    assert "bandager" not in entry


def test_the_same_bandage_given_twice_is_refused(tmp_path) -> None:
    """Read once and given twice, it would count as two."""
    first = bandage_file(tmp_path / "first.json", math.log(2), bandage="a" * 64)
    again = bandage_file(tmp_path / "again.json", math.log(1.9), bandage="a" * 64)
    for twice in (again, first):
        result = technique(first, twice)
        assert result.exit_code == 2
        said = " ".join(result.output.split())
        assert f"{twice}: is the same bandage as {first}: leave one of them out" in said


def test_a_bandage_of_a_day_to_come_is_refused(tmp_path) -> None:
    file, before = bandage_file(tmp_path / "a.json", math.log(2)), DAY - timedelta(days=1)
    result = technique(file, today=before)
    assert result.exit_code == 2
    said = f"{file}: the bandage must be of --today, {before}, or before; received {DAY}"
    assert said in " ".join(result.output.split())


def test_a_clinics_policy_is_where_the_record_starts_from(tmp_path) -> None:
    """Words tell the policy's remainder where the clinic's sensor told none."""
    local = tmp_path / "policy.toml"
    local.write_text(
        'name = "Heron Ford (invented)"\nversion = "1"\n[values]\n'
        'theory_remainder_median = { value = 0.8, source = "the clinic", strength = "measured" }\n'
    )
    file = bandage_file(tmp_path / "a.json", math.log(2))
    printed = technique(file, more=("--policy", str(local))).output
    assert "measured over theory is taken as 0.80, by policy" in " ".join(printed.split())


def test_a_plan_is_no_bandage_that_was_read(tmp_path) -> None:
    file = tmp_path / "plan.json"
    file.write_text(plan_json(example_bench().plan))
    result = technique(file)
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    said = f"{file}: this is a plan; a bandage as applied is wanted"
    assert said in " ".join(result.output.split())


def test_sites_are_told_apart_and_written_for_the_case(tmp_path) -> None:
    made = read_once(marks=False, sensor=True)
    sites = tuple(
        site.model_copy(update={"read_mmhg": 0.5 * site.theory_mmhg})
        if site.landmark == "ankle" else site
        for site in made.sites
    )  # fmt: skip
    file = tmp_path / "a.json"
    file.write_text(applied_json(made.model_copy(update={"sites": sites})))
    result = technique(file)
    assert result.exit_code == 0, result.output
    said = " ".join(result.stdout.split())
    assert "At the ankle this clinic's sensor reads 0." in said
    assert "not used until 5 bandages were read there" in said
    assert "[calibration.sites.ankle] bandages = 1 legs = 1 median = 0." in said
