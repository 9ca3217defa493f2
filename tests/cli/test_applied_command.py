"""``gaiter applied``, and what ``gaiter technique`` makes of it for the next case."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from gaiter.cli import app
from gaiter.files.case_file import read_case
from gaiter.files.plan_file import plan_json
from tests.core.applied.applied_plan import CASE, SYSTEM, marks_cm, plan

pytestmark = pytest.mark.long

PLACES = ("ankle", "calf", "below_knee")


@pytest.fixture
def run():
    return lambda *args: CliRunner().invoke(app, [str(arg) for arg in args])


@pytest.fixture
def plan_file(tmp_path: Path) -> Path:
    path = tmp_path / "plan.json"
    path.write_text(plan_json(plan()))
    return path


def readings_file(folder: Path, off_cm: float = 0.0, name: str = "readings.toml", **top) -> Path:
    lines = [
        'schema = "gaiter.readings/1"',
        *(
            f'{key} = "{value}"'
            for key, value in {"side": "right", "system": SYSTEM, **top}.items()
        ),
        "spacings = [",
        *(
            f'  {{ layer = 3, place = "{place}", cm = {marks_cm() + off_cm:.2f} }},'
            for place in PLACES
        ),
        "]",
    ]
    path = folder / name
    path.write_text("\n".join(lines))
    return path


def test_a_good_bandage_says_so_and_writes_its_files(run, plan_file, tmp_path) -> None:
    result = run("applied", plan_file, readings_file(tmp_path, case=CASE), "--out", tmp_path / "a")
    assert result.exit_code == 0, result.output
    assert "GOOD" in result.output
    assert "take the bandage off whatever the numbers say" in result.output
    written = json.loads((tmp_path / "a" / "applied.json").read_text())
    assert written["schema"] == "gaiter.applied/1"
    assert "Pressure as applied" in (tmp_path / "a" / "applied.svg").read_text()


def test_a_bandage_to_take_off_ends_with_code_3(run, plan_file, tmp_path) -> None:
    result = run("applied", plan_file, readings_file(tmp_path, 2.6))
    assert result.exit_code == 3
    assert "TAKE OFF NOW" in result.output


def test_a_redo_names_layer_turn_and_marks(run, plan_file, tmp_path) -> None:
    result = run("applied", plan_file, readings_file(tmp_path, -3.0))
    assert result.exit_code == 0
    assert "Redo layer 3, long-stretch elastic bandage, from turn" in result.output
    assert f"marks {marks_cm():.1f} cm apart" in result.output


@pytest.mark.parametrize(
    ("top", "words"),
    [
        ({"case": "another"}, "these readings belong to another plan"),
        ({"side": "left"}, "side must be a leg with a plan (right); received left"),
        ({"system": "none"}, "system must be one of this plan"),
        ({"extra": "x"}, "extra: unknown field"),
    ],
)
def test_readings_of_something_else_are_one_sentence(run, plan_file, tmp_path, top, words) -> None:
    result = run("applied", plan_file, readings_file(tmp_path, **top), "--out", tmp_path / "a")
    assert result.exit_code == 2
    assert words in " ".join(result.output.split())
    assert not (tmp_path / "a").exists()


def test_a_plan_that_is_none_is_refused(run, tmp_path) -> None:
    readings = readings_file(tmp_path)
    result = run("applied", readings, readings)
    assert result.exit_code == 2
    assert "Traceback" not in result.output


def test_technique_prints_what_the_next_case_takes(run, plan_file, tmp_path) -> None:
    made = []
    for number, off in enumerate((-1.0, -0.9, -1.1)):
        readings = readings_file(tmp_path, off, f"r{number}.toml")
        with readings.open("a") as stream:
            stream.write('\nsensor = [{ place = "gaiter", mmhg = 25.0 }]')
        folder = tmp_path / f"a{number}"
        run("applied", plan_file, readings, "--out", folder)
        made.append(folder / "applied.json")
    result = run("technique", *made, "--training", "trained", "--today", plan().today)
    assert result.exit_code == 0, result.output
    assert "long stretch elastic: tends to" in result.output
    assert "too loose at the calf" in result.output
    assert "from 3 values on 3 bandages" in result.output
    entry = result.output.split("For the case file:")[1]
    case = tmp_path / "case.toml"
    text = Path("examples/inner-ankle-ulcer.toml").read_text()
    case.write_text(f"{text}\n{entry}")
    learnt = read_case(case)
    assert learnt.bandager.habits["long_stretch_elastic"].readings == 9
    assert learnt.calibration.clinic.bandages == 3


def test_readings_and_plan_are_piped_in_one_at_a_time(run, plan_file, tmp_path) -> None:
    readings = readings_file(tmp_path)
    whole = run("applied", plan_file, readings, "--json").stdout
    command = ["applied", str(plan_file), "-", "-o", "-"]
    piped = CliRunner().invoke(app, command, input=readings.read_text())
    assert piped.stdout == whole
    command = ["applied", "-", str(readings), "--json"]
    piped = CliRunner().invoke(app, command, input=plan_file.read_text())
    assert piped.stdout == whole
    result = run("applied", "-", "-")
    assert (result.exit_code, "is given twice" in result.output) == (2, True)


def test_a_sheet_is_printed_from_a_plan_piped_in(plan_file, tmp_path) -> None:
    out = tmp_path / "sheet.pdf"
    text = plan_file.read_text()
    assert CliRunner().invoke(app, ["sheet", "-", "-o", str(out)], input=text).exit_code == 0
    piped = CliRunner().invoke(app, ["sheet", "-", "-o", "-"], input=text)
    assert piped.stdout_bytes == out.read_bytes()
