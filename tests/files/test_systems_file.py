"""A clinic's file of systems: read, refused in words, and named by plan, command and clinic."""

import json
import re
from pathlib import Path

import jsonschema
import pytest
from typer.testing import CliRunner

from gaiter.cli import app
from gaiter.core.plan.system_list import SystemList
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.schema import schema_json
from gaiter.files.systems_file import read_systems
from gaiter.files.text_file import parsed_file
from gaiter.files.wording import FileError

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs/systems.md").read_text()
EXAMPLE = next(text for text in re.findall(r"```toml\n(.*?)```", PAGE, re.S))


@pytest.fixture
def own(tmp_path: Path) -> Path:
    path = tmp_path / "own.toml"
    path.write_text(EXAMPLE)
    return path


def test_the_documented_example_adds_one_and_takes_one_out(own: Path) -> None:
    shipped = shipped_catalogue()
    read = read_systems(own, shipped)
    assert set(shipped.systems) - set(read.systems) == {"zinc_paste_covered"}
    assert set(read.systems) - set(shipped.systems) == {"short_stretch_cohesive"}
    assert read.systems_sha256 == parsed_file(own).sha256
    assert read.sha256 == shipped.sha256
    thin, thick = (
        next(one for one in read.systems_for(cm) if one.name == "short_stretch_cohesive")
        for cm in (20.0, 20.1)
    )
    assert [len(thin.layers), len(thick.layers)] == [2, 3]


def test_shipped_and_documented_lists_obey_the_schema(own: Path) -> None:
    schema = json.loads(schema_json("systems"))
    for path in (own, ROOT / "src/gaiter/data/systems.toml"):
        jsonschema.validate(parsed_file(path).mapping, schema)


# What is changed in the documented example, and the sentence.
WRONG = [
    ('material = "short_stretch"', 'material = "short_strech"',
     r"own.toml: systems.short_stretch_cohesive.layers.1.material: short_strech is not in the "
     r"catalogue; it has orthopaedic_wool, .*: correct the name"),
    ("change_days = 7", "change_days = 9",
     "change_days: must be a whole number, 1 to 7 days; received 9"),
    ("change_days = 7", "change_days = 7\ncolour = 1", "colour: unknown field"),
    ('traits = ["inelastic", "cohesive"]', 'traits = ["stretchy"]',
     "traits.0: must be one of 'elastic', .*received 'stretchy'"),
    ('traits = ["inelastic", "cohesive"]', 'traits = ["inelastic"]',
     "traits: must hold cohesive, for it is made of cohesive_inelastic: add it"),
    ('end = "below_knee"', 'end = "gaiter"', "end must be below_knee or calf; received gaiter"),
    ('patterns = ["spiral", "herringbone"]', 'patterns = ["knot"]', "received 'knot'"),
    ("overlaps = [0.5, 0.6666666666666666]", "overlaps = [0.9]",
     "overlaps.0: must be 0.3 to 0.75 of the width; received 0.9"),
    ("ankle_above_cm = 20.0", "ankle_above_cm = 200.0",
     "ankle_above_cm: must be 13 to 60 cm; received 200.0: this looks like millimetres"),
    ("ankle_above_cm = 20.0", "ankle_above_cm = 20.0\nankle_to_cm = 19.0",
     "ankle_above_cm must be below ankle_to_cm; received 20 and 19 cm"),
    ('source = "the clinic\'s audit of 20 legs (invented)"', "",
     "reasons_for.0.source: required and missing; give text"),
    ('source = "the clinic\'s own practice since 2024 (invented)"', "",
     "short_stretch_cohesive.source: required and missing"),
    ('without = ["zinc_paste_covered"]', 'without = ["paste"]', "paste is no shipped system"),
    ('"gaiter.systems/1"', '"gaiter.policy/1"', "schema: must be one of 'gaiter.systems/1'"),
]  # fmt: skip


@pytest.mark.parametrize(("right", "wrong", "words"), WRONG)
def test_what_is_wrong_is_said_in_one_sentence(own: Path, right, wrong, words) -> None:
    assert EXAMPLE.count(right) == 1
    own.write_text(EXAMPLE.replace(right, wrong))
    with pytest.raises(FileError, match=words) as refused:
        read_systems(own, shipped_catalogue())
    assert len(refused.value.problems) == 1


def test_a_misspelt_field_is_named_with_the_nearest_known_one(own: Path) -> None:
    own.write_text(EXAMPLE.replace("change_days", "change_day"))
    words = r"change_day: unknown field; did you mean change_days\?"
    with pytest.raises(FileError, match=words):
        read_systems(own, shipped_catalogue())


def test_too_many_reasons_are_refused(own: Path) -> None:
    reason = '{ text = "good", source = "the clinic" }'
    table = "\n[[systems.short_stretch_cohesive.layers]]"
    head, rest = EXAMPLE.split("[[systems.short_stretch_cohesive.reasons_for]]")
    own.write_text(
        head + f"reasons_for = [{', '.join(4 * [reason])}]\n" + table + rest.split(table, 1)[1]
    )
    with pytest.raises(FileError, match="reasons_for: must hold at most 3; received 4: leave some"):
        read_systems(own, shipped_catalogue())


def test_every_trait_and_field_of_a_layer_is_documented() -> None:
    schema = SystemList.model_json_schema(by_alias=True)["$defs"]
    for word in (*schema["Trait"]["enum"], *schema["ListedLayer"]["properties"]):
        assert f"`{word}`" in PAGE, word


def test_the_command_plans_an_added_system_and_says_so(own: Path, tmp_path: Path) -> None:
    case, out = ROOT / "examples/inner-ankle-ulcer.toml", tmp_path / "out"
    said = ["plan", str(case), "--out", str(out), "--systems", str(own)]
    result = CliRunner().invoke(app, said)
    assert result.exit_code == 0, result.output
    assert "Local systems: bandage system taken out: Zinc paste" in result.output
    made = json.loads((out / "plan.json").read_text())
    assert made["versions"]["systems_sha256"] == parsed_file(own).sha256
    names = {system["name"] for leg in made["legs"].values() for system in leg["systems"]}
    assert "short_stretch_cohesive" in names
    assert "zinc_paste_covered" not in names


def test_the_clinic_plans_with_its_own_file(own: Path, settings) -> None:
    from dataclasses import replace

    from gaiter.records.visit.case import local_catalogue

    settings.GAITER = replace(settings.GAITER, systems=own)
    local_catalogue.cache_clear()
    try:
        assert "short_stretch_cohesive" in local_catalogue().systems
    finally:
        local_catalogue.cache_clear()
