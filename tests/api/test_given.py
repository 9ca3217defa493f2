"""One document in every form in which a program may have it."""

import json
from pathlib import Path

import pytest

from gaiter.api.given import document_from, is_text, path_from, policy_from
from gaiter.core.applied.readings import Readings
from gaiter.core.errors import InputError
from gaiter.files.policy_file import shipped_policy

TOML = """schema = "gaiter.readings/1"
side = "right"
system = "own"
sensor = [{ place = "gaiter", mmhg = 38.5 }]
"""
MAPPING = {
    "schema": "gaiter.readings/1",
    "side": "right",
    "system": "own",
    "sensor": [{"place": "gaiter", "mmhg": 38.5}],
}


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "readings.toml"
    path.write_text(TOML)
    return path


@pytest.mark.parametrize(
    ("given", "text"),
    [
        ("case.toml", False),
        ("{folder}/case.toml", True),  # a table of JSON opens so; a path is better given as Path
        (' {"a": 1}', True),
        ("a = 1\n", True),
        (Path("a\nb"), False),
        (7, False),
    ],
)
def test_text_has_a_line_break_or_opens_a_table(given: object, text: bool) -> None:
    assert is_text(given) is text


def test_every_form_gives_the_same_record(file: Path) -> None:
    record = Readings.model_validate(MAPPING)
    for given in (file, str(file), TOML, json.dumps(MAPPING), MAPPING, record):
        found = document_from(given, Readings, "readings")
        assert found == record
        assert found.sensor[0].mmhg == 38.5
    assert document_from(record, Readings, "readings") is record


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({**MAPPING, "sensor": [{"place": "gaiter", "mmhg": 151}]}, "readings: sensor.*0 to 150"),
        ({**MAPPING, "colour": "blue"}, "readings: colour: unknown field"),
        ("side = \n", "readings: is not well-formed"),
        ("{", "readings: is not well-formed"),
        (Path("nowhere.toml"), "nowhere.toml: cannot be read"),
        (3.5, "readings must be a path, TOML or JSON text, .* received float: give one of these"),
    ],
)
def test_what_is_wrong_is_said_under_the_documents_name(given: object, said: str) -> None:
    with pytest.raises(InputError, match=said):
        document_from(given, Readings, "readings")


def test_a_mapping_that_was_given_is_not_changed() -> None:
    given = {**MAPPING}
    document_from(given, Readings, "readings")
    assert given == MAPPING


def test_a_path_is_text_or_path_and_nothing_else() -> None:
    assert path_from("a/b.toml", "case") == path_from(Path("a/b.toml"), "case") == Path("a/b.toml")
    for given in (None, b"a.toml", ["a.toml"]):
        with pytest.raises(InputError, match=f"cohort must be .* received {type(given).__name__}"):
            path_from(given, "cohort")


def test_a_policy_is_the_shipped_one_a_file_over_it_or_itself(tmp_path: Path) -> None:
    local = tmp_path / "local.toml"
    local.write_text(
        'name = "Heron Ford (invented)"\nversion = "1"\n[values]\n'
        'full_maximum_mmhg = { value = 50, source = "the clinic", strength = "our choice" }\n'
    )
    shipped = shipped_policy()
    assert policy_from(None).sha256 == shipped.sha256
    assert policy_from(shipped) is shipped
    for given in (local, str(local)):
        over = policy_from(given)
        assert over["full_maximum_mmhg"] == 50
        # What the clinic does not name stays: the ankle pressure of SVS/AVF 2014 and Rabe 2020.
        assert over["ankle_stop_mmhg"] == 60
    with pytest.raises(InputError, match="policy must be a path"):
        policy_from(7)
