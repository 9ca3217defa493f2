"""A measured leg as a file for 3-D programs, read back by another program."""

import json
from pathlib import Path

import numpy as np
import pytest
import trimesh
from typer.testing import CliRunner

from gaiter.cli import app
from tests.strategies import case_mapping

RUN = CliRunner()
GIRTHS = case_mapping()["legs"]["right"]["girth_cm"]
HEIGHTS = case_mapping()["legs"]["right"]["position_cm"]
LEFT_TOO = {"legs.left": case_mapping()["legs"]["right"]}
STOPPED = {"legs.right.findings.gangrene": True}
NOT_ASKED = {"legs.right.findings.gangrene": None}


def run(*arguments: object):
    return RUN.invoke(app, ["mesh", *map(str, arguments)])


def said(result) -> str:
    """What stands on the error stream, on one line."""
    return " ".join(result.stderr.split())


@pytest.mark.parametrize("ending", ["stl", "ply", "obj", "STL"])
def test_a_leg_is_written_in_cm_standing_on_its_heel(case_file, tmp_path: Path, ending) -> None:
    out = tmp_path / f"leg.{ending}"
    result = run(case_file(), "--out", out)
    assert (result.exit_code, result.stdout) == (0, f"right leg: {out}\n")
    read = trimesh.load(out)
    high = read.bounds[1]
    # The ball stands on the floor; the leg ends where the tape lay below the knee.
    ball = read.vertices[read.vertices[:, 0] > HEIGHTS["metatarsal_heads"] - 1]
    assert ball[:, 2].min() == pytest.approx(0, abs=0.5)
    assert high[2] == pytest.approx(HEIGHTS["below_knee"], abs=1.0)
    # From the back of the heel to the metatarsal heads; only the calf may lie further back.
    assert high[0] == pytest.approx(HEIGHTS["metatarsal_heads"], abs=0.5)
    # No tape tells where the heel ends: its back and its sole are estimated to 1 or 2 cm.
    heel = read.vertices[(read.vertices[:, 2] < 5) & (read.vertices[:, 0] < 6)]
    assert heel[:, 0].min() == pytest.approx(0, abs=1.0)
    assert heel[:, 2].min() == pytest.approx(0, abs=2.0)


def test_a_section_has_the_girth_that_the_tape_read(case_file, tmp_path: Path) -> None:
    out = tmp_path / "leg.ply"
    run(case_file(), "-o", out)
    cut = trimesh.load(out).section([0, 0, 1], [0, 0, HEIGHTS["calf"]])
    # 0.2 mm, as docs/library.md says of level sections.
    assert cut.length == pytest.approx(GIRTHS["calf"], abs=0.02)


def test_a_left_leg_is_the_mirror_image_of_a_right_one(case_file, tmp_path: Path) -> None:
    both = case_file(**LEFT_TOO)
    for side in ("right", "left"):
        assert run(both, "-o", tmp_path / f"{side}.ply", "--leg", side, "--closed").exit_code == 0
    right, left = (trimesh.load(tmp_path / f"{side}.ply") for side in ("right", "left"))
    assert np.allclose(np.sort(right.vertices[:, 1]), np.sort(-left.vertices[:, 1]))
    # Both are turned outwards: neither is the other inside out.
    assert right.is_watertight
    assert left.is_watertight
    assert right.volume == pytest.approx(left.volume, rel=1e-6)
    assert right.volume > 0


def test_a_caliper_is_taken_up(case_file, tmp_path: Path) -> None:
    taken = {"legs.right.width_cm": {"calf": 11.0}, "legs.right.depth_cm": {"calf": 12.4}}
    run(case_file(), "-o", tmp_path / "tape.ply")
    run(case_file(**taken), "-o", tmp_path / "caliper.ply")
    tape, caliper = (trimesh.load(tmp_path / f"{name}.ply") for name in ("tape", "caliper"))
    assert np.ptp(tape.vertices[:, 1]) > np.ptp(caliper.vertices[:, 1]) + 0.1


def test_strips_are_files_beside_it_or_objects_within(case_file, tmp_path: Path) -> None:
    result = run(case_file(), "-o", tmp_path / "leg.stl", "--strips", "--json")
    assert result.exit_code == 0
    told = json.loads(result.stdout)
    assert told["unit"] == "cm"
    skin, *layers = told["surfaces"]
    assert (skin["layer"], skin["file"]) == (None, str(tmp_path / "leg.stl"))
    assert layers
    assert {one.name for one in tmp_path.glob("*.stl")} == {
        "leg.stl", *(f"leg-layer-{one['layer']}.stl" for one in layers)
    }  # fmt: skip
    for one in told["surfaces"]:
        assert trimesh.load(one["file"]).area == pytest.approx(one["area_cm2"], rel=1e-3)
    in_one = json.loads(run(case_file(), "-o", tmp_path / "leg.obj", "--strips", "--json").stdout)
    assert {one["file"] for one in in_one["surfaces"]} == {str(tmp_path / "leg.obj")}
    scene = trimesh.load(tmp_path / "leg.obj", split_objects=True)
    assert len(scene.geometry) == 1 + len(layers)


@pytest.mark.parametrize(
    ("changes", "code", "status"), [(STOPPED, 3, "stopped"), (NOT_ASKED, 4, "not yet")]
)
def test_a_leg_that_may_not_be_bandaged_has_no_strips(
    case_file, tmp_path: Path, changes, code: int, status: str
) -> None:
    out = tmp_path / "leg.stl"
    refused = run(case_file(**changes), "-o", out, "--strips")
    assert refused.exit_code == code
    assert f"the right leg has no bandage, because it is {status}" in said(refused)
    assert "leave --strips out" in said(refused)
    assert not out.exists()
    assert run(case_file(**changes), "-o", out).exit_code == 0


def test_nothing_is_written_over_unless_that_is_wanted(case_file, tmp_path: Path) -> None:
    out = tmp_path / "leg.stl"
    out.write_text("something else")
    refused = run(case_file(), "-o", out)
    assert refused.exit_code == 2
    assert said(refused) == f"{out}: exists already: choose another name, or give --force"
    assert out.read_text() == "something else"
    assert run(case_file(), "-o", out, "--force").exit_code == 0
    assert trimesh.load(out).area > 0


def test_a_layers_file_is_not_written_over_either_and_the_legs_is_not_made(
    case_file, tmp_path: Path
) -> None:
    first = run(case_file(), "-o", tmp_path / "leg.stl", "--strips", "--json")
    layer = Path(json.loads(first.stdout)["surfaces"][1]["file"])
    (tmp_path / "leg.stl").unlink()
    layer.write_text("something else")
    refused = run(case_file(), "-o", tmp_path / "leg.stl", "--strips")
    assert refused.exit_code == 2
    assert f"{layer}: exists already" in said(refused)
    assert layer.read_text() == "something else"
    assert not (tmp_path / "leg.stl").exists()


@pytest.mark.parametrize("name", ["leg.stp", "leg", "-"])
def test_another_ending_is_refused(case_file, tmp_path: Path, monkeypatch, name: str) -> None:
    monkeypatch.chdir(tmp_path)
    refused = run(case_file(), "-o", name)
    assert refused.exit_code == 2
    assert f"--out must end in .stl, .ply or .obj; received {name}" in said(refused)


def test_a_folder_that_is_not_there_is_one_sentence(case_file, tmp_path: Path) -> None:
    refused = run(case_file(), "-o", tmp_path / "none/leg.stl")
    assert refused.exit_code == 2
    assert said(refused) == f"{tmp_path / 'none/leg.stl'}: No such file or directory"


def test_the_leg_is_chosen_where_there_are_two_and_there_where_it_is_named(
    case_file, tmp_path: Path
) -> None:
    out = tmp_path / "leg.stl"
    refused = run(case_file(**LEFT_TOO), "-o", out)
    assert refused.exit_code == 2
    assert "the case has two legs: choose one by --leg right or --leg left" in said(refused)
    refused = run(case_file(), "-o", out, "--leg", "left")
    assert refused.exit_code == 2
    assert "the case has no left leg: give --leg right, or leave it out" in said(refused)
    assert not out.exists()


def test_a_case_that_lacks_a_girth_is_named(case_file, tmp_path: Path) -> None:
    refused = run(case_file(**{"legs.right.girth_cm.calf": None}), "-o", tmp_path / "leg.stl")
    assert refused.exit_code == 2
    assert "girth_cm.calf: required and missing" in said(refused)
