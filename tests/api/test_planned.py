"""The library as a program meets it: ``import gaiter`` and nothing else."""

import subprocess
import sys
import tomllib
from concurrent.futures import ThreadPoolExecutor
from importlib import resources
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

import gaiter
from gaiter.api import PlannedCase, PlannedLeg
from gaiter.core.case import Case
from gaiter.core.landmark import Side
from gaiter.core.plan import Status
from gaiter.core.words import Said
from gaiter.files.policy_file import shipped_policy

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples/inner-ankle-ulcer.toml"
STOPPED = ROOT / "examples/suspected-clot.toml"
READINGS = ROOT / "examples/readings/inner-ankle-ulcer.toml"
SITES = ["metatarsal_heads", "instep", "ankle", "gaiter", "calf", "below_knee"]


@pytest.fixture(scope="module")
def planned() -> PlannedCase:
    return gaiter.plan(EXAMPLE)


@pytest.fixture
def leg(planned: PlannedCase) -> PlannedLeg:
    return planned.legs["right"]


def test_every_form_of_a_case_gives_the_same_plan() -> None:
    text = EXAMPLE.read_text()
    mapping = tomllib.loads(text)
    record = Case.model_validate(mapping)
    forms = [EXAMPLE, str(EXAMPLE), text, mapping, record, record.model_dump_json(by_alias=True)]
    made = [gaiter.plan(form, samples=64, systems=["four_layer"]).document for form in forms]
    assert all(one == made[0] for one in made)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("no-such-case.toml", "no-such-case.toml: cannot be read"),
        ("schema = \n", "case: is not well-formed"),
        ({"schema": "gaiter.case/1"}, "case: today: required and missing"),
        (7, "case must be a path, TOML or JSON text, a mapping or the record itself; received int"),
    ],
)
def test_what_cannot_be_read_is_said_in_words(given: object, said: str) -> None:
    with pytest.raises(gaiter.InputError, match=said):
        gaiter.plan(given)


def test_legs_are_found_by_text_and_by_side(planned: PlannedCase) -> None:
    assert planned.legs["right"] is planned.legs[Side.RIGHT]
    assert list(planned.legs) == ["right"]


def test_a_print_fits_on_a_line(planned: PlannedCase, leg: PlannedLeg) -> None:
    case = "Heron Ford wound clinic (invented), case A, 2026-11-25"
    headline = "Full: aim 30–50, likely 37, never above 60 mmHg at the gaiter"
    assert repr(planned) == f"<Plan {case}: right planned>"
    assert (
        repr(leg)
        == f"<LegPlan right, planned: {headline}; Three layers with long-stretch elastic bandage>"
    )
    assert repr(leg.system()) == (
        "<SystemPlan Three layers with long-stretch elastic bandage: fits, likely 37 mmHg at the "
        "gaiter>"
    )
    for shown, document in ((planned, planned.document), (leg, leg.document)):
        assert repr(shown) == repr(document) == str(document)


def test_the_table_is_the_plan_site_by_site(leg: PlannedLeg) -> None:
    table = leg.table()
    assert type(table).__name__ == "DataFrame"
    assert list(table["site"]) == SITES
    by_site = {site.landmark.value: site for site in leg.document.systems[0].sites}
    gaiter_row = table.set_index("site").loc["gaiter"]
    assert gaiter_row["likely_mmhg"] == by_site["gaiter"].median_mmhg
    assert gaiter_row["low_mmhg"] < gaiter_row["likely_mmhg"] < gaiter_row["high_mmhg"]
    assert (gaiter_row["target_low_mmhg"], gaiter_row["maximum_mmhg"]) == (30, 60)
    assert gaiter_row["chance_in_range"] == by_site["gaiter"].chance_in_range
    assert gaiter_row["chance_above_maximum"] == by_site["gaiter"].chance_above_maximum


def test_without_pandas_the_table_is_a_mapping_of_columns(
    leg: PlannedLeg, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pandas", None)
    table = leg.table()
    assert type(table) is dict
    assert table["site"] == SITES
    assert {len(column) for column in table.values()} == {len(SITES)}


def test_another_system_can_be_asked_for_by_name(leg: PlannedLeg) -> None:
    names = list(leg.systems)
    assert leg.system() is leg.system(names[0])
    assert leg.system(names[1]).name == names[1]
    assert list(leg.table(names[1])["likely_mmhg"]) != list(leg.table()["likely_mmhg"])
    with pytest.raises(gaiter.InputError, match=f"system must be one of {names[0]}.*received five"):
        leg.table("five")


def test_the_map_has_its_axes_and_agrees_with_the_site(leg: PlannedLeg) -> None:
    mapped = leg.pressure_map()
    rings, angles = len(mapped.s_cm), len(mapped.angle_rad)
    assert mapped.pressure_mmhg.shape == mapped.thicknesses.shape == (rings, angles)
    assert mapped.s_cm[0] == 0
    assert (np.diff(mapped.s_cm) > 0).all()
    assert mapped.angle_rad[angles // 4] == pytest.approx(np.pi / 2)
    # The reading site of the gaiter is a disc of 2.5 cm on the inner side; here a square.
    place = leg.document.surface
    ring = int(np.abs(mapped.s_cm - place.s_cm["gaiter"]).argmin())
    near = slice(ring - 8, ring + 9), slice(angles // 4 - 4, angles // 4 + 5)
    site = next(s for s in leg.system().sites if s.landmark == "gaiter")
    assert mapped.pressure_mmhg[near].mean() == pytest.approx(site.median_mmhg, abs=3)
    assert repr(mapped) == "<PressureMap 300 rings × 96 angles, mmHg>"


def test_a_stored_plan_gives_the_same_map(leg: PlannedLeg, planned: PlannedCase) -> None:
    again = type(planned.document).model_validate_json(planned.to_json())
    stored = PlannedCase(again).legs["right"]
    assert np.array_equal(stored.pressure_map().pressure_mmhg, leg.pressure_map().pressure_mmhg)


def test_meshes_of_leg_and_strips(leg: PlannedLeg) -> None:
    skin, padded = leg.mesh(), leg.mesh(padded_for="four_layer")
    assert skin.area_cm2 < padded.area_cm2
    strips = leg.strip_meshes()
    pressing = {layer.number: layer for layer in leg.system().layers if layer.presses}
    assert list(strips) == list(pressing)
    for number, mesh in strips.items():
        layer = pressing[number]
        assert layer.title in mesh.title
        # Where the ankle bends one edge is longer than the middle and the other shorter.
        assert mesh.area_cm2 == pytest.approx(layer.width_cm * layer.length_cm, rel=0.03)


def test_a_notebook_shows_the_leg(planned: PlannedCase, leg: PlannedLeg) -> None:
    picture = ElementTree.fromstring(leg._repr_svg_())
    assert picture.tag.endswith("svg")
    assert "ankle 22.5 cm" in leg._repr_svg_()
    shown = planned._repr_html_()
    assert "Right leg: Full: aim 30–50" in shown
    assert "<svg" in shown


def test_a_stopped_leg_has_words_and_no_picture() -> None:
    planned = gaiter.plan(STOPPED)
    leg = next(iter(planned.legs.values()))
    assert leg.status == "stopped"
    assert leg.maximum_mmhg is None
    assert leg._repr_svg_() is None
    assert "Stop and refer" in planned._repr_html_()
    assert "<svg" not in planned._repr_html_()
    for asked in (leg.table, leg.pressure_map, leg.svg, leg.strip_meshes, leg.mesh):
        with pytest.raises(gaiter.InputError, match="stopped"):
            asked()


def test_a_bandage_that_is_no_answer_is_never_handed_out_unasked(
    planned: PlannedCase, leg: PlannedLeg
) -> None:
    beyond = leg.document.model_copy(
        update={
            "status": Status.CANNOT_BE_REACHED,
            "status_reason": Said("nothing reaches 30 mmHg"),
        }
    )
    shown = PlannedLeg(beyond, leg.plan)
    for asked in (shown.system, shown.table, shown.pressure_map, shown.svg, shown.strip_meshes):
        with pytest.raises(gaiter.InputError, match="cannot be reached .nothing reaches 30 mmHg"):
            asked()
    assert shown._repr_svg_() is None
    assert shown.system(leg.system().name) == leg.system()
    whole = leg.plan.model_copy(update={"legs": {Side.RIGHT: beyond}})
    assert leg.system().title in planned._repr_html_()
    assert leg.system().title not in PlannedCase(whole)._repr_html_()


def test_words_of_a_case_are_never_markup_in_a_notebook() -> None:
    stopped = gaiter.plan(STOPPED).document
    legs = {
        side: leg.model_copy(update={"status_reason": Said("<script>")})
        for side, leg in stopped.legs.items()
    }
    shown = PlannedCase(stopped.model_copy(update={"legs": legs}))._repr_html_()
    assert "&lt;script&gt;" in shown
    assert "<script>" not in shown


def test_safety_needs_no_girth_and_says_why() -> None:
    decision = gaiter.safety(
        {"schema": "gaiter.case/1", "today": "2026-11-25", "legs": {"left": {}}}
    )
    assert decision.legs["left"].outcome == "not yet"
    assert decision.legs["left"].reasons


def test_a_clinics_policy_counts(tmp_path: Path) -> None:
    local = tmp_path / "policy.toml"
    local.write_text(
        'name = "Heron Ford (invented)"\nversion = "1"\n[values]\n'
        'full_maximum_mmhg = { value = 50, source = "the clinic", strength = "our choice" }\n'
    )
    lower = gaiter.safety(EXAMPLE, policy=local).legs["right"].maximum_mmhg
    assert lower < gaiter.safety(EXAMPLE).legs["right"].maximum_mmhg
    assert gaiter.safety(EXAMPLE, policy=shipped_policy()) == gaiter.safety(EXAMPLE)


def test_applied_takes_every_form_of_a_plan(planned: PlannedCase, tmp_path: Path) -> None:
    planned.write(tmp_path / "made")
    assert sorted(path.name for path in (tmp_path / "made").iterdir()) == [
        "leg.svg", "plan.json", "sheet.pdf",
    ]  # fmt: skip
    file = tmp_path / "made/plan.json"
    made = [
        gaiter.applied(form, READINGS).document
        for form in (planned, planned.document, file, str(file), file.read_text())
    ]
    assert all(one == made[0] for one in made)


def test_a_plan_changed_by_hand_is_refused_as_text_too(planned: PlannedCase) -> None:
    changed = planned.to_json().replace('"bandager": "trained"', '"bandager": "expert"')
    assert changed != planned.to_json()
    with pytest.raises(gaiter.InputError, match="was changed since it was written"):
        gaiter.applied(changed, READINGS)


def test_the_shipped_readings_belong_to_the_shipped_plan(planned: PlannedCase) -> None:
    read = gaiter.applied(planned, READINGS)
    assert read.advice == "redo"
    assert read.reasons[0].startswith("gaiter: too loose")
    assert (
        repr(read)
        == "<AppliedBandage right leg, Three layers with long-stretch elastic bandage: redo>"
    )
    assert list(read.table()["site"]) == SITES
    gaiter_row = read.table().set_index("site").loc["gaiter"]
    assert gaiter_row["likely_mmhg"] < gaiter_row["planned_mmhg"]
    assert ElementTree.fromstring(read._repr_svg_()).tag.endswith("svg")


def test_a_study_runs_here_and_on_an_executor(tmp_path: Path) -> None:
    cohort = str(ROOT / "examples/cohort/six-legs.csv")
    terms = {"systems": ["wool_short_stretch"], "samples": 64, "limit": 2}
    done: list[int] = []
    here = gaiter.study(cohort, str(tmp_path / "a"), progress=done.append, **terms)
    assert sum(done) == 2
    assert {row.system for row in here.rows} == {"wool_short_stretch"}
    with ThreadPoolExecutor(1) as threads:
        assert gaiter.study(cohort, tmp_path / "b", executor=threads, **terms) == here
    assert (tmp_path / "a/legs.parquet").read_bytes() == (tmp_path / "b/legs.parquet").read_bytes()
    with pytest.raises(gaiter.InputError, match="training must be one of .*; received wizard"):
        gaiter.study(cohort, tmp_path / "c", training="wizard")


def test_examples_can_be_copied_out(tmp_path: Path) -> None:
    folder = gaiter.copy_examples(tmp_path / "mine")
    copied = {path.relative_to(folder) for path in folder.rglob("*") if path.is_file()}
    shipped = {
        path.relative_to(ROOT / "examples")
        for path in (ROOT / "examples").rglob("*")
        if path.is_file()
    }
    assert copied == shipped
    assert resources.files("gaiter.data").joinpath("examples/eczema.toml").is_file()
    assert gaiter.safety(folder / "eczema.toml").legs


def test_every_public_name_is_there_and_typed() -> None:
    stub = (ROOT / "src/gaiter/__init__.pyi").read_text()
    for name in gaiter.__all__:
        assert getattr(gaiter, name) is not None
        assert f"as {name}\n" in stub or f"{name}: str\n" in stub, name
    assert set(gaiter.__all__) <= set(dir(gaiter))
    with pytest.raises(AttributeError, match="no attribute 'plans'"):
        gaiter.plans  # noqa: B018


def test_importing_loads_nothing_heavy() -> None:
    heavy = "numpy scipy pandas pydantic django numba pyarrow typst rich importlib.metadata"
    script = (
        "import sys; before = set(sys.modules); import gaiter; "
        f"print([m for m in '{heavy}'.split() if m in sys.modules and m not in before]); "
        "gaiter.plan; print('numpy' in sys.modules, 'django' in sys.modules)"
    )
    said = subprocess.run(
        [sys.executable, "-c", script], check=True, capture_output=True, text=True
    ).stdout
    assert said == "[]\nTrue False\n"
