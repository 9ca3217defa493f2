"""``gaiter plan``: what it prints, what it writes, and what it never writes over."""

import io
import json
from pathlib import Path

import pytest
from rich.console import Console
from typer.testing import CliRunner

from gaiter.cli import app
from gaiter.cli.plan_words import system_words
from gaiter.core.case import Case
from gaiter.core.landmark import Landmark, Side
from gaiter.core.plan import Plan, plan
from gaiter.core.plan.pressures import PressurePoint, SkinAbove
from gaiter.files.plan_file import read_plan

pytestmark = pytest.mark.long

RUN = CliRunner()
_MADE: dict[str, Plan] = {}


@pytest.fixture(autouse=True)
def quick(monkeypatch) -> None:
    """Few draws, and what was planned before from memory: how well is tested elsewhere."""

    def remembered(case: Case, *rest: object, **named: object) -> Plan:
        key = case.model_dump_json(exclude={"reference"})
        if key not in _MADE:
            _MADE[key] = plan(case, *rest, **named, samples=256)
        made = _MADE[key]
        label = made.case.model_copy(update={"reference": case.reference})
        return made.model_copy(update={"case": label})

    monkeypatch.setattr("gaiter.core.plan.plan", remembered)


def test_plan_writes_the_three_files(case_file, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = RUN.invoke(app, ["plan", case_file(), "--out", str(out)])
    assert result.exit_code == 0, result.output
    assert {path.name for path in out.iterdir()} == {"plan.json", "leg.svg", "sheet.pdf"}
    document = json.loads((out / "plan.json").read_text())
    assert document["schema"] == "gaiter.plan/1"
    assert "marks" in result.output
    assert (out / "sheet.pdf").read_bytes().startswith(b"%PDF")


def test_plan_prints_what_is_planned_not_only_what_was_decided(case_file, tmp_path: Path) -> None:
    """Three numbers of the headline, every pad, and the next visit."""
    out = tmp_path / "out"
    result = RUN.invoke(app, ["plan", case_file(), "--out", str(out)])
    leg = json.loads((out / "plan.json").read_text())["legs"]["right"]
    headline = leg["headline"]["text"]
    aim = headline[0].lower() + headline[1:]
    assert f"Full: {aim}\n" in result.output
    assert "likely" in aim
    assert leg["decision"]["headline"] not in result.output
    assert leg["systems"][0]["pads_mm"]
    for place, mm in leg["systems"][0]["pads_mm"].items():
        assert f"{place} {mm:.0f} mm" in result.output
    assert f"Next visit: {leg['next_visit']} (" in result.output


def test_likely_pressure_and_chances_are_printed(case_file, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = RUN.invoke(app, ["plan", case_file(), "-o", str(out)])
    system = json.loads((out / "plan.json").read_text())["legs"]["right"]["systems"][0]
    gaiter = next(site for site in system["sites"] if site["landmark"] == "gaiter")
    assert f"System: {system['title']}; " in result.output
    low, high = gaiter["low_mmhg"], gaiter["high_mmhg"]
    assert f"gaiter: {gaiter['median_mmhg']:.0f} mmHg ({low:.0f}–{high:.0f} in" in result.output
    own, every = gaiter["chance_in_range"], system["chance_every_site_in_range"]
    assert f"{own:.0%} at the gaiter, {every:.0%} at every judged site" in result.output


def test_places_above_their_maximum_are_named_with_numbers(case_file, tmp_path: Path) -> None:
    """A tendon with its pad on, a girth site beyond its chance, and skin between the sites."""
    out = tmp_path / "out"
    RUN.invoke(app, ["plan", case_file(), "--out", str(out)])
    leg = read_plan(out / "plan.json").legs[Side.RIGHT]
    system = leg.systems[0]
    assert "Above its maximum: no place" in list(system_words(system, leg.chance_allowed))
    point = PressurePoint(
        place="front ankle tendon", median_mmhg=90, high_mmhg=131, maximum_mmhg=111,
        padding_mm=20, exceeds=True, overstated=True,
    )  # fmt: skip
    sites = [
        site.model_copy(
            update={"chance_above_maximum": 0.08, "high_mmhg": 66.4, "maximum_mmhg": 60.0}
        )
        if site.landmark is Landmark.GAITER
        else site
        for site in system.sites
    ]
    names = ("front ankle tendon", "rise from the ankle to the calf")
    worse = system.model_copy(
        update={
            "to_accept": names,
            "pressure_points": (point,),
            "sites": tuple(sites),
            "often_above": (SkinAbove(place="the shin", area_cm2=12.4, limit_mmhg=60),),
        }
    )
    said = list(system_words(worse, 0.025))
    for line in (
        "A prescriber has to accept by name: front ankle tendon, rise from the ankle to the calf",
        "Above its maximum: front ankle tendon, up to 131 mmHg with its pad of 20 mm on, its "
        "maximum is 111 (surface overstates this place)",
        "Above its maximum: gaiter, up to 66 mmHg, above 60 mmHg with a chance of 8.0% "
        "(2.5% allowed)",
        "Above its maximum: skin at the shin, 12 cm² above 60 mmHg in most bandages",
    ):
        assert line in said
    assert "Above its maximum: no place" not in said


def test_plan_as_json_is_the_file(case_file, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = RUN.invoke(app, ["plan", case_file(), "--out", str(out), "--json"])
    assert json.loads(result.output) == json.loads((out / "plan.json").read_text())


def test_a_stopped_leg_exits_with_3_and_still_writes_the_sheet(case_file, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = RUN.invoke(
        app, ["plan", case_file(**{"legs.right.findings.rest_pain": True}), "--out", str(out)]
    )
    assert result.exit_code == 3
    assert "Stop and refer" in result.output
    assert (out / "sheet.pdf").exists()


def test_bad_input_exits_with_2_and_leaves_the_folder_alone(case_file, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = RUN.invoke(
        app, ["plan", case_file(**{"legs.right.girth_cm.ankle": 225}), "--out", str(out)]
    )
    assert result.exit_code == 2
    assert "millimetres" in result.output
    assert "Traceback" not in result.output
    assert not out.exists()


def test_a_material_that_is_not_in_the_catalogue_exits_with_2(case_file, tmp_path: Path) -> None:
    arguments = ["plan", case_file(stock={"velvet": {"rolls": 1}}), "--out", str(tmp_path / "o")]
    result = RUN.invoke(app, arguments)
    assert result.exit_code == 2
    assert "stock.velvet is not in the catalogue" in result.output


@pytest.fixture
def planned(case_file, tmp_path: Path) -> Path:
    """A folder with the plan of one case."""
    out = tmp_path / "out"
    assert RUN.invoke(app, ["plan", case_file(reference="A"), "-o", str(out)]).exit_code == 0
    return out


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_same_case_may_be_planned_again(planned: Path, case_file) -> None:
    thinner = case_file(reference="A", **{"legs.right.girth_cm.ankle": 21.0})
    before = contents(planned)
    assert RUN.invoke(app, ["plan", thinner, "-o", str(planned)]).exit_code == 0
    assert contents(planned) != before


@pytest.mark.parametrize(
    ("reference", "words"),
    [("B", "holds the plan of another case (A)"), (None, "holds the plan of another case (A)")],
)
def test_another_case_is_not_written_over(planned: Path, case_file, reference, words) -> None:
    before = contents(planned)
    other = case_file(reference=reference)
    result = RUN.invoke(app, ["plan", other, "-o", str(planned)])
    assert result.exit_code == 2
    assert f"{planned}: {words}: choose another folder, or give --force" in result.output
    assert contents(planned) == before
    assert RUN.invoke(app, ["plan", other, "-o", str(planned), "--force"]).exit_code == 0
    assert contents(planned) != before


def test_cases_without_a_reference_cannot_be_told_apart(case_file, tmp_path: Path) -> None:
    out = str(tmp_path / "out")
    first = case_file(reference=None)
    assert RUN.invoke(app, ["plan", first, "-o", out]).exit_code == 0
    assert RUN.invoke(app, ["plan", first, "-o", out]).exit_code == 0
    other = case_file("b.json", reference=None, **{"legs.right.girth_cm.ankle": 21.0})
    result = RUN.invoke(app, ["plan", other, "-o", out])
    assert result.exit_code == 2
    assert "neither case has a reference to tell by" in result.output


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("sheet.pdf", "holds sheet.pdf without the plan they belong to"),
        ("plan.json", "holds a plan.json that cannot be read as a plan"),
    ],
)
def test_somebody_elses_files_are_not_written_over(case_file, tmp_path, name, words) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / name).write_text("mine")
    result = RUN.invoke(app, ["plan", case_file(), "-o", str(out)])
    assert result.exit_code == 2
    assert words in result.output
    assert contents(out) == {name: b"mine"}


def test_a_case_is_piped_in_and_its_plan_out(case_file, tmp_path: Path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    path = Path(case_file())
    piped = RUN.invoke(app, ["plan", "-", "-o", "-"], input=path.read_text())
    assert piped.exit_code == 0, piped.output
    RUN.invoke(app, ["plan", str(path), "-o", "out"])
    assert json.loads(piped.stdout) == json.loads((tmp_path / "out/plan.json").read_text())
    assert sorted(p.name for p in tmp_path.iterdir()) == ["case.json", "out"]


def test_what_is_piped_in_is_called_standard_input() -> None:
    result = RUN.invoke(app, ["plan", "-", "-o", "-"], input='schema = "gaiter.plan/1"')
    assert result.exit_code == 2
    assert result.output == "standard input: this is a plan; a case is wanted\n"
    twice = RUN.invoke(app, ["plan", "-", "-o", "-", "--policy", "-"], input="")
    assert "- (standard input) is given twice" in twice.output


def test_several_cases_each_have_a_folder_and_the_gravest_code(case_file, tmp_path: Path) -> None:
    out = tmp_path / "out"
    good = case_file("good.json")
    stopped = case_file("stopped.json", **{"legs.right.findings.rest_pain": True})
    wrong = case_file("wrong.json", **{"legs.right.girth_cm.ankle": 225})
    result = RUN.invoke(app, ["plan", wrong, good, stopped, "-o", str(out)])
    assert result.exit_code == 2, result.output
    assert {path.name for path in out.iterdir()} == {"good", "stopped"}
    for name in ("good", "stopped"):
        assert set(contents(out / name)) == {"plan.json", "leg.svg", "sheet.pdf"}
    assert f"{wrong}: legs.right.girth_cm.ankle: must be 13 to 60 cm" in result.output
    assert RUN.invoke(app, ["plan", good, stopped, "-o", str(out)]).exit_code == 3
    as_json = RUN.invoke(app, ["plan", good, wrong, "-o", str(out), "--json"])
    told = json.loads(as_json.stdout)["cases"]
    assert [one["exit_code"] for one in told] == [0, 2]
    assert told[0]["plan"] == json.loads((out / "good/plan.json").read_text())
    assert told[1]["plan"] is None
    assert "millimetres" in told[1]["problem"]


def test_a_bar_shows_how_far_it_is_where_somebody_watches(
    case_file, tmp_path: Path, monkeypatch
) -> None:
    out = ["-o", str(tmp_path / "out")]
    cases = [case_file("first.json"), case_file("[cm].json")]
    assert RUN.invoke(app, ["plan", *cases, *out]).stderr == ""
    screen = io.StringIO()
    terminal = Console(file=screen, force_terminal=True, width=200)
    monkeypatch.setattr("gaiter.cli.plan_command.errors", terminal)
    assert RUN.invoke(app, ["plan", *cases, *out]).exit_code == 0
    assert "2/2" in screen.getvalue()
    assert "[cm].json" in screen.getvalue()


def test_a_fault_with_one_case_does_not_stop_the_others(case_file, tmp_path, monkeypatch) -> None:
    from gaiter.core import plan as plan_room

    made, calls = plan_room.plan, []

    def falters(case, *rest, **named):
        calls.append(case)
        if len(calls) == 1:
            raise ArithmeticError("a wheel came off")
        return made(case, *rest, **named)

    monkeypatch.setattr(plan_room, "plan", falters)
    first, second = case_file("first.json"), case_file("second.json")
    result = RUN.invoke(app, ["plan", first, second, "-o", str(tmp_path / "out")])
    assert result.exit_code == 1
    assert f"{first}: could not be planned (ArithmeticError: a wheel came off)" in result.output
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["second"]


def test_several_cases_need_names_of_their_own_and_a_folder(case_file, tmp_path: Path) -> None:
    (tmp_path / "b").mkdir()
    same = [case_file("case.json"), case_file("b/case.json")]
    result = RUN.invoke(app, ["plan", *same, "-o", str(tmp_path / "out")])
    assert result.exit_code == 2
    assert f"{same[0]} and {same[1]} would both be written to" in result.output
    assert not (tmp_path / "out").exists()
    result = RUN.invoke(app, ["plan", *same, "-o", "-"])
    assert result.exit_code == 2
    assert "--out - prints one plan; received several cases: give a folder" in result.output
